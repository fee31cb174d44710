package wire

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"unsling/engine/rom"
)

// Header is the first line of a request to /v1/exchange.
type Header struct {
	Proto  int        `json:"proto"`
	App    string     `json:"app"`
	Author rom.Author `json:"author"`
	From   int64      `json:"from"` // n of the first line, or of the next one to come
	// Prev is the hash of line From-1 as the server acknowledged it; "" for
	// none. It shows a copy whose numbers were taken by another since.
	Prev Hash `json:"prev,omitempty"`
	// Since is how far the phone has the patient's log. One that is not of the
	// server's log is answered from line 1 on; under the log's present epoch it
	// begins a new epoch of this patient's log, at most every ten minutes, and
	// touches no other patient's. From and Prev beyond what the server has do
	// the same and are answered with Gap.
	Since Cursor `json:"since"`
	Epoch string `json:"epoch"` // of the phone's last exchange, "" for none
	// Following is the plan revision that the phone obeys, 0 for none. The
	// server believes one that it does not have only of a phone that comes from
	// another epoch or has shown in this request that the log lost something,
	// and only up to 1,000 above its newest (replica.LostMost); else it keeps
	// what it knew. It never holds up a stop, a pause or a narrowing, and that
	// of a revoked phone holds up nothing.
	Following int `json:"following"`
	// Returned is how many lines at the end of the request are the clinic's
	// own, which the phone has and a restored server has lost.
	Returned int `json:"returned,omitempty"`
}

// Request is a whole request.
type Request struct {
	Header   Header
	Lines    [][]byte // own lines n = From, From+1, ...
	Returned [][]byte // clinic lines, each author's in the order of n
}

// Reply is the first line of the answer. Epoch names the life of this
// patient's log, which is the store's unless the log began one by itself; it
// is compared for equality only. The lines of the log after it have
// the sequence numbers Seq, Seq+1, ...
type Reply struct {
	Epoch      string    `json:"epoch"`
	State      string    `json:"state"` // Active or Revoked
	Ack        Mark      `json:"ack"`
	BackedUp   int64     `json:"backed_up"` // highest own n inside a verified backup
	Seq        int64     `json:"seq"`       // 1 although Since was further: the log is not the one the phone knew
	More       bool      `json:"more"`
	Head       Cursor    `json:"head"`
	ServerTime time.Time `json:"server_time"`
}

// LogLine is one line of a patient's log; an erased one has only its hash.
type LogLine struct {
	Seq    int64
	Bytes  []byte // nil when erased
	Erased bool
	Hash   Hash // of Bytes, or of what was erased
}

// erasedLine stands in for a line whose content was erased.
type erasedLine struct {
	Erased int64 `json:"erased"` // its sequence number
	Hash   Hash  `json:"hash"`
}

// WriteRequest writes r as text, uncompressed. It sets Header.Returned. The
// caller keeps to the limits.
func WriteRequest(w io.Writer, r Request) error {
	r.Header.Returned = len(r.Returned)
	return writeLines(w, r.Header, r.Lines, r.Returned)
}

// WriteReply writes an answer as text, uncompressed. The lines' numbers must
// be r.Seq, r.Seq+1, ...
func WriteReply(w io.Writer, r Reply, lines []LogLine) error {
	out := make([][]byte, len(lines))
	for i, l := range lines {
		out[i] = l.Bytes
		if l.Erased {
			out[i] = fmt.Appendf(nil, `{"erased":%d,"hash":"%s"}`, r.Seq+int64(i), l.Hash)
		}
	}
	return writeLines(w, r, out)
}

func writeLines(w io.Writer, header any, groups ...[][]byte) error {
	head, err := marshal(header)
	if err != nil {
		return err
	}
	b := bufio.NewWriter(w)
	b.Write(head)
	b.WriteByte('\n')
	for _, lines := range groups {
		for _, l := range lines {
			b.Write(l)
			b.WriteByte('\n')
		}
	}
	return b.Flush()
}

// ReadRequest reads a decompressed request and checks its framing: sizes, the
// header, and the author and number of every own line that can be read. Lines
// are not decoded further. Errors are an *Error with TooBig, TooNew or
// Malformed, or that of rd; nothing of such a request may be stored.
func ReadRequest(rd io.Reader) (Request, error) {
	var r Request
	lines, err := readLines(rd, &r.Header)
	if err != nil {
		return Request{}, err
	}
	h := r.Header
	switch {
	case h.Proto > Proto:
		return Request{}, Refuse(TooNew)
	case h.Proto < ProtoMin, !isName(string(h.Author), 64), h.Author.FromClinic(), h.From < 1,
		h.Prev != "" && (!h.Prev.Valid() || h.From == 1), !h.Since.valid(), len(h.App) > 64, h.Epoch != "" && !isName(h.Epoch, 64),
		h.Following < 0, h.Returned < 0, h.Returned > len(lines):
		return Request{}, Refuse(Malformed)
	}
	own := len(lines) - h.Returned
	r.Lines, r.Returned = lines[:own:own], lines[own:]
	for i, l := range r.Lines {
		if ref, ok := Position(l); ok && ref != (rom.Ref{Author: h.Author, N: h.From + int64(i)}) {
			return Request{}, Refuse(Malformed)
		}
	}
	return r, nil
}

func (c Cursor) valid() bool {
	return c == Cursor{} || c.Seq > 0 && c.Hash.Valid()
}

// ReadReply reads a decompressed answer. Errors are an *Error with TooBig or
// Malformed, or that of rd; such an answer is as good as none.
func ReadReply(rd io.Reader) (Reply, []LogLine, error) {
	var r Reply
	lines, err := readLines(rd, &r)
	if err != nil {
		return Reply{}, nil, err
	}
	ok := isName(r.Epoch, 64) && (r.State == Active || r.State == Revoked) &&
		r.Ack.valid() && r.Head.valid() && r.BackedUp >= 0 &&
		(r.Seq >= 1 || r.State == Revoked && r.Seq == 0 && len(lines) == 0)
	if !ok {
		return Reply{}, nil, Refuse(Malformed)
	}
	out := make([]LogLine, len(lines))
	for i, b := range lines {
		out[i] = LogLine{Seq: r.Seq + int64(i), Bytes: b, Hash: HashOf(b)}
		if !bytes.HasPrefix(b, []byte(`{"erased":`)) {
			continue
		}
		var e erasedLine
		if json.Unmarshal(b, &e) != nil || e.Erased != out[i].Seq || !e.Hash.Valid() {
			return Reply{}, nil, Refuse(Malformed)
		}
		out[i] = LogLine{Seq: e.Erased, Erased: true, Hash: e.Hash}
	}
	return r, out, nil
}

func (m Mark) valid() bool {
	return m == Mark{} || m.N > 0 && m.Hash.Valid()
}

// readLines reads the header into h and returns the lines after it.
func readLines(rd io.Reader, h any) ([][]byte, error) {
	const most = MaxHeader + 1 + MaxRecords
	b, err := io.ReadAll(io.LimitReader(rd, most+1))
	if err != nil {
		return nil, fmt.Errorf("read lines: %w", err)
	}
	head, rest, ended := bytes.Cut(b, []byte("\n"))
	switch {
	case len(head) > MaxHeader, len(rest) > MaxRecords:
		return nil, Refuse(TooBig)
	case !ended, json.Unmarshal(head, h) != nil:
		return nil, Refuse(Malformed)
	}
	var lines [][]byte
	for len(rest) > 0 {
		line, after, ended := bytes.Cut(rest, []byte("\n"))
		if !ended || len(line) == 0 {
			return nil, Refuse(Malformed)
		}
		if len(line) > MaxLine {
			return nil, Refuse(TooBig)
		}
		if lines = append(lines, line); len(lines) > MaxLines {
			return nil, Refuse(TooBig)
		}
		rest = after
	}
	return lines, nil
}

// Fit returns how many of the leading lines fit into one message of at most
// most lines and size bytes, line feeds included.
func Fit(lines [][]byte, most, size int) int {
	n := 0
	for n < len(lines) && n < most && len(lines[n])+1 <= size {
		size -= len(lines[n]) + 1
		n++
	}
	return n
}

// AsError returns the *Error inside err, if any.
func AsError(err error) (*Error, bool) {
	var e *Error
	ok := errors.As(err, &e)
	return e, ok
}

package backup

import (
	"bufio"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"
	"time"

	"unsling/server/ledger"
)

const magic = "unsling backup 1\n"

// maxFrame bounds a frame; the largest rows are adopted documents.
const maxFrame = 64 << 20

// Header begins a segment.
type Header struct {
	Series  string    `json:"series"`
	Segment int       `json:"segment"`
	Prev    string    `json:"prev"` // SHA-256 of the encrypted segment before, "" for the first
	At      time.Time `json:"at"`
	Layout  int       `json:"layout"` // of the store's rows
}

// End closes a segment.
type End struct {
	Rows  map[ledger.Space]int64 `json:"rows"`
	Audit ledger.Head            `json:"audit"`
	// Sum is the hexadecimal SHA-256 of everything before this frame and of
	// this JSON with an empty Sum.
	Sum string `json:"sum"`
}

// seal returns the end with its sum; before has summed what comes before.
func (e End) seal(before hash.Hash) (End, error) {
	e.Sum = ""
	text, err := json.Marshal(e)
	if err != nil {
		return e, fmt.Errorf("write segment: %w", err)
	}
	before.Write(text)
	e.Sum = hex.EncodeToString(before.Sum(nil))
	return e, nil
}

// ErrSegment means that a segment is not as it was written.
var ErrSegment = errors.New("the segment is not as it was written")

// segmentWriter writes the plain text of a segment.
type segmentWriter struct {
	w    *bufio.Writer
	sum  hash.Hash
	rows map[ledger.Space]int64
	buf  []byte
}

func newSegmentWriter(w io.Writer, h Header) (*segmentWriter, error) {
	s := &segmentWriter{w: bufio.NewWriterSize(w, 64<<10), sum: sha256.New(), rows: map[ledger.Space]int64{}}
	if err := s.write([]byte(magic)); err != nil {
		return nil, err
	}
	text, err := json.Marshal(h)
	if err != nil {
		return nil, fmt.Errorf("write segment: %w", err)
	}
	return s, s.frame('h', text)
}

func (s *segmentWriter) write(b []byte) error {
	s.sum.Write(b)
	if _, err := s.w.Write(b); err != nil {
		return fmt.Errorf("write segment: %w", err)
	}
	return nil
}

func (s *segmentWriter) frame(kind byte, content []byte) error {
	if len(content)+1 > maxFrame {
		return fmt.Errorf("write segment: a row of %d bytes is too long", len(content))
	}
	var head [5]byte
	binary.BigEndian.PutUint32(head[:], uint32(len(content)+1))
	head[4] = kind
	if err := s.write(head[:]); err != nil {
		return err
	}
	return s.write(content)
}

func (s *segmentWriter) row(r ledger.Row) error {
	b := binary.AppendUvarint(s.buf[:0], uint64(len(r.Space)))
	b = append(b, r.Space...)
	b = binary.AppendUvarint(b, uint64(len(r.Key)))
	b = append(b, r.Key...)
	s.buf = append(b, r.Value...)
	s.rows[r.Space]++
	return s.frame('r', s.buf)
}

func (s *segmentWriter) close(audit ledger.Head) error {
	end, err := End{Rows: s.rows, Audit: audit}.seal(s.sum)
	if err != nil {
		return err
	}
	text, err := json.Marshal(end)
	if err != nil {
		return fmt.Errorf("write segment: %w", err)
	}
	if err := s.frame('e', text); err != nil {
		return err
	}
	if err := s.w.Flush(); err != nil {
		return fmt.Errorf("write segment: %w", err)
	}
	return nil
}

// readSegment reads the plain text of a segment and gives f its rows, whose
// values are good until f returns. Rows reach f before the end of the segment
// was checked: use nothing of it when an error is returned.
func readSegment(r io.Reader, f func(ledger.Row) error) (Header, End, error) {
	var h Header
	var end End
	in := bufio.NewReaderSize(r, 64<<10)
	sum := sha256.New()
	begin := make([]byte, len(magic))
	if _, err := io.ReadFull(in, begin); err != nil || string(begin) != magic {
		return h, end, fmt.Errorf("%w: not a segment of format 1", ErrSegment)
	}
	sum.Write(begin)
	rows := map[ledger.Space]int64{}
	var buf []byte
	for first := true; ; first = false {
		var head [5]byte
		if _, err := io.ReadFull(in, head[:]); err != nil {
			return h, end, fmt.Errorf("%w: it ends early: %w", ErrSegment, err)
		}
		n := binary.BigEndian.Uint32(head[:])
		if n < 1 || n > maxFrame {
			return h, end, fmt.Errorf("%w: a frame of %d bytes", ErrSegment, n)
		}
		var err error
		if buf, err = readN(in, buf[:0], int(n)-1); err != nil {
			return h, end, fmt.Errorf("%w: it ends early: %w", ErrSegment, err)
		}
		switch kind := head[4]; {
		case first != (kind == 'h'):
			return h, end, fmt.Errorf("%w: the header is not where it must be", ErrSegment)
		case kind == 'h':
			err = json.Unmarshal(buf, &h)
		case kind == 'r':
			var row ledger.Row
			if row, err = parseRow(buf); err == nil {
				rows[row.Space]++
				if err := f(row); err != nil {
					return h, end, err
				}
			}
		case kind == 'e':
			if err = json.Unmarshal(buf, &end); err == nil {
				return h, end, checkEnd(in, end, rows, sum)
			}
		default:
			err = fmt.Errorf("a frame of kind %q", kind)
		}
		if err != nil {
			return h, end, fmt.Errorf("%w: %w", ErrSegment, err)
		}
		sum.Write(head[:])
		sum.Write(buf)
	}
}

// readN reads n bytes, growing only as they come: a length that lies does not
// take memory.
func readN(r io.Reader, buf []byte, n int) ([]byte, error) {
	for len(buf) < n {
		at := len(buf)
		buf = append(buf, make([]byte, min(n-at, 64<<10))...)
		if _, err := io.ReadFull(r, buf[at:]); err != nil {
			return buf, err
		}
	}
	return buf, nil
}

func parseRow(b []byte) (ledger.Row, error) {
	space, b, ok := cutPart(b)
	key, b, ok2 := cutPart(b)
	if !ok || !ok2 {
		return ledger.Row{}, errors.New("a row that is not one")
	}
	return ledger.Row{Space: ledger.Space(space), Key: string(key), Value: b}, nil
}

func cutPart(b []byte) (part, rest []byte, ok bool) {
	n, k := binary.Uvarint(b)
	if k <= 0 || n > uint64(len(b)-k) {
		return nil, nil, false
	}
	return b[k : k+int(n)], b[k+int(n):], true
}

func checkEnd(in io.Reader, end End, rows map[ledger.Space]int64, before hash.Hash) error {
	if want, err := end.seal(before); err != nil || want.Sum != end.Sum {
		return fmt.Errorf("%w: another SHA-256", ErrSegment)
	}
	if len(rows) != len(end.Rows) {
		return fmt.Errorf("%w: rows are missing", ErrSegment)
	}
	for space, n := range rows {
		if end.Rows[space] != n {
			return fmt.Errorf("%w: %d rows of %s, not %d", ErrSegment, n, space, end.Rows[space])
		}
	}
	if n, err := in.Read(make([]byte, 1)); n != 0 || err != io.EOF {
		return fmt.Errorf("%w: something follows its end", ErrSegment)
	}
	return nil
}

package api

import (
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"strings"
	"sync"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// maxPacked bounds an exchange as it arrives: text that does not compress
// grows a little.
const maxPacked = wire.MaxHeader + wire.MaxRecords + 4<<10

// A packer is near a megabyte, more than all else in an exchange.
var (
	packers   = sync.Pool{New: func() any { return gzip.NewWriter(nil) }}
	unpackers = sync.Pool{New: func() any { return new(gzip.Reader) }}
)

// exchange takes the phone's records in and gives it what it lacks. The
// answer is written after the store has everything on its disk.
func (a *API) exchange(c *call) error {
	phone, err := a.phone(c)
	if err != nil {
		return err
	}
	if ok, wait := a.pace.Allow(phone.Author, c.now); !ok {
		return tooMany(wait)
	}
	body, err := io.ReadAll(http.MaxBytesReader(c.w, c.r.Body, maxPacked))
	if err != nil {
		return bodyError(err)
	}
	text, err := a.atWork(c, phone, body)
	if err != nil {
		return err
	}
	_, _ = c.w.Write(text) // the phone asks again if it does not arrive
	return nil
}

// atWork waits for its turn, and takes in and answers what was sent. The line
// to the phone has no part in it.
func (a *API) atWork(c *call, phone access.Phone, body []byte) ([]byte, error) {
	done, err := a.turn(c.r.Context())
	if err != nil {
		return nil, err
	}
	defer done()
	req, err := readExchange(c.r.Header.Get("Content-Encoding"), body)
	if err != nil {
		return nil, err
	}
	if req.Header.Author != rom.Author(phone.Author) {
		return nil, wire.Refuse(wire.Forbidden)
	}
	out, err := a.Store.Exchange(ledger.ExchangeRequest{
		Author: rom.Author(phone.Author), Request: req, At: c.now, Trail: c.trail(rom.Author(phone.Author)),
		MaxLines: wire.MaxLines, MaxBytes: wire.MaxRecords,
	})
	if err == nil {
		a.count("record", "stored", out.Took.Stored)
		a.count("record", "known", out.Took.Known)
		a.count("record", "aside", out.Took.Aside)
		a.count("record", "returned", out.Took.Returned)
		a.count("record", "sealed", out.Took.Sealed)
		a.count("record", "sent", len(out.Lines))
	}
	switch {
	case errors.Is(err, ledger.ErrUnknown) && !errors.Is(err, ledger.ErrDamaged):
		return nil, wire.Refuse(wire.UnknownDevice)
	case err != nil:
		return nil, err
	case out.Code != "":
		e := wire.Refuse(out.Code)
		if out.Code == wire.Gap || out.Code == wire.Fork {
			e.Ack = &out.Reply.Ack
		}
		return nil, e
	}
	out.Reply.ServerTime = c.now.UTC()
	c.note = fmt.Sprintf("%d in, %d out", len(req.Lines), len(out.Lines))
	return c.packExchange(out)
}

// readExchange reads a body, packed or not.
func readExchange(encoding string, sent []byte) (wire.Request, error) {
	body := io.Reader(bytes.NewReader(sent))
	switch encoding {
	case "", "identity":
	case "gzip":
		z := unpackers.Get().(*gzip.Reader)
		defer unpackers.Put(z)
		if err := z.Reset(body); err != nil {
			return wire.Request{}, bodyError(err)
		}
		body = z // wire.ReadRequest stops at its own limit, however much is packed
	default:
		return wire.Request{}, wire.Refuse(wire.BadType)
	}
	req, err := wire.ReadRequest(body)
	return req, bodyError(err)
}

// bodyError tells a body that is too big from one that does not unpack or
// ends early, whatever the reader calls it.
func bodyError(err error) error {
	var big *http.MaxBytesError
	if _, refusal := wire.AsError(err); err == nil || refusal {
		return err
	}
	if errors.As(err, &big) {
		return wire.Refuse(wire.TooBig)
	}
	return wire.Refuse(wire.Malformed)
}

// packExchange makes the answer's body and sets its headers.
func (c *call) packExchange(out ledger.ExchangeReply) ([]byte, error) {
	lines := make([]wire.LogLine, len(out.Lines))
	for i, l := range out.Lines {
		lines[i] = wire.LogLine{Seq: l.Seq, Bytes: l.Bytes, Erased: l.Erased, Hash: l.Hash}
	}
	var text bytes.Buffer
	packed := acceptsGzip(c.r.Header.Get("Accept-Encoding"))
	if packed {
		z := packers.Get().(*gzip.Writer)
		defer packers.Put(z)
		z.Reset(&text)
		if err := errors.Join(wire.WriteReply(z, out.Reply, lines), z.Close()); err != nil {
			return nil, fmt.Errorf("write answer: %w", err)
		}
		c.w.Header().Set("Content-Encoding", "gzip")
	} else if err := wire.WriteReply(&text, out.Reply, lines); err != nil {
		return nil, fmt.Errorf("write answer: %w", err)
	}
	h := c.w.Header()
	h.Set("Content-Type", wire.ContentType)
	h.Set("Vary", "Accept-Encoding")
	return text.Bytes(), nil
}

// acceptsGzip reads RFC 9110 section 12.5.3 as far as it is needed here.
func acceptsGzip(accept string) bool {
	for one := range strings.SplitSeq(accept, ",") {
		name, weight, _ := strings.Cut(strings.ReplaceAll(one, " ", ""), ";")
		if !strings.EqualFold(name, "gzip") {
			continue
		}
		q, err := strconv.ParseFloat(strings.TrimPrefix(weight, "q="), 64)
		return weight == "" || err == nil && q > 0
	}
	return false
}

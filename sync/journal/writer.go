package journal

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"unsling/engine/rom"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// ErrNobody means that this phone is not enrolled: there is nobody yet whose
// records these would be.
var ErrNobody = errors.New("this phone is not enrolled yet")

// Writer appends this installation's records. Its functions are given, since
// neither clock nor chance belong here. It may be used by several goroutines
// and must not be copied.
type Writer struct {
	Store Store
	// Author returns who writes, as the disk says now; "" before enrolment.
	// It changes when a copied phone becomes a device of its own.
	Author func(context.Context) (rom.Author, error)
	Run    string           // of this start of the app
	Mono   func() int64     // milliseconds since this start, never going back
	Now    func() time.Time // wall time, in the person's zone
	Zone   func() string    // IANA name of that zone
	Rev    func() int       // plan revision obeyed, 0 for none
	Salt   func() [16]byte  // fresh random bytes

	lock   sync.Mutex
	held   bool       // the reserve was looked after since this start
	author rom.Author // with tail; "" when the disk must be asked
	tail   wire.Mark
}

// Appended is what Append wrote.
type Appended struct {
	Ref  rom.Ref
	Line []byte
}

// Append writes one record and returns when it is on the disk. body is the
// rom type of the kind. Only then may anybody be told that it is kept. For a
// record that stops the programme room is held back, so that a full disk does
// not refuse it. The errors are ErrNobody, those of wire.EncodeBody, wire.ErrTooLong, and those
// of Store.Commit.
func (w *Writer) Append(ctx context.Context, k wire.Kind, body any) (Appended, error) {
	return w.AppendWith(ctx, k, body, Batch{})
}

// AppendWith is Append with more in the same transaction, such as dropping
// the draft that the record takes the place of, or its picture.
func (w *Writer) AppendWith(ctx context.Context, k wire.Kind, body any, with Batch) (Appended, error) {
	raw, v, err := wire.EncodeBody(k, body)
	if err != nil {
		return Appended{}, err
	}
	w.lock.Lock()
	defer w.lock.Unlock()
	rec := wire.Record{
		Salt: wire.Salt(w.Salt()), Kind: k, V: v, Run: w.Run, Mono: w.Mono(),
		At: w.Now(), TZ: w.Zone(), Rev: w.Rev(), Body: raw,
	}
	const tries = 50 // one lost race each; a window that loses so often is ill
	lost, spent := 0, false
	for range tries {
		var a Appended
		if a, err = w.try(ctx, rec, with); err == nil {
			return a, nil
		}
		w.author = ""
		switch {
		case errors.Is(err, ErrExists):
		case errors.Is(err, ErrClosed) && lost == 0:
			lost++
		case errors.Is(err, ErrFull) && !spent && urgent(k, body) && w.giveReserve(ctx):
			spent = true
			continue
		default:
			return Appended{}, fmt.Errorf("append a %s: %w", k, err)
		}
		done, ok, unread := w.arrived(ctx, a)
		if unread != nil {
			// Neither kept nor not kept: to write it again could make two of it.
			return Appended{}, fmt.Errorf("append a %s: %w", k, unread)
		}
		if ok {
			return done, nil
		}
	}
	return Appended{}, fmt.Errorf("append a %s: %w", k, err)
}

// try builds the line after the tail and adds it. It returns what it tried to
// write also when that failed.
func (w *Writer) try(ctx context.Context, rec wire.Record, with Batch) (Appended, error) {
	if w.author == "" {
		if err := w.load(ctx); err != nil {
			return Appended{}, err
		}
	}
	rec.Author, rec.N, rec.Prev = w.author, w.tail.N+1, w.tail.Prev()
	line, err := wire.Encode(rec)
	if err != nil {
		return Appended{}, err
	}
	if len(line) > wire.MaxFresh {
		return Appended{}, wire.ErrTooLong
	}
	a := Appended{Ref: rec.Ref(), Line: line}
	add := make([]Row, 0, 1+len(with.Add))
	with.Add = append(append(add, Row{Author: rec.Author, N: rec.N, Line: line}), with.Add...)
	if err := w.Store.Commit(ctx, with); err != nil {
		return a, err
	}
	w.tail = wire.Mark{N: rec.N, Hash: wire.HashOf(line)}
	return a, nil
}

// load asks the disk who writes and where the chain ends.
func (w *Writer) load(ctx context.Context) error {
	author, err := w.Author(ctx)
	if err != nil {
		return fmt.Errorf("read who writes: %w", err)
	}
	if author == "" {
		return ErrNobody
	}
	row, ok, err := w.Store.Last(ctx, author)
	switch {
	case err != nil:
		return fmt.Errorf("read the end of the log: %w", err)
	case ok && row.N == replica.Barrier:
		return ErrExists // became another author between the two reads
	case ok:
		w.tail = wire.Mark{N: row.N, Hash: wire.HashOf(sendable(row))}
	default:
		w.tail = wire.Mark{}
	}
	w.author = author
	if !w.held {
		w.held = true
		w.keepReserve(ctx)
	}
	return nil
}

// arrived reports whether what seemed to fail is on the disk: the connection
// may have been lost after the transaction completed. The error is for a disk
// that does not tell.
func (w *Writer) arrived(ctx context.Context, a Appended) (Appended, bool, error) {
	if a.Line == nil {
		return Appended{}, false, nil
	}
	var rows []Row
	var err error
	for range 3 {
		if rows, err = w.Store.Rows(ctx, a.Ref.Author, a.Ref.N, 1); err == nil {
			break
		}
	}
	return a, err == nil && len(rows) == 1 && bytes.Equal(rows[0].Line, a.Line), err
}

package journal

import (
	"context"
	"errors"
	"fmt"
	"time"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// Writer appends this installation's records. Its functions are given, since
// neither clock nor chance belong here. It must not be copied.
type Writer struct {
	Store Store
	// Author returns who writes; it changes when a copied phone becomes a
	// device of its own.
	Author func() rom.Author
	Run    string                       // of this start of the app
	Mono   func() int64                 // milliseconds since this start, never going back
	Now    func() time.Time             // wall time, in the person's zone
	Zone   func() string                // IANA name of that zone
	Rev    func() int                   // plan revision obeyed, 0 for none
	Salt   func() [16]byte              // fresh random bytes
	Wrote  func(wire.Mark, wire.Record) // told after each append; may be nil

	lock chan struct{}
	tail tail
}

// Appended is what Append wrote.
type Appended struct {
	Ref  rom.Ref
	Line []byte
}

// Append writes one record and returns when it is on the disk. body is the
// rom type of the kind. Only then may anybody be told that it is kept. The
// errors are those of wire.EncodeBody, wire.ErrTooLong and those of
// Store.Commit but ErrExists.
func (w *Writer) Append(ctx context.Context, k wire.Kind, body any) (Appended, error) {
	return w.AppendWith(ctx, k, body, Batch{})
}

// AppendWith is Append with more in the same transaction, such as dropping
// the draft that the record takes the place of, or its picture.
func (w *Writer) AppendWith(ctx context.Context, k wire.Kind, body any, with Batch) (Appended, error) {
	return Appended{}, errors.New("not written yet")
}

// tail is the end of the author's chain as this window knows it.
type tail struct {
	author rom.Author
	mark   wire.Mark
	known  bool
}

// Tail returns the end of an author's chain as the disk has it.
func Tail(ctx context.Context, s Store, a rom.Author) (wire.Mark, error) {
	row, ok, err := s.Last(ctx, a)
	if err != nil {
		return wire.Mark{}, fmt.Errorf("read the end of the log: %w", err)
	}
	if !ok {
		return wire.Mark{}, nil
	}
	return wire.Mark{N: row.N, Hash: wire.HashOf(row.Line)}, nil
}

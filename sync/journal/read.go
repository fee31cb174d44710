package journal

import (
	"context"
	"fmt"

	"unsling/engine/rom"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// sendable returns the line of a row as it may be sent. A line that the disk
// has damaged so that it claims another name than its key would, as a framing
// fault, hold up everything after it; a mark in front makes it a line that is
// no record, which the server keeps apart and acknowledges.
func sendable(r Row) []byte {
	if ref, ok := wire.Position(r.Line); ok && ref != r.Key() {
		return append([]byte("!"), r.Line...)
	}
	return r.Line
}

// Tail returns the end of an author's chain as the disk has it.
func Tail(ctx context.Context, s Store, a rom.Author) (wire.Mark, error) {
	row, ok, err := s.Last(ctx, a)
	if err != nil {
		return wire.Mark{}, fmt.Errorf("read the end of the log: %w", err)
	}
	if !ok || row.N == replica.Barrier {
		return wire.Mark{}, nil
	}
	return wire.Mark{N: row.N, Hash: wire.HashOf(sendable(row))}, nil
}

// barred reports whether a row holds a number that must not be given again.
func barred(r Row) bool { return string(r.Line) == replica.BarrierLine }

// First returns the lowest number of an author's lines on the disk; 0 if there
// are none. It is above 1 once lines were pruned.
func First(ctx context.Context, s Store, a rom.Author) (int64, error) {
	const page = 500
	for from := int64(1); ; {
		rows, err := s.Rows(ctx, a, from, page)
		if err != nil {
			return 0, fmt.Errorf("read the start of the log: %w", err)
		}
		for _, r := range rows {
			if !barred(r) {
				return r.N, nil
			}
			from = r.N + 1
		}
		if len(rows) < page {
			return 0, nil
		}
	}
}

// Lines returns an author's lines from n on without a hole, at most most of
// them and size bytes in all, line feeds included.
func Lines(ctx context.Context, s Store, a rom.Author, from int64, most, size int) ([][]byte, error) {
	rows, err := s.Rows(ctx, a, from, most)
	if err != nil {
		return nil, fmt.Errorf("read own records: %w", err)
	}
	var out [][]byte
	for i, r := range rows {
		line := sendable(r)
		if r.N != from+int64(i) || barred(r) || len(line)+1 > size {
			break
		}
		size -= len(line) + 1
		out = append(out, line)
	}
	return out, nil
}

// LoadState returns the state of the agreement; the zero State before
// enrolment. Who this installation is stands under one name and is written
// only when that changes; the rest stands under a name for each author, so
// that a window which does not know yet cannot turn the phone back.
func LoadState(ctx context.Context, s Store) (replica.State, error) {
	text, err := s.Meta(ctx, MetaReplica)
	if err != nil {
		return replica.State{}, fmt.Errorf("read the state of the agreement: %w", err)
	}
	first, err := replica.DecodeState(text)
	if err != nil || first.Author == "" {
		return first, err
	}
	if text, err = s.Meta(ctx, stateName(first.Author)); err != nil {
		return replica.State{}, fmt.Errorf("read the state of the agreement: %w", err)
	}
	if text == nil {
		return first, nil
	}
	return replica.DecodeState(text)
}

func stateName(a rom.Author) string { return MetaReplica + "." + string(a) }

// StateItems returns the values that save a state; with moved also who this
// installation is from now on, as on enrolment.
func StateItems(st replica.State, moved bool) []Item {
	items := []Item{{Name: stateName(st.Author), Value: st.Encode()}}
	if moved {
		items = append(items, Item{Name: MetaReplica, Value: st.Encode()})
	}
	return items
}

// Author returns a function for Writer.Author.
func Author(s Store) func(context.Context) (rom.Author, error) {
	return func(ctx context.Context) (rom.Author, error) {
		st, err := LoadState(ctx, s)
		return st.Author, err
	}
}

// Fold folds everything on the disk. Give later lines to the Folder as they
// come.
func Fold(ctx context.Context, s Store) (*replica.Folder, error) {
	f := &replica.Folder{}
	err := s.Each(ctx, func(r Row) error {
		f.Add(r.Line)
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("read the log: %w", err)
	}
	return f, nil
}

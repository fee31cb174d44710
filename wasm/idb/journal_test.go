//go:build js && wasm

package idb

import (
	"context"
	"errors"
	"testing"

	"unsling/sync/journal"
	"unsling/sync/journal/journaltest"
)

func journalOf(t testing.TB, db *DB) *Journal {
	t.Helper()
	j, err := OpenJournal(context.Background(), db)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func TestJournalConforms(t *testing.T) {
	journaltest.Run(t, func(t *testing.T) func() journal.Store {
		_, name := fresh(t)
		return func() journal.Store { return journalOf(t, reopen(t, name)) }
	})
}

func TestEachReadsPastOnePage(t *testing.T) {
	ctx := context.Background()
	db, _ := fresh(t)
	j := journalOf(t, db)
	var b journal.Batch
	const lines = eachPage + 7
	for n := range int64(lines) {
		b.Add = append(b.Add, journal.Row{Author: "a", N: n + 1, Line: []byte("{}")})
	}
	if err := j.Commit(ctx, b); err != nil {
		t.Fatal(err)
	}
	next := int64(1)
	err := j.Each(ctx, func(r journal.Row) error {
		if r.N != next {
			t.Fatalf("row %d comes where %d is due", r.N, next)
		}
		next++
		return nil
	})
	if err != nil || next != lines+1 {
		t.Errorf("%d rows, %v; want %d", next-1, err, lines)
	}
}

func TestJournalNamesItsFaults(t *testing.T) {
	j := &Journal{}
	for from, want := range map[error]error{
		ErrExists: journal.ErrExists, ErrFull: journal.ErrFull, ErrLost: journal.ErrClosed, ErrBusy: journal.ErrClosed, ErrGone: journal.ErrClosed,
	} {
		if got := j.translate(from); !errors.Is(got, want) || !errors.Is(got, from) {
			t.Errorf("%v becomes %v, want %v that wraps it", from, got, want)
		}
	}
}

// TestNoSpaceLeft runs in a browser that gives 2 MiB.
func TestNoSpaceLeft(t *testing.T) {
	ctx := context.Background()
	db, _ := fresh(t)
	j := journalOf(t, db)
	if err := j.Commit(ctx, journal.Batch{Add: []journal.Row{{Author: "a", N: 1, Line: []byte("{}")}}}); err != nil {
		t.Fatal(err)
	}
	picture := make([]byte, 300<<10)
	for i, x := 0, uint32(1); i < len(picture); i++ { // not to be compressed away
		x ^= x << 13
		x ^= x >> 17
		x ^= x << 5
		picture[i] = byte(x)
	}
	var err error
	names := 0
	for ; err == nil && names < 40; names++ {
		err = j.Commit(ctx, journal.Batch{
			Add:   []journal.Row{{Author: "a", N: int64(names) + 2, Line: []byte("{}")}},
			Blobs: []journal.Item{{Name: string(rune('a' + names)), Value: picture}},
		})
	}
	if !errors.Is(err, journal.ErrFull) {
		t.Fatalf("after %d pictures: %v, want ErrFull", names, err)
	}
	last, ok, err := j.Last(ctx, "a")
	if err != nil || !ok || last.N != int64(names) {
		t.Errorf("the last row is %d (%v), want %d: nothing of the refused write and all before it", last.N, err, names)
	}
}

//go:build js && wasm

package idb

import (
	"context"
	"errors"
	"testing"

	"unsling/sync/journal"
	"unsling/sync/journal/journaltest"
)

func TestJournalConforms(t *testing.T) {
	journaltest.Run(t, func(t *testing.T) func() journal.Store {
		_, name := fresh(t)
		return func() journal.Store { return NewJournal(reopen(t, name)) }
	})
}

func TestEachReadsPastOnePage(t *testing.T) {
	ctx := context.Background()
	db, _ := fresh(t)
	j := NewJournal(db)
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
	j := NewJournal(&DB{})
	for from, want := range map[error]error{
		ErrExists: journal.ErrExists, ErrFull: journal.ErrFull, ErrLost: journal.ErrClosed, ErrBusy: journal.ErrClosed, ErrGone: journal.ErrClosed,
	} {
		if got := j.translate(from); !errors.Is(got, want) || !errors.Is(got, from) {
			t.Errorf("%v becomes %v, want %v that wraps it", from, got, want)
		}
	}
}

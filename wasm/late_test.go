package main

import (
	"context"
	"sync/atomic"
	"testing"

	"unsling/engine/rom"
	"unsling/sync/journal"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// slow is a store whose next answer about rows is held back.
type slow struct {
	journal.Store
	hold atomic.Pointer[chan struct{}]
	held chan struct{}
}

func (s *slow) Rows(ctx context.Context, a rom.Author, from int64, most int) ([]journal.Row, error) {
	rows, err := s.Store.Rows(ctx, a, from, most)
	if c := s.hold.Swap(nil); c != nil {
		close(s.held)
		<-*c
	}
	return rows, err
}

// A look that began earlier and comes later changes nothing: what was received does not wait again.
func TestOldLookComesLate(t *testing.T) {
	ctx := context.Background()
	store := &slow{Store: journal.NewDisk().Open(), held: make(chan struct{})}
	l := enrolled(t, store)
	ref, err := l.Append("pain", pain(2))
	if err != nil {
		t.Fatal(err)
	}
	goOn := make(chan struct{})
	store.hold.Store(&goOn)
	done := make(chan error)
	go func() { done <- l.look(ctx) }()
	<-store.held
	row, _, err := store.Last(ctx, me)
	if err != nil {
		t.Fatal(err)
	}
	st := replica.State{Author: me, Acked: wire.Mark{N: ref.N, Hash: wire.HashOf(row.Line)}}
	if err := store.Commit(ctx, journal.Batch{Meta: journal.StateItems(st, true)}); err != nil {
		t.Fatal(err)
	}
	if err := l.look(ctx); err != nil || l.Facts().Sending.Acked != ref.N {
		t.Fatalf("%v, %+v", err, l.Facts().Sending)
	}
	close(goOn)
	if err := <-done; err != nil {
		t.Fatal(err)
	}
	if s := l.Facts().Sending; s.Acked != ref.N || len(s.Unsent) != 0 {
		t.Errorf("what was received waits again: %+v", s)
	}
}

package client

import (
	"context"
	"testing"

	"unsling/sync/journal"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// A window that slept does not take the cursor back behind what another one
// pulled meanwhile: should the server lose those lines, the cursor would fit
// its log again and nobody would give them back.
func TestStaleWindowTakesNothingBack(t *testing.T) {
	ctx := context.Background()
	s := &Syncer{Store: journal.NewDisk().Open()}
	was := replica.State{Author: "a1", Epoch: "e", Since: wire.Cursor{Seq: 21, Hash: wire.HashOf([]byte("21"))}}
	newer := was
	newer.Since = wire.Cursor{Seq: 23, Hash: wire.HashOf([]byte("23"))}
	if err := s.Store.Commit(ctx, journal.Batch{Meta: journal.StateItems(newer, true)}); err != nil {
		t.Fatal(err)
	}
	next := was
	next.Since = wire.Cursor{Seq: 22, Hash: wire.HashOf([]byte("22"))}
	e, err := s.save(ctx, was, replica.Save{State: next})
	if _, refused := e.(replica.NotSaved); !refused || err != nil {
		t.Errorf("saved: %T %v", e, err)
	}
	if got, err := journal.LoadState(ctx, s.Store); err != nil || got.Since != newer.Since {
		t.Errorf("the cursor stands at %d, %v", got.Since.Seq, err)
	}
	next.Since = wire.Cursor{Seq: 24, Hash: wire.HashOf([]byte("24"))}
	if e, err := s.save(ctx, newer, replica.Save{State: next}); err != nil || e != (replica.Saved{}) {
		t.Errorf("who is up to date may not save: %T %v", e, err)
	}
}

package journaltest

import (
	"fmt"
	"sync"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/sync/journal"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// NewWriter returns a Writer over s with a clock and salts that are invented
// but differ between names.
func NewWriter(s journal.Store, name string) *journal.Writer {
	var salt [16]byte
	copy(salt[8:], name)
	var mono int64
	return &journal.Writer{
		Store: s, Author: journal.Author(s), Run: name,
		Mono: func() int64 { mono += 7; return mono },
		Now:  func() time.Time { return time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC) },
		Zone: func() string { return "Europe/Madrid" },
		Rev:  func() int { return 1 },
		Salt: func() [16]byte { salt[0]++; return salt },
	}
}

func enrolled(t *testing.T, s journal.Store, a rom.Author) {
	t.Helper()
	commit(t, s, journal.Batch{Meta: journal.StateItems(replica.State{Author: a}, true)})
}

// writersRace: rule 1. Two windows append at once; every append that returned
// is there, the numbers have no hole, and each line names its predecessor.
func writersRace(t *testing.T, open func() journal.Store) {
	const each = 25
	enrolled(t, open(), "phone")
	var wg sync.WaitGroup
	var lock sync.Mutex
	kept := map[rom.Ref]string{}
	for w := range 2 {
		writer := NewWriter(open(), fmt.Sprintf("run-%d", w))
		wg.Add(1)
		go func() {
			defer wg.Done()
			for range each {
				a, err := writer.Append(ctx, wire.KindPain, rom.Pain{Episode: "e", Score: 3, When: rom.PainAtRest})
				if err != nil {
					t.Errorf("Append: %v", err)
					return
				}
				lock.Lock()
				kept[a.Ref] = string(a.Line)
				lock.Unlock()
			}
		}()
	}
	wg.Wait()
	rows := all(t, open())
	if len(rows) != 2*each || len(kept) != 2*each {
		t.Fatalf("%d rows and %d names for %d appends", len(rows), len(kept), 2*each)
	}
	prev := wire.NoPrev
	for i, r := range rows {
		rec, err := wire.Decode(r.Line)
		if err != nil {
			t.Fatal(err)
		}
		if rec.N != int64(i+1) || rec.Prev != prev || rec.Ref() != r.Key() {
			t.Fatalf("row %d: n = %d, prev fits: %v", i+1, rec.N, rec.Prev == prev)
		}
		if kept[rec.Ref()] != string(r.Line) {
			t.Errorf("record %d is not the one that was called kept", rec.N)
		}
		prev = wire.HashOf(r.Line)
	}
}

// writerFollowsAuthor: a window that slept while the phone became another
// author writes under the new name, not into a chain nobody sends any more.
func writerFollowsAuthor(t *testing.T, open func() journal.Store) {
	s := open()
	enrolled(t, s, "old")
	sleeper := NewWriter(open(), "sleeper")
	pain := rom.Pain{Episode: "e", Score: 1, When: rom.PainAtRest}
	if _, err := sleeper.Append(ctx, wire.KindPain, pain); err != nil {
		t.Fatal(err)
	}
	commit(t, s, journal.Batch{
		Add: []journal.Row{
			{Author: "old", N: 2, Line: []byte(replica.BarrierLine)},
			{Author: "old", N: replica.Barrier, Line: []byte(replica.BarrierLine)},
		},
		Meta: journal.StateItems(replica.State{Author: "new"}, true),
	})
	a, err := sleeper.Append(ctx, wire.KindPain, pain)
	if err != nil || a.Ref != (rom.Ref{Author: "new", N: 1}) {
		t.Errorf("appended as %v, %v; want new/1", a.Ref, err)
	}
}

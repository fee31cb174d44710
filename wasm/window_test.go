package main

import (
	"context"
	"testing"
	"time"

	"unsling/app/screen"
	"unsling/engine/rom"
	"unsling/sync/wire"
)

// secondWindow is another window of the same phone: the same disk and server,
// its own memory.
func secondWindow(t *testing.T, l *phoneLog, x *exchanger) (*phoneLog, *exchanger) {
	t.Helper()
	other := newLog(l.store, testParts())
	if err := other.read(context.Background()); err != nil {
		t.Fatal(err)
	}
	return other, newExchanger(other, x.client, x.pace)
}

// TestStopFetchedByAnotherWindow: the window that guides the session learns of
// a stop that the other one fetched, and goes on to learn of the next.
func TestStopFetchedByAnotherWindow(t *testing.T) {
	s := &falseServer{t: t, state: wire.Active}
	l, x, _ := phone(t, s)
	s.clinicWrites(wire.KindEpisode, episode)
	s.clinicWrites(wire.KindPlan, plan(1))
	if err := x.Enrol("CODE", "", false); err != nil {
		t.Fatal(err)
	}
	_, other := secondWindow(t, l, x)
	for rev := 2; rev < 5; rev++ {
		stop := plan(rev)
		stop.State, stop.Why = rom.Stopped, "We must see you first."
		s.clinicWrites(wire.KindPlan, stop)
		if err := other.Exchange(); err != nil {
			t.Fatal(err)
		}
		if rev == 3 { // our own exchange must not hide it either
			if err := x.Exchange(); err != nil {
				t.Fatal(err)
			}
		} else if err := l.catchUp(context.Background()); err != nil {
			t.Fatal(err)
		}
		if p, _ := l.Facts().History.Plan("ep"); p.Rev != rev {
			t.Errorf("this window still follows revision %d, want %d", p.Rev, rev)
		}
	}
}

// TestSignToldInAnotherWindow: also when this window has written since.
func TestSignToldInAnotherWindow(t *testing.T) {
	s := &falseServer{t: t, state: wire.Active}
	l, x, _ := phone(t, s)
	if err := x.Enrol("CODE", "", false); err != nil {
		t.Fatal(err)
	}
	other, _ := secondWindow(t, l, x)
	for n := 1; n < 3; n++ {
		if _, err := other.Append("sign", rom.Sign{Episode: "ep", Sign: rom.SignPop}); err != nil {
			t.Fatal(err)
		}
		if n == 2 {
			if _, err := l.Append("pain", pain(2)); err != nil {
				t.Fatal(err)
			}
		}
		if err := l.catchUp(context.Background()); err != nil {
			t.Fatal(err)
		}
		if got := len(l.Facts().History.Signs); got != n {
			t.Errorf("this window knows %d signs, want %d", got, n)
		}
	}
}

// TestCatchUpIsCheap: without another window nothing is read again.
func TestCatchUpIsCheap(t *testing.T) {
	s := &falseServer{t: t, state: wire.Active}
	l, x, _ := phone(t, s)
	s.clinicWrites(wire.KindEpisode, episode)
	s.clinicWrites(wire.KindPlan, plan(1))
	if err := x.Enrol("CODE", "", false); err != nil {
		t.Fatal(err)
	}
	if _, err := l.Append("pain", pain(2)); err != nil {
		t.Fatal(err)
	}
	if err := x.Exchange(); err != nil {
		t.Fatal(err)
	}
	folder := l.folder
	if err := l.catchUp(context.Background()); err != nil || l.folder != folder {
		t.Errorf("the disk was read again (%v)", err)
	}
	if l.Facts().Account.State != screen.Active {
		t.Error("not active")
	}
}

// TestClockAheadIsFoundAtAContact: and forgotten once it is right.
func TestClockAheadIsFoundAtAContact(t *testing.T) {
	s := &falseServer{t: t, state: wire.Active}
	l, x, _ := phone(t, s)
	if err := x.Enrol("CODE", "", false); err != nil {
		t.Fatal(err)
	}
	if ahead := l.Facts().Sending.Ahead; ahead != 0 {
		t.Fatalf("a right clock is %v ahead", ahead)
	}
	right := l.now
	for _, off := range []time.Duration{40 * 24 * time.Hour, time.Hour, -40 * 24 * time.Hour} {
		l.now = func() time.Time { return right().Add(off) }
		l.noteClock(context.Background(), right())
		want := max(off, 0)
		if off == time.Hour {
			want = 0
		}
		if got := l.Facts().Sending.Ahead; got != want {
			t.Errorf("%v off: %v ahead, want %v", off, got, want)
		}
	}
}

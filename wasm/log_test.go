package main

import (
	"context"
	"encoding/json"
	"errors"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"unsling/app/screen"
	"unsling/engine/rom"
	"unsling/sync/client"
	"unsling/sync/journal"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

const me rom.Author = "p-test"

var counter atomic.Int64

func testParts() parts {
	return parts{
		version: "0123", run: "run-1", mono: func() int64 { return counter.Add(1) },
		now:  func() time.Time { return time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC) },
		zone: func() string { return "UTC" },
		salt: func() (b [16]byte) { b[0] = byte(counter.Add(1)); return b },
	}
}

// enrolled is a log over a disk on which this phone is enrolled.
func enrolled(t *testing.T, store journal.Store) *phoneLog {
	t.Helper()
	in, err := json.Marshal(client.Installation{Base: "http://x", Identity: client.Identity{Author: me, Key: []byte(`{}`)},
		Enrolled: &wire.Enrolled{State: wire.Active, Clinic: wire.Clinic{Name: "Invented Clinic", Phone: "+1 555 0100", Zone: "UTC"}}})
	if err != nil {
		t.Fatal(err)
	}
	err = store.Commit(context.Background(), journal.Batch{Meta: []journal.Item{
		{Name: journal.MetaDevice, Value: in}, {Name: journal.MetaReplica, Value: replica.State{Author: me}.Encode()},
	}})
	if err != nil {
		t.Fatal(err)
	}
	l := newLog(store, testParts())
	if err := l.read(context.Background()); err != nil {
		t.Fatal(err)
	}
	return l
}

func pain(score int) rom.Pain {
	p := rom.Pain{Score: score, When: rom.PainAtRest}
	if err := p.Validate(); err != nil {
		panic(err)
	}
	return p
}

func TestAppendIsOnTheDiskAndInTheFacts(t *testing.T) {
	store := journal.NewMem()
	l := enrolled(t, store)
	told := 0
	l.wrote = func() { told++ }
	changes := 0
	cancel := l.Subscribe(func() { changes++ })
	ref, err := l.Append(string(wire.KindPain), pain(3))
	if err != nil {
		t.Fatal(err)
	}
	f := l.Facts()
	if ref != (rom.Ref{Author: me, N: 1}) || len(f.History.Pains) != 1 || f.History.Pains[0].Body.Score != 3 {
		t.Errorf("record %v, pains %v", ref, f.History.Pains)
	}
	if f.Sending.Written != 1 || len(f.Sending.Unsent) != 1 || f.Sending.Unsent[0].Kind != "pain" || told != 1 || changes == 0 {
		t.Errorf("sending %+v, told %d, changes %d", f.Sending, told, changes)
	}
	cancel()
	before := changes
	if _, err := l.Append(string(wire.KindPain), pain(4)); err != nil {
		t.Fatal(err)
	}
	if changes != before {
		t.Error("told after the subscription ended")
	}
	again := newLog(store, testParts()) // the app was killed and starts again
	if err := again.read(context.Background()); err != nil || len(again.Facts().History.Pains) != 2 {
		t.Errorf("after a new start: %v, %d pains", err, len(again.Facts().History.Pains))
	}
	if a := again.Facts().Account; a.State != screen.Active || a.Phone != "+1 555 0100" {
		t.Errorf("account %+v", a)
	}
}

func TestOldSnapshotsDoNotChange(t *testing.T) {
	l := enrolled(t, journal.NewMem())
	for range 3 {
		if _, err := l.Append("pain", pain(1)); err != nil {
			t.Fatal(err)
		}
	}
	old := l.Facts()
	first := old.History.Pains[0].Ref
	for range 20 {
		if _, err := l.Append("pain", pain(2)); err != nil {
			t.Fatal(err)
		}
	}
	if len(old.History.Pains) != 3 || old.History.Pains[0].Ref != first {
		t.Error("a snapshot that was handed out has changed")
	}
}

func TestAppendNeverSaysKeptWithoutADisk(t *testing.T) {
	for name, c := range map[string]struct {
		store   func() journal.Store
		want    error
		trouble screen.Trouble
	}{
		"no storage": {func() journal.Store { d := newDisk(); d.open(nil); return d }, screen.ErrStorage, screen.TroubleNone},
		"full": {func() journal.Store {
			disk := journal.NewDisk()
			m := disk.Open()
			enrolled(t, m)
			disk.Limit(disk.Size() + 10)
			return m
		}, screen.ErrFull, screen.TroubleFull},
	} {
		t.Run(name, func(t *testing.T) {
			l := newLog(c.store(), testParts())
			if _, err := l.Append("pain", pain(1)); !errors.Is(err, screen.ErrStorage) {
				t.Errorf("append before the log was read: %v", err)
			}
			if err := l.read(context.Background()); err != nil {
				t.Fatal(err)
			}
			_, err := l.Append("pain", pain(1))
			if name == "no storage" {
				if !errors.Is(err, journal.ErrNobody) { // nobody can be enrolled there
					t.Errorf("append: %v", err)
				}
				err = l.Keep("prefs", []byte("x"))
			}
			if !errors.Is(err, c.want) {
				t.Errorf("%v, want %v", err, c.want)
			}
			if name == "full" && l.Facts().Trouble != c.trouble {
				t.Errorf("trouble %q, want %q", l.Facts().Trouble, c.trouble)
			}
		})
	}
}

func TestWrongBodyIsNotTheDisksFault(t *testing.T) {
	l := enrolled(t, journal.NewMem())
	if _, err := l.Append("pain", rom.Pain{Score: 99, When: rom.PainAtRest}); !errors.Is(err, wire.ErrBody) || errors.Is(err, screen.ErrStorage) {
		t.Errorf("a score of 99: %v", err)
	}
	if l.Facts().Trouble != screen.TroubleNone {
		t.Errorf("trouble %q", l.Facts().Trouble)
	}
}

func TestSmallValuesStayApartFromTheJournals(t *testing.T) {
	store := journal.NewMem()
	l := enrolled(t, store)
	if err := l.Keep(journal.MetaReplica, []byte("mine")); err != nil {
		t.Fatal(err)
	}
	if st, err := journal.LoadState(context.Background(), store); err != nil || st.Author != me {
		t.Errorf("the state of the agreement was overwritten: %v %v", st, err)
	}
	if got, err := l.Kept(journal.MetaReplica); err != nil || string(got) != "mine" {
		t.Errorf("kept %q, %v", got, err)
	}
	if err := l.Keep(journal.MetaReplica, nil); err != nil {
		t.Fatal(err)
	}
	if got, err := l.Kept(journal.MetaReplica); err != nil || got != nil {
		t.Errorf("after deleting: %q, %v", got, err)
	}
}

func TestExportHoldsEveryLineAsItWasWritten(t *testing.T) {
	store := journal.NewMem()
	l := enrolled(t, store)
	for i := range 3 {
		if _, err := l.Append("pain", pain(i)); err != nil {
			t.Fatal(err)
		}
	}
	out, err := l.Export()
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSuffix(string(out), "\n"), "\n")
	if len(lines) != 4 || !strings.Contains(lines[0], `"unsling_export":1`) {
		t.Fatalf("export:\n%s", out)
	}
	prev := wire.NoPrev
	for _, line := range lines[1:] {
		rec, err := wire.Decode([]byte(line))
		if err != nil || rec.Prev != prev {
			t.Errorf("line %s: %v, or it does not follow", line, err)
		}
		prev = wire.HashOf([]byte(line))
	}
}

// slowStore lets the test do something while the disk is read.
type slowStore struct {
	journal.Store
	during func()
}

func (s *slowStore) Each(ctx context.Context, f func(journal.Row) error) error {
	err := s.Store.Each(ctx, f)
	if s.during != nil {
		s.during()
	}
	return err
}

func TestWhatIsWrittenWhileTheDiskIsReadIsNotForgotten(t *testing.T) {
	store := &slowStore{Store: journal.NewMem()}
	l := enrolled(t, store)
	store.during = func() {
		store.during = nil
		if _, err := l.Append("pain", pain(5)); err != nil {
			t.Error(err)
		}
	}
	if err := l.read(context.Background()); err != nil {
		t.Fatal(err)
	}
	if n := len(l.Facts().History.Pains); n != 1 {
		t.Errorf("%d pains, want the one written meanwhile", n)
	}
}

func TestAccountStates(t *testing.T) {
	contact := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	in := func(state string) client.Installation {
		return client.Installation{Enrolled: &wire.Enrolled{State: state, Check: "47"}}
	}
	for _, c := range []struct {
		in   client.Installation
		st   replica.State
		want screen.AccountState
	}{
		{client.Installation{}, replica.State{}, screen.Unknown},
		{client.Installation{Identity: client.Identity{Author: me}}, replica.State{}, screen.Unknown}, // tried, no answer
		{in(wire.Active), replica.State{Author: me}, screen.Active},
		{in(wire.Waiting), replica.State{Author: me}, screen.Pending},
		{in(wire.Waiting), replica.State{Author: me, Contact: contact}, screen.Active},
		{in(wire.Active), replica.State{Author: me, Revoked: true}, screen.Revoked},
	} {
		if got := accountOf(c.in, c.st).State; got != c.want {
			t.Errorf("%+v with %+v: %q, want %q", c.in, c.st, got, c.want)
		}
	}
}

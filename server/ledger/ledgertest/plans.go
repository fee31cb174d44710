package ledgertest

import (
	"errors"
	"sync"
	"testing"

	"unsling/server/ledger"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

func testPlans(t *testing.T, b *bench) {
	write := func(d ledger.Draft, base *ledger.Base) error {
		_, err := b.Append("p1", []ledger.Draft{d}, base, b.trail("vega"))
		return err
	}
	b.must(write(plan("e1", 0, 1), nil))
	b.must(write(plan("e1", 1, 2), &ledger.Base{Episode: "e1", Base: 1, New: 2}))
	var stale *ledger.StaleError
	if err := write(plan("e1", 1, 3), nil); !errors.As(err, &stale) || !errors.Is(err, ledger.ErrStale) || stale.Newest != 2 || stale.Base != 1 {
		t.Errorf("made from revision 1: %v %+v", err, stale)
	}
	wantErr(t, "another first plan", write(plan("e1", 0, 3), nil), ledger.ErrStale)
	wantErr(t, "a number used before", write(plan("e2", 0, 2), nil), ledger.ErrStale)
	wantErr(t, "a note by somebody who saw an old plan", write(note("x"), &ledger.Base{Episode: "e1", Base: 1}), ledger.ErrStale)
	b.must(write(plan("e2", 0, 3), nil)) // the second shoulder
	b.must(write(plan("e1", 2, 4), nil))
	lines, err := b.Read("p1", 1, 0)
	if err != nil || len(lines) != 4 {
		t.Errorf("log: %d %v", len(lines), err)
	}
	for what, d := range map[string]ledger.Draft{
		"a phone's kind": {Kind: wire.KindPain, V: 1, Body: []byte(`{}`), At: b.now}, "no kind": {Kind: "x", V: 1, Body: []byte(`{}`), At: b.now},
		"no JSON": {Kind: wire.KindNote, V: 1, Body: []byte(`{`), At: b.now}, "no valid body": {Kind: wire.KindNote, V: 1, Body: []byte(`{}`), At: b.now},
	} {
		if write(d, nil) == nil {
			t.Errorf("%s was appended", what)
		}
	}
	_, err = b.Append("p1", []ledger.Draft{note("good"), plan("e1", 1, 9)}, nil, b.trail("vega"))
	wantErr(t, "a good record beside a stale plan", err, ledger.ErrStale)
	if lines, _ := b.Read("p1", 1, 0); len(lines) != 4 {
		t.Errorf("half of it was stored: %d lines", len(lines))
	}
	_, err = b.Append("p9", []ledger.Draft{note("x")}, nil, b.trail("vega"))
	wantErr(t, "unknown patient", err, ledger.ErrUnknown)
}

// Twenty people change one plan at once: one change is made.
func testPlanRace(t *testing.T, b *bench) {
	b.must(appendOne(b, plan("e1", 0, 1)))
	var wg sync.WaitGroup
	var mu sync.Mutex
	made := 0
	for range 20 {
		wg.Go(func() {
			err := appendOne(b, plan("e1", 1, 2))
			mu.Lock()
			defer mu.Unlock()
			if err == nil {
				made++
			} else if !errors.Is(err, ledger.ErrStale) {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	if made != 1 {
		t.Errorf("%d changes were made", made)
	}
}

// A store that lost everything but the patient's row gets the clinic's lines
// back from a phone, and refuses to revise until then.
func testReturned(t *testing.T, b *bench) {
	ph := b.enrol("p1")
	b.must(appendOne(b, plan("e1", 0, 1)))
	b.must(appendOne(b, plan("e1", 1, 2)))
	ph.follows = 2
	ph.exchange()
	clinic := [][]byte{ph.got[0].Bytes, ph.got[1].Bytes}

	lost := newBench(t, b.setup)
	back := lost.enrol("p1")
	back.follows, back.epoch = 2, "the life before"
	back.exchange()
	_, err := lost.Append("p1", []ledger.Draft{plan("e1", 0, 1)}, nil, lost.trail("vega"))
	wantErr(t, "revised while a phone follows a lost plan", err, replica.ErrPlanLost)

	req := back.request()
	forged := append([]byte(nil), clinic[0]...)
	forged[len(forged)-10] ^= 1
	req.Request.Returned = [][]byte{forged, clinic[1], clinic[0], clinic[1]}
	out, err := lost.Exchange(req)
	lost.must(err)
	if out.Reply.Head.Seq != 2 {
		t.Errorf("returned: %+v", out.Reply)
	}
	other := lost.enrol("p2")
	req = other.request()
	req.Request.Returned = clinic
	if out, err := lost.Exchange(req); err != nil || out.Reply.Head.Seq != 0 {
		t.Errorf("lines of one patient were returned into the log of another: %+v %v", out.Reply, err)
	}
	lost.must(appendOne(lost, plan("e1", 2, 3)))
	wantErr(t, "made from what was before", appendOne(lost, plan("e1", 1, 4)), ledger.ErrStale)
}

// No phone holds up a stop or a narrowing, whatever it says that it follows;
// the number has to be above that all the same. A revoked one holds up nothing.
func testStopIsNotHeldUp(t *testing.T, b *bench) {
	ph := b.enrol("p1")
	b.must(appendOne(b, plan("e1", 0, 1)))
	ph.follows, ph.epoch = 5, "the life before"
	ph.exchange()
	wantErr(t, "revised while a phone follows a lost plan", appendOne(b, plan("e1", 1, 6)), replica.ErrPlanLost)
	wantErr(t, "a stop that the phone would not take", appendOne(b, stopped("e1", 1, 5)), ledger.ErrStale)
	b.must(appendOne(b, stopped("e1", 1, 6)))

	other := b.enrol("p2")
	revise := func(base, rev int, tightens bool) error {
		_, err := b.Append("p2", []ledger.Draft{plan("e2", base, rev)},
			&ledger.Base{Episode: "e2", Base: base, New: rev, Tightens: tightens}, b.trail("vega"))
		return err
	}
	b.must(revise(0, 1, false))
	other.follows, other.epoch = 5, "the life before"
	other.exchange()
	if err := revise(1, 6, true); err != nil {
		t.Errorf("a narrowing is held up: %v", err)
	}
	other.follows, other.epoch = 9, "the life before"
	other.exchange()
	wantErr(t, "revised while it follows a lost plan", revise(6, 10, false), replica.ErrPlanLost)
	b.must(b.RevokeAuthor(other.author, b.trail("vega")))
	if err := revise(6, 7, false); err != nil {
		t.Errorf("a revoked phone holds up a plan: %v", err)
	}
}

func testFacts(t *testing.T, b *bench) {
	ph := b.enrol("p1")
	for i := range 400 { // beyond several times of keeping them
		ph.write("x")
		if i%7 == 0 {
			ph.exchange()
		}
	}
	ph.exchange()
	lines, err := b.Read("p1", 1, 0)
	b.must(err)
	want, err := TestFold(1).Add(nil, lines)
	b.must(err)
	f, err := b.Facts("p1")
	if err != nil || f.Seq != 400 || f.Version != 1 || string(f.Data) != string(want) {
		t.Errorf("facts up to %d of version %d: %v", f.Seq, f.Version, err)
	}
	b.must(appendOne(b, note("more")))
	if f, err := b.Facts("p1"); err != nil || f.Seq != 401 || len(f.Data) <= len(want) {
		t.Errorf("after one more: %d %v", f.Seq, err)
	}
	panel, err := b.Panel("vega")
	if err != nil || panel[0].Facts.Seq != 401 || panel[1].Facts.Data != nil || len(panel[0].Phones) != 1 || panel[0].Phones[0].ID != ph.author {
		t.Errorf("panel: %v", err)
	}
	_, err = b.Facts("p9")
	wantErr(t, "facts of nobody", err, ledger.ErrUnknown)
}

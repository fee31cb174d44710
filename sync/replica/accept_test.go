package replica

import (
	"errors"
	"slices"
	"testing"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// shelf is what a server has of one author.
type shelf struct {
	mark   wire.Mark
	hashes map[int64]wire.Hash
	log    []string
	aside  []Reason
}

func (s *shelf) take(t *testing.T, from int64, prev wire.Hash, lines ...[]byte) Verdict {
	t.Helper()
	v, err := Accept(s.mark, wire.Header{From: from, Prev: prev}, lines, func(n int64) (wire.Hash, error) { return s.hashes[n], nil })
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range v.Store {
		s.hashes[l.N] = l.Hash
		s.log = append(s.log, string(l.Bytes))
	}
	for _, q := range v.Quarantine {
		s.aside = append(s.aside, q.Why)
		if q.Why != Forked {
			s.hashes[q.N] = q.Hash
		}
	}
	s.mark = v.Mark
	return v
}

func chain(t *testing.T, a rom.Author, salt byte, n int) [][]byte {
	s := newScribe(t, a)
	s.salt = salt
	var out [][]byte
	for i := range n {
		l, _ := s.write(wire.KindPain, pain(i))
		out = append(out, l)
	}
	return out
}

// Rule 3: ignored, fork, gap.
func TestAcceptNumbers(t *testing.T) {
	s := &shelf{hashes: map[int64]wire.Hash{}}
	l := chain(t, "p", 0, 5)
	if v := s.take(t, 1, "", l[:3]...); v.Code != "" || v.Mark != (wire.Mark{N: 3, Hash: wire.HashOf(l[2])}) || len(s.log) != 3 {
		t.Fatalf("three lines: %+v", v)
	}
	if v := s.take(t, 2, "", l[1:4]...); v.Code != "" || v.Ignored != 2 || v.Mark.N != 4 || len(s.log) != 4 {
		t.Errorf("two known and one new: %+v", v)
	}
	if v := s.take(t, 6, ""); v.Code != wire.Gap || v.Mark.N != 4 || !v.Lost {
		t.Errorf("beyond the next: %+v", v)
	}
	other := chain(t, "p", 100, 6)
	v := s.take(t, 3, "", other[2:]...)
	if v.Code != wire.Fork || v.Mark.N != 4 || len(s.log) != 4 || !slices.Equal(s.aside, []Reason{Forked}) {
		t.Errorf("other bytes under a known number: %+v, aside %v", v, s.aside)
	}
	if v := s.take(t, 5, wire.HashOf(other[3]), other[4]); v.Code != wire.Gap || !v.Lost || len(s.log) != 4 {
		t.Errorf("after numbers that were taken by another: %+v", v)
	}
	if v := s.take(t, 5, wire.HashOf(l[3]), l[4]); v.Code != "" || v.Mark.N != 5 {
		t.Errorf("after the right ones: %+v", v)
	}
	if v := s.take(t, 6, wire.HashOf(l[4])); v.Code != "" || v.Mark.N != 5 {
		t.Errorf("nothing to send: %+v", v)
	}
}

// Rule 6: what is no record, or does not follow, is kept apart, acknowledged,
// and blocks nothing.
func TestAcceptQuarantine(t *testing.T) {
	s := &shelf{hashes: map[int64]wire.Hash{}}
	l := chain(t, "p", 0, 5)
	bad := []byte("no record")
	v := s.take(t, 1, "", l[0], bad, l[2], l[3])
	if v.Code != "" || v.Mark != (wire.Mark{N: 4, Hash: wire.HashOf(l[3])}) {
		t.Fatalf("%+v", v)
	}
	if !slices.Equal(s.aside, []Reason{NotARecord, WrongPrev}) || !slices.Equal(s.log, []string{string(l[0]), string(l[3])}) {
		t.Errorf("aside %v, %d in the log", s.aside, len(s.log))
	}
	if v := s.take(t, 2, "", bad, l[2], l[3], l[4]); v.Code != "" || v.Ignored != 3 || v.Mark.N != 5 {
		t.Errorf("the same again: %+v", v)
	}
	broken := errors.New("disk")
	if _, err := Accept(s.mark, wire.Header{From: 1}, l[:1], func(int64) (wire.Hash, error) { return "", broken }); !errors.Is(err, broken) {
		t.Errorf("a failing look-up: %v", err)
	}
}

func TestResume(t *testing.T) {
	log := []wire.Hash{wire.HashOf([]byte("1")), wire.HashOf([]byte("2")), wire.HashOf([]byte("3"))}
	at := func(seq int64) (wire.Hash, error) { return log[seq-1], nil }
	head := wire.Cursor{Seq: 3, Hash: log[2]}
	for _, c := range []struct {
		since wire.Cursor
		from  int64
		lost  bool
	}{
		{wire.Cursor{}, 1, false},
		{wire.Cursor{Seq: 2, Hash: log[1]}, 3, false},
		{head, 4, false},
		{wire.Cursor{Seq: 4, Hash: log[0]}, 1, true},
		{wire.Cursor{Seq: 2, Hash: log[0]}, 1, true},
	} {
		if from, lost, err := Resume(c.since, head, at); from != c.from || lost != c.lost || err != nil {
			t.Errorf("Resume(%v) = %d, %v, %v; want %d, %v", c.since, from, lost, err, c.from, c.lost)
		}
	}
}

// Rule 14: sealed, next in its chain, of this patient; everything else is
// left out.
func TestAcceptReturned(t *testing.T) {
	key := []byte("key")
	s := newScribe(t, "c-1")
	var lines [][]byte
	mark := wire.Mark{}
	for range 4 {
		l, _ := s.write(wire.KindNote, rom.Note{Episode: "e", Text: "x", By: "ana"})
		r, _ := wire.Decode(l)
		r.Prev = mark.Prev()
		sealed, err := wire.Seal(r, key, "pat")
		if err != nil {
			t.Fatal(err)
		}
		mark = wire.Mark{N: r.N, Hash: wire.HashOf(sealed)}
		lines = append(lines, sealed)
	}
	has := wire.Mark{N: 1, Hash: wire.HashOf(lines[0])}
	markOf := func(a rom.Author) (wire.Mark, error) { return has, nil }
	forPatient := func(p rom.PatientID) func([]byte) bool {
		return func(l []byte) bool { return wire.Sealed(l, key, p) }
	}
	phone, _ := newScribe(t, "p").write(wire.KindPain, pain(1))
	got, err := AcceptReturned(markOf, append([][]byte{phone, []byte("x")}, lines...), forPatient("pat"))
	if err != nil || len(got) != 3 || got[0].Ref.N != 2 || got[2].Hash != mark.Hash {
		t.Errorf("%d taken (%v), want 2, 3, 4", len(got), err)
	}
	if got, _ := AcceptReturned(markOf, lines, forPatient("another")); len(got) != 0 {
		t.Errorf("%d taken into another patient's log", len(got))
	}
	if got, _ := AcceptReturned(markOf, lines[2:], forPatient("pat")); len(got) != 0 {
		t.Errorf("%d taken after a hole", len(got))
	}
}

func TestCheckRevision(t *testing.T) {
	for _, c := range []struct {
		base, rev, newest, last, following int
		tightens                           bool
		want                               error
	}{
		{0, 1, 0, 0, 0, false, nil},
		{3, 6, 3, 5, 3, false, nil},
		{2, 6, 3, 5, 3, false, rom.ErrStale},
		{3, 5, 3, 5, 3, false, rom.ErrStale},
		{3, 6, 3, 5, 6, false, ErrPlanLost},
		{3, 7, 3, 5, 6, false, ErrPlanLost},
		{3, 7, 3, 5, 6, true, nil},          // a stop is not held up
		{3, 6, 3, 5, 6, true, rom.ErrStale}, // but the phone would not take this number
		{2, 7, 3, 5, 6, true, rom.ErrStale},
	} {
		if err := CheckRevision(c.base, c.rev, c.newest, c.last, c.following, c.tightens); !errors.Is(err, c.want) {
			t.Errorf("%+v: %v", c, err)
		}
	}
}

// A phone is believed that it follows what the server does not have only when the server can have lost it.
func TestFollowing(t *testing.T) {
	for _, c := range []struct {
		claimed, had, last int
		lost               bool
		want               int
	}{
		{3, 2, 5, false, 3}, {5, 3, 5, false, 5}, {0, 3, 5, false, 0},
		{6, 3, 5, false, 3}, // made up
		{1 << 30, 3, 5, false, 3},
		{6, 3, 5, true, 6},  // the store lost it
		{6, 6, 5, false, 6}, // and has not got it back yet
		{5 + LostMost, 3, 5, true, 5 + LostMost}, {6 + LostMost, 3, 5, true, 3},
	} {
		if got := Following(c.claimed, c.had, c.last, c.lost); got != c.want {
			t.Errorf("%+v: %d", c, got)
		}
	}
}

// Rule 10: the newest, within a session only if it permits less.
func TestAdopt(t *testing.T) {
	plan := func(rev, ceiling int, state rom.PlanState) rom.Plan {
		return rom.Plan{Episode: "e", Rev: rev, State: state, Phases: []rom.Phase{{Key: "p", Limits: []rom.Limit{
			{Motion: rom.ForwardFlexion, Class: rom.Passive, Ceiling: rom.Deg(ceiling)}}}}}
	}
	h := func(followed int, plans ...rom.Plan) rom.History {
		var h rom.History
		for _, p := range plans {
			h.Plans = append(h.Plans, rom.Entry[rom.Plan]{Body: p})
		}
		if followed > 0 {
			h.Adoptions = []rom.Entry[rom.Adopted]{{Meta: rom.Meta{Ref: rom.Ref{Author: "p", N: 1}}, Body: rom.Adopted{Episode: "e", Rev: followed}}}
		}
		return h
	}
	old := plan(1, 90, rom.Running)
	for name, c := range map[string]struct {
		h       rom.History
		running *rom.Plan
		rev     int
		fresh   bool
		narrow  bool
	}{
		"first":                  {h(0, old), nil, 1, true, false},
		"followed":               {h(1, old), nil, 1, false, false},
		"wider":                  {h(1, old, plan(2, 120, rom.Running)), nil, 2, true, false},
		"wider in a session":     {h(1, old, plan(2, 120, rom.Running)), &old, 1, false, false},
		"narrower in a session":  {h(1, old, plan(2, 60, rom.Running)), &old, 2, true, true},
		"a stop in a session":    {h(1, old, plan(2, 120, rom.Stopped)), &old, 2, true, true},
		"no plan but a session":  {h(0), &old, 1, false, false},
		"the same in a session":  {h(1, old), &old, 1, false, false},
		"both, the newest wider": {h(1, old, plan(2, 60, rom.Running), plan(3, 90, rom.Running)), &old, 1, false, false},
	} {
		a, ok := Adopt(c.h, "e", c.running)
		if !ok || a.Plan.Rev != c.rev || a.New != c.fresh || a.Narrowed != c.narrow {
			t.Errorf("%s: revision %d, new %v, narrowed %v", name, a.Plan.Rev, a.New, a.Narrowed)
		}
	}
	if _, ok := Adopt(rom.History{}, "e", nil); ok {
		t.Error("a plan out of nothing")
	}
}

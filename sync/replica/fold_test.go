package replica

import (
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// scribe writes lines of one author for tests.
type scribe struct {
	t    testing.TB
	a    rom.Author
	mark wire.Mark
	salt byte
	was  rom.Ref
	at   time.Time
}

func newScribe(t testing.TB, a rom.Author) *scribe {
	return &scribe{t: t, a: a, at: time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)}
}

// write returns the next line and its name.
func (s *scribe) write(k wire.Kind, body any) ([]byte, rom.Ref) {
	s.t.Helper()
	raw, v, err := wire.EncodeBody(k, body)
	if err != nil {
		s.t.Fatal(err)
	}
	return s.raw(k, v, raw)
}

func (s *scribe) raw(k wire.Kind, v int, body json.RawMessage) ([]byte, rom.Ref) {
	s.t.Helper()
	s.salt++
	s.at = s.at.Add(time.Minute)
	var salt [16]byte
	copy(salt[1:], s.a)
	salt[0] = s.salt
	r := wire.Record{
		Author: s.a, N: s.mark.N + 1, Prev: s.mark.Prev(), Salt: wire.Salt(salt), Kind: k, V: v, Run: "r", At: s.at,
		TZ: "UTC", Body: body, Was: s.was,
	}
	s.was = rom.Ref{}
	line, err := wire.Encode(r)
	if err != nil {
		s.t.Fatal(err)
	}
	s.mark = wire.Mark{N: r.N, Hash: wire.HashOf(line)}
	return line, r.Ref()
}

// again returns the line of another author repeated under the scribe's name,
// with its salt.
func (s *scribe) again(line []byte) ([]byte, rom.Ref) {
	s.t.Helper()
	r, err := wire.Decode(line)
	if err != nil {
		s.t.Fatal(err)
	}
	r.Was, r.Author, r.N, r.Prev = r.Ref(), s.a, s.mark.N+1, s.mark.Prev()
	out, err := wire.Encode(r)
	if err != nil {
		s.t.Fatal(err)
	}
	s.mark = wire.Mark{N: r.N, Hash: wire.HashOf(out)}
	return out, r.Ref()
}

func pain(score int) rom.Pain { return rom.Pain{Episode: "e", Score: score, When: rom.PainAtRest} }

func painJSON(score int) []byte {
	return fmt.Appendf(nil, `{"episode":"e","score":%d,"when":"rest"}`, score)
}

func scores(h rom.History) []int {
	var out []int
	for _, e := range h.Pains {
		out = append(out, e.Body.Score)
	}
	return out
}

// orders checks that every order of a few lines, with one of them twice,
// folds alike, and returns that history.
func orders(t *testing.T, lines ...[]byte) rom.History {
	t.Helper()
	want := Fold(lines...)
	var walk func(done, left [][]byte)
	walk = func(done, left [][]byte) {
		if len(left) == 0 {
			if got := Fold(append(slices.Clone(done), done[0])...); !reflect.DeepEqual(got, want) {
				t.Fatalf("another order folds into %+v, want %+v", got, want)
			}
		}
		for i := range left {
			walk(append(slices.Clone(done), left[i]), slices.Delete(slices.Clone(left), i, i+1))
		}
	}
	walk(nil, lines)
	return want
}

// Rule 11: a phone touches only its own; void wins for ever; the clinic over
// a phone; the later in a chain; what was amended again is out.
func TestCorrections(t *testing.T) {
	type pen struct{ phone, other, clinic *scribe }
	for name, c := range map[string]struct {
		write       func(p pen, target rom.Ref) [][]byte
		want        []int
		damaged     int
		voidedCount int
	}{
		"nothing": {func(pen, rom.Ref) [][]byte { return nil }, []int{3}, 0, 0},
		"own amendment": {func(p pen, r rom.Ref) [][]byte {
			a, _ := p.phone.write(wire.KindAmend, rom.Amend{Target: r, Body: painJSON(5), Reason: "x"})
			return [][]byte{a}
		}, []int{5}, 0, 0},
		"the later own amendment": {func(p pen, r rom.Ref) [][]byte {
			a, _ := p.phone.write(wire.KindAmend, rom.Amend{Target: r, Body: painJSON(5), Reason: "x"})
			b, _ := p.phone.write(wire.KindAmend, rom.Amend{Target: r, Body: painJSON(6), Reason: "x"})
			return [][]byte{a, b}
		}, []int{6}, 0, 0},
		"the clinic over the phone": {func(p pen, r rom.Ref) [][]byte {
			c, _ := p.clinic.write(wire.KindAmend, rom.Amend{Target: r, Body: painJSON(7), Reason: "x"})
			a, _ := p.phone.write(wire.KindAmend, rom.Amend{Target: r, Body: painJSON(5), Reason: "x"})
			return [][]byte{c, a}
		}, []int{7}, 0, 0},
		"another phone may not": {func(p pen, r rom.Ref) [][]byte {
			a, _ := p.other.write(wire.KindAmend, rom.Amend{Target: r, Body: painJSON(9), Reason: "x"})
			v, _ := p.other.write(wire.KindVoid, rom.Void{Target: r, Reason: "x"})
			return [][]byte{a, v}
		}, []int{3}, 2, 0},
		"void wins over the clinic's later amendment": {func(p pen, r rom.Ref) [][]byte {
			v, _ := p.phone.write(wire.KindVoid, rom.Void{Target: r, Reason: "x"})
			a, _ := p.clinic.write(wire.KindAmend, rom.Amend{Target: r, Body: painJSON(7), Reason: "x"})
			return [][]byte{v, a}
		}, nil, 0, 1},
		"no voiding of a void": {func(p pen, r rom.Ref) [][]byte {
			v, vr := p.phone.write(wire.KindVoid, rom.Void{Target: r, Reason: "x"})
			vv, _ := p.clinic.write(wire.KindVoid, rom.Void{Target: vr, Reason: "x"})
			return [][]byte{v, vv}
		}, nil, 1, 1},
		"a voided amendment gives the first body back": {func(p pen, r rom.Ref) [][]byte {
			a, ar := p.phone.write(wire.KindAmend, rom.Amend{Target: r, Body: painJSON(5), Reason: "x"})
			v, _ := p.phone.write(wire.KindVoid, rom.Void{Target: ar, Reason: "x"})
			return [][]byte{a, v}
		}, []int{3}, 0, 1},
		"an amendment amended": {func(p pen, r rom.Ref) [][]byte {
			a, ar := p.phone.write(wire.KindAmend, rom.Amend{Target: r, Body: painJSON(5), Reason: "x"})
			b, _ := p.clinic.write(wire.KindAmend, rom.Amend{Target: ar, Body: painJSON(8), Reason: "x"})
			return [][]byte{a, b}
		}, []int{8}, 0, 0},
		"a body that the kind does not allow": {func(p pen, r rom.Ref) [][]byte {
			a, _ := p.phone.write(wire.KindAmend, rom.Amend{Target: r, Body: painJSON(11), Reason: "x"})
			return [][]byte{a}
		}, []int{3}, 1, 0},
		"what is not here yet": {func(p pen, r rom.Ref) [][]byte {
			a, _ := p.phone.write(wire.KindVoid, rom.Void{Target: rom.Ref{Author: "phone", N: 77}, Reason: "x"})
			return [][]byte{a}
		}, []int{3}, 0, 0},
	} {
		p := pen{newScribe(t, "phone"), newScribe(t, "other"), newScribe(t, "c-1")}
		first, ref := p.phone.write(wire.KindPain, pain(3))
		h := orders(t, append(c.write(p, ref), first)...)
		if got := scores(h); !slices.Equal(got, c.want) || len(h.Damaged) != c.damaged || len(h.Voided) != c.voidedCount {
			t.Errorf("%s: scores %v, %d damaged, %d voided; want %v, %d, %d", name, got, len(h.Damaged), len(h.Voided), c.want, c.damaged, c.voidedCount)
		}
	}
}

// Two ledgers of the clinic have no order between them: the greater hash wins
// on every replica.
func TestTwoClinicAuthors(t *testing.T) {
	ph := newScribe(t, "phone")
	first, ref := ph.write(wire.KindPain, pain(3))
	a, _ := newScribe(t, "c-1").write(wire.KindAmend, rom.Amend{Target: ref, Body: painJSON(1), Reason: "x"})
	b, _ := newScribe(t, "c-2").write(wire.KindAmend, rom.Amend{Target: ref, Body: painJSON(2), Reason: "x"})
	want := 1
	if wire.HashOf(b) > wire.HashOf(a) {
		want = 2
	}
	if got := scores(orders(t, first, a, b)); !slices.Equal(got, []int{want}) {
		t.Errorf("scores %v, want %d", got, want)
	}
}

// The chain of a plan is corrected by its next revision alone: a void that
// brought an earlier, wider one back would undo a stop.
func TestPlansAreNotVoided(t *testing.T) {
	c := newScribe(t, "c-1")
	plan := rom.Plan{
		Episode: "e", Rev: 1, State: rom.Running, WakeFrom: 480, WakeTo: 1320, By: "s", On: 20000,
		Contact: rom.Contact{Phone: "1"}, Phases: []rom.Phase{{Key: "p", Sling: rom.SlingAlways}},
	}
	one, _ := c.write(wire.KindPlan, plan)
	plan.Rev, plan.Base, plan.State, plan.Why = 2, 1, rom.Stopped, "come in"
	two, ref := c.write(wire.KindPlan, plan)
	v, vr := c.write(wire.KindVoid, rom.Void{Target: ref, Reason: "x"})
	h := orders(t, one, two, v)
	if p, ok := h.Plan("e"); !ok || p.State != rom.Stopped || !slices.Equal(h.Damaged, []rom.Ref{vr}) {
		t.Errorf("plan %+v, damaged %v", p, h.Damaged)
	}
	forged, fr := newScribe(t, "phone").write(wire.KindPlan, plan)
	if h := Fold(forged); len(h.Plans) != 0 || !slices.Equal(h.Damaged, []rom.Ref{fr}) {
		t.Errorf("a plan written by a phone: %+v", h)
	}
}

// One session may have two records: most counted holds wins, then the greater
// hash; taking one back takes back the session.
func TestSessionsMerge(t *testing.T) {
	session := func(holds int) rom.Session {
		s := rom.Session{Episode: "e", ID: "s", Ended: rom.Finished}
		it := rom.SessionItem{Exercise: rom.Pendulum, Dose: rom.Dose{Reps: 9, PerDay: 1}}
		for range holds {
			it.Holds = append(it.Holds, rom.Hold{Tenths: 200, Counted: true})
		}
		s.Items = []rom.SessionItem{it}
		return s
	}
	a, b := newScribe(t, "a"), newScribe(t, "b")
	few, fewRef := a.write(wire.KindSession, session(2))
	many, manyRef := b.write(wire.KindSession, session(5))
	if h := orders(t, few, many); len(h.Sessions) != 1 || h.Sessions[0].Ref != manyRef {
		t.Errorf("sessions %+v, want the one with five holds", h.Sessions)
	}
	alike, alikeRef := a.write(wire.KindSession, session(5))
	want := manyRef
	if wire.HashOf(alike) > wire.HashOf(many) {
		want = alikeRef
	}
	if h := orders(t, few, many, alike); len(h.Sessions) != 1 || h.Sessions[0].Ref != want {
		t.Errorf("sessions %+v, want %v", h.Sessions, want)
	}
	v, _ := a.write(wire.KindVoid, rom.Void{Target: fewRef, Reason: "x"})
	if h := orders(t, few, many, v); len(h.Sessions) != 0 || len(h.Voided) != 2 {
		t.Errorf("after taking one back: %+v", h.Sessions)
	}
}

// Rule 12: a record repeated under a new name counts once, and is known again
// by its salt; another record that took the old number counts as well.
func TestCopies(t *testing.T) {
	old, other, now := newScribe(t, "a"), newScribe(t, "a"), newScribe(t, "b")
	one, oneRef := old.write(wire.KindPain, pain(1))
	other.salt = 100
	taken, _ := other.write(wire.KindPain, pain(9)) // another record under a/1
	again, againRef := now.again(one)
	if h := orders(t, one, again); !slices.Equal(scores(h), []int{1}) || h.Pains[0].Ref != oneRef {
		t.Errorf("scores %v", scores(h))
	}
	h := orders(t, taken, again)
	if got := scores(h); !slices.Equal(got, []int{9, 1}) && !slices.Equal(got, []int{1, 9}) {
		t.Errorf("with the number taken: %v", got)
	}
	// The later self may take back what the earlier one wrote.
	void, _ := now.write(wire.KindVoid, rom.Void{Target: oneRef, Reason: "x"})
	if h := orders(t, one, again, void); len(h.Pains) != 0 {
		t.Errorf("scores after the void: %v", scores(h))
	}
	seen, _ := newScribe(t, "c-1").write(wire.KindSeen, rom.Seen{What: againRef, By: "s"})
	if h := orders(t, one, again, seen); h.Seens[0].Body.What != oneRef {
		t.Errorf("a copy was seen: %v, want %v", h.Seens[0].Body.What, oneRef)
	}
}

func TestUnknownAndDamaged(t *testing.T) {
	s := newScribe(t, "phone")
	kind, kr := s.raw("stumble", 1, json.RawMessage(`{}`))
	version, vr := s.raw(wire.KindPain, 9, json.RawMessage(`{}`))
	broken, br := s.raw(wire.KindPain, 1, json.RawMessage(`{"score":"x"}`))
	h := orders(t, kind, version, broken, []byte("no record"))
	if !slices.Equal(h.Unknown, []rom.Ref{kr, vr}) || !slices.Equal(h.Damaged, []rom.Ref{br}) {
		t.Errorf("unknown %v, damaged %v", h.Unknown, h.Damaged)
	}
}

// Rule 13: any order, any repetition, any split into steps: the same history.
func TestFoldIsOfTheSet(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		pens := []*scribe{newScribe(t, "a"), newScribe(t, "b"), newScribe(t, "c-1"), newScribe(t, "c-2")}
		var lines [][]byte
		refs := []rom.Ref{{Author: "a", N: 99}}
		for range rapid.IntRange(1, 25).Draw(r, "records") {
			s := rapid.SampledFrom(pens).Draw(r, "author")
			target := rapid.SampledFrom(refs).Draw(r, "target")
			var line []byte
			var ref rom.Ref
			switch rapid.IntRange(0, 6).Draw(r, "what") {
			case 0:
				line, ref = s.write(wire.KindVoid, rom.Void{Target: target, Reason: "x"})
			case 1, 2:
				line, ref = s.write(wire.KindAmend, rom.Amend{Target: target, Body: painJSON(rapid.IntRange(0, 12).Draw(r, "score")), Reason: "x"})
			case 3:
				line, ref = s.write(wire.KindSession, rom.Session{Episode: "e", ID: rom.SessionID(rapid.SampledFrom([]string{"x", "y"}).Draw(r, "id")), Ended: rom.Finished})
			case 4:
				if len(lines) > 0 && !s.a.FromClinic() {
					line, ref = s.again(rapid.SampledFrom(lines).Draw(r, "copied"))
					break
				}
				fallthrough
			default:
				line, ref = s.write(wire.KindPain, pain(rapid.IntRange(0, 10).Draw(r, "score")))
			}
			lines, refs = append(lines, line), append(refs, ref)
		}
		want := Fold(lines...)
		mixed := append(slices.Clone(lines), rapid.SliceOf(rapid.SampledFrom(lines)).Draw(r, "twice")...)
		mixed = rapid.Permutation(mixed).Draw(r, "order")
		var f Folder
		for i, l := range mixed {
			f.Add(l)
			if i%5 == 0 {
				f.History() // looking does not change
			}
		}
		if got := f.History(); !reflect.DeepEqual(got, want) {
			r.Fatalf("folds into\n%+v\nwant\n%+v", got, want)
		}
		if f.Len() > len(lines) {
			r.Fatalf("%d records of %d lines", f.Len(), len(lines))
		}
	})
}

// year returns the records of one patient in a year: about thirty a day.
func year(t testing.TB) [][]byte {
	ph, c := newScribe(t, "phone"), newScribe(t, "c-1")
	var lines [][]byte
	add := func(l []byte, _ rom.Ref) { lines = append(lines, l) }
	angle := rom.Deg(80)
	session := rom.Session{Episode: "e", Due: 20000, Slot: 1, Phase: "protect", Ended: rom.Finished}
	for i := range 3 {
		it := rom.SessionItem{Exercise: rom.Exercises[i], Motion: rom.ForwardFlexion, Dose: rom.Dose{Hold: 20, Reps: 5, PerDay: 4}}
		for range 5 {
			it.Holds = append(it.Holds, rom.Hold{Tenths: 200, Counted: true, Angle: &angle})
		}
		session.Items = append(session.Items, it)
	}
	for day := range 365 {
		for i := range 4 {
			session.ID = rom.SessionID(fmt.Sprintf("s-%d-%d", day, i))
			add(ph.write(wire.KindSession, session))
		}
		for range 6 {
			add(ph.write(wire.KindReading, rom.Reading{Episode: "e", Side: rom.Left, Motion: rom.ERSide, Class: rom.Passive, Method: rom.Photo, Angle: 300, SE: 40,
				Trials: []rom.Trial{{Angle: 300, SE: 40, Landmarks: []rom.Point{{X: 1, Y: 2}, {X: 3, Y: 4}, {X: 5, Y: 6}}}}}))
		}
		for range 16 {
			add(ph.write(wire.KindPain, pain(day%11)))
		}
		for range 4 {
			add(c.write(wire.KindTask, rom.Task{Episode: "e", Finding: "f", Act: rom.TaskSeen, By: "s", On: 20000}))
		}
	}
	return lines
}

func BenchmarkFoldYear(b *testing.B) {
	lines := year(b)
	b.ReportMetric(float64(len(lines)), "records")
	for b.Loop() {
		Fold(lines...)
	}
}

// BenchmarkHistoryYear is what one more record costs once the rest is folded.
func BenchmarkHistoryYear(b *testing.B) {
	var f Folder
	for _, l := range year(b) {
		f.Add(l)
	}
	for b.Loop() {
		f.History()
	}
}

package session

import (
	"encoding/json"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"unsling/engine/rom"
	"unsling/engine/verdict"
)

var clinic = rom.Source{Key: "test", Mark: rom.Clinic}

func flexion(hold, reps, rest int) Item {
	return Item{
		Prescription: rom.Prescription{Exercise: rom.TableSlideFlexion, Motion: rom.ForwardFlexion, Dose: rom.Dose{Hold: hold, Reps: reps, Rest: rest, PerDay: 3}, From: clinic},
		Class:        rom.Passive,
		Limit:        rom.Limit{Motion: rom.ForwardFlexion, Class: rom.Passive, Ceiling: rom.Deg(90), From: clinic},
	}
}

func rotation(hold, reps, rest int) Item {
	it := flexion(hold, reps, rest)
	it.Exercise, it.Motion, it.Limit.Motion, it.Limit.Ceiling = rom.StickER, rom.ERSide, rom.ERSide, rom.Deg(30)
	return it
}

func hand(reps int) Item {
	return Item{Class: rom.Active, Prescription: rom.Prescription{Exercise: rom.WristHand, Dose: rom.Dose{Reps: reps, PerDay: 3}, From: clinic}}
}

func config(items ...Item) Config {
	return Config{Episode: "e1", ID: "s1", Due: 1, Slot: 1, Phase: "protect", PainCap: 3, Items: items}
}

func TestNewRefuses(t *testing.T) {
	with := func(f func(*Config)) Config {
		c := config(flexion(20, 3, 10))
		f(&c)
		return c
	}
	for name, tc := range map[string]struct {
		c    Config
		want error
	}{
		"no exercise":        {config(), ErrNothing},
		"no id":              {with(func(c *Config) { c.ID = "" }), ErrItem},
		"cap of 11":          {with(func(c *Config) { c.PainCap = 11 }), ErrItem},
		"negative hold":      {with(func(c *Config) { c.Items[0].Dose.Hold = -20 }), ErrItem},
		"negative countdown": {with(func(c *Config) { c.Timing.Move = -1 }), ErrItem},
		"unknown exercise":   {with(func(c *Config) { c.Items[0].Exercise = "bench-press" }), ErrItem},
		"limit of another":   {with(func(c *Config) { c.Items[0].Limit.Motion = rom.ERSide }), ErrItem},
		"locked motion":      {with(func(c *Config) { c.Items[0].Limit = rom.Limit{} }), ErrLocked},
		"active in passive":  {with(func(c *Config) { c.Items[0].Class = rom.Active }), ErrLocked},
		"two hundred holds":  {config(flexion(20, 100, 0), rotation(20, 100, 0)), ErrTooMuch},
	} {
		if _, _, err := New(tc.c, 0); !errors.Is(err, tc.want) {
			t.Errorf("%s: got %v, want %v", name, err, tc.want)
		}
	}
	if _, _, err := New(config(flexion(20, 3, 10), hand(20)), 0); err != nil {
		t.Errorf("an ordinary session is refused: %v", err)
	}
}

func TestChangeFor(t *testing.T) {
	row := rom.Limit{Motion: rom.ForwardFlexion, Class: rom.Passive, Ceiling: rom.Deg(80), From: clinic}
	p := rom.Plan{State: rom.Running, Closed: []rom.ExerciseID{rom.Pendulum}, Phases: []rom.Phase{{
		Key: "protect", PainCap: 2, Limits: []rom.Limit{row},
		Prescriptions: []rom.Prescription{{Exercise: rom.TableSlideFlexion}, {Exercise: rom.Pendulum}},
	}}}
	c := ChangeFor(p, "protect")
	if c.Stopped || c.PainCap != 2 || len(c.Limits) != 1 {
		t.Errorf("got %+v", c)
	}
	if slices.Contains(c.Closed, rom.TableSlideFlexion) || !slices.Contains(c.Closed, rom.Pendulum) || !slices.Contains(c.Closed, rom.StickER) {
		t.Errorf("closed: %v", c.Closed)
	}
	if c = ChangeFor(p, "gone"); len(c.Closed) != len(rom.Exercises) {
		t.Errorf("a phase that is gone leaves %d exercises open", len(rom.Exercises)-len(c.Closed))
	}
	p.State = rom.Paused
	if !ChangeFor(p, "protect").Stopped {
		t.Error("a paused plan does not stop the session")
	}
}

// What the patient told stops the session with a call; nothing says that the
// clinic did it.
func TestOwnReportStops(t *testing.T) {
	m, _, err := New(config(flexion(20, 3, 10)), 0)
	if err != nil {
		t.Fatal(err)
	}
	out := m.Step(Event{Kind: Changed, To: &Change{Halted: true, Stopped: true}})
	if out.Record == nil || out.Record.Ended != rom.StoppedByMe || out.Call != CallNow || out.View.Notice != NoticeCallNow {
		t.Errorf("got %+v", out)
	}
}

// A limit that was found passed outside of the session ends its stretches here
// as one found in a hold does; the other exercises stay, and at the end it says
// to call.
func TestOverElsewhereEndsTheStretch(t *testing.T) {
	m, _, err := New(config(flexion(20, 3, 10), hand(20)), 0)
	if err != nil {
		t.Fatal(err)
	}
	change := Change{Over: []rom.Motion{rom.ForwardFlexion}, Limits: []rom.Limit{m.item().Limit}, PainCap: 10}
	out := m.Step(Event{Kind: Changed, To: &change})
	d := m.Draft()
	if d.Items[0].Skipped != rom.SkipOver || d.Items[1].Skipped != "" || out.View.Item != 1 || out.View.Notice != NoticeOver || out.Tone != ToneAlert {
		t.Errorf("got %+v, items %+v", out.View, d.Items)
	}
	if out = m.Step(Event{Kind: Changed, To: &change}); !out.Ignored {
		t.Error("it is said twice")
	}
	if out = m.Step(Event{Kind: Stop, Stop: rom.StopTired}); out.Call != CallToday {
		t.Errorf("at the end: %v", out.Call)
	}
}

// A row that is itself invalid, as a damaged plan might bring, closes the
// exercise; it never opens anything and never spoils the draft.
func TestInvalidRowCloses(t *testing.T) {
	m, _, err := New(config(flexion(20, 3, 10)), 0)
	if err != nil {
		t.Fatal(err)
	}
	out := m.Step(Event{Kind: Changed, To: &Change{PainCap: 3, Limits: []rom.Limit{{Motion: rom.ForwardFlexion, Class: rom.Resisted, Ceiling: rom.Deg(-400)}}}})
	if out.View.State != Asking || out.Keep == nil {
		t.Fatalf("got %+v", out.View)
	}
	if err := out.Keep.validate(); err != nil {
		t.Error(err)
	}
}

// A row that lowers the class and raises the ceiling narrows one and widens
// nothing.
func TestNarrowerClassDoesNotRaiseTheCeiling(t *testing.T) {
	it := flexion(20, 3, 10)
	it.Limit.Class = rom.Active
	m, _, err := New(config(it), 0)
	if err != nil {
		t.Fatal(err)
	}
	row := it.Limit
	row.Class, row.Ceiling = rom.Passive, rom.Deg(140)
	out := m.Step(Event{Kind: Changed, To: &Change{PainCap: 3, Limits: []rom.Limit{row}}})
	if got := out.Keep.Config.Items[0].Limit; got.Ceiling != rom.Deg(90) || got.Class != rom.Passive {
		t.Errorf("got %s %s", got.Class, got.Ceiling)
	}
}

// What was handed out to be kept does not change behind the caller's back.
func TestKeptDraftIsACopy(t *testing.T) {
	m, _, _ := New(config(flexion(20, 3, 10)), 0)
	var out Output
	for i, k := range []EventKind{PainBefore, Start, There} {
		m.Step(Event{Kind: k, At: Millis(i)})
	}
	for at := Millis(1000); out.View.State != Resting; at += 1000 {
		out = m.Step(Event{Kind: Tick, At: at})
	}
	kept := out.Keep
	before, _ := kept.Encode()
	m.Step(Event{Kind: Measured, Angle: rom.Deg(99), Tier: verdict.Passed, At: m.now})
	if after, _ := kept.Encode(); string(after) != string(before) {
		t.Errorf("kept %s, became %s", before, after)
	}
}

func TestDoneAtHalfSecondIsASlip(t *testing.T) {
	m, _, _ := New(config(flexion(20, 3, 10)), 0)
	m.Step(Event{Kind: PainBefore})
	m.Step(Event{Kind: Start})
	m.Step(Event{Kind: There})
	if out := m.Step(Event{Kind: Done, At: 500}); !out.Ignored || out.View.State != Holding {
		t.Errorf("got %+v", out.View)
	}
}

// event draws one event; most of them fit some state.
func event(t *rapid.T, at Millis) Event {
	kinds := []EventKind{
		Tick, Tick, Tick, PainBefore, Start, Start, There, There, Done, Done, Longer, Next, Pause, Continue, Continue,
		Skip, ByTap, PainNow, Measured, PainAfter, NoAnswer, Medicine, Helper, Stop, Hidden, Changed, "nonsense",
	}
	e := Event{Kind: rapid.SampledFrom(kinds).Draw(t, "kind"), At: at}
	switch e.Kind {
	case PainBefore, PainNow, PainAfter:
		e.Score = rapid.SampledFrom([]int{0, 1, 2, 3, 3, 4, 8, 11, -1}).Draw(t, "score")
	case ByTap, Medicine, Helper:
		e.Flag = rapid.Bool().Draw(t, "flag")
	case Skip:
		e.Why = rapid.SampledFrom([]rom.SkipReason{rom.SkipAfraid, rom.SkipStopped, "no reason"}).Draw(t, "why")
	case Stop:
		if rapid.IntRange(0, 9).Draw(t, "mean it") > 0 { // or most sessions end here
			e.Kind = Tick
		}
		e.Stop = rapid.SampledFrom([]rom.StopReason{rom.StopPain, rom.StopWrong, "no reason"}).Draw(t, "stop")
	case Measured:
		e.Angle = rom.Degrees(rapid.Int32Range(-700, 1100).Draw(t, "angle"))
		e.Tier = rapid.SampledFrom([]verdict.Tier{verdict.Within, verdict.Near, verdict.Likely, verdict.Passed}).Draw(t, "tier")
	case Changed:
		c := &Change{PainCap: rapid.IntRange(1, 9).Draw(t, "cap")}
		for _, m := range []rom.Motion{rom.ForwardFlexion, rom.ERSide} {
			if rapid.IntRange(0, 9).Draw(t, "lock") > 0 {
				c.Limits = append(c.Limits, rom.Limit{Motion: m, Class: rom.Passive, Ceiling: rom.Deg(rapid.IntRange(-60, 120).Draw(t, "ceiling")), From: clinic})
			}
		}
		e.To = c
	}
	return e
}

// at draws the next instant: mostly a little later, sometimes a jump.
func next(t *rapid.T, now Millis) Millis {
	switch rapid.IntRange(0, 19).Draw(t, "clock") {
	case 0:
		return now - Millis(rapid.Int64Range(1, 1e6).Draw(t, "back"))
	case 1:
		return now + Millis(rapid.Int64Range(1, 1e6).Draw(t, "jump"))
	case 2:
		return Millis(rapid.SampledFrom([]int64{math.MinInt64, math.MaxInt64, 0}).Draw(t, "absurd"))
	}
	return now + Millis(rapid.Int64Range(0, int64(MaxGap)).Draw(t, "gap"))
}

// holds returns all holds in order, and how long they and the counted ones took.
func holds(d Draft) (n, counted int, length Millis) {
	for _, x := range d.Items {
		for _, h := range x.Holds {
			n++
			length += Millis(h.Tenths) * 100
			if h.Counted {
				counted++
			}
		}
	}
	return n, counted, length
}

// TestNothingIsLost drives sessions with arbitrary events, clocks, kills and
// resumes: no finished hold is lost, none counts twice, no time is claimed
// that nobody watched, and there is one valid record at most.
func TestNothingIsLost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := config(flexion(4, 2, 3), hand(2), rotation(2, 2, 0), flexion(3, 1, 0))
		now := Millis(0)
		m, _, err := New(c, now)
		if err != nil {
			t.Fatal(err)
		}
		kept := m.Draft()
		var watched Millis
		ended := false
		for range rapid.IntRange(1, 150).Draw(t, "events") {
			if !ended && rapid.IntRange(0, 24).Draw(t, "kill") == 0 {
				b, err := kept.Encode()
				if err != nil {
					t.Fatal(err)
				}
				d, err := DecodeDraft(b)
				if err != nil {
					t.Fatalf("a kept draft does not decode: %v\n%s", err, b)
				}
				now = 0
				var out Output
				if m, out, err = Resume(d, now, rapid.IntRange(-10, 100000).Draw(t, "away")); err != nil {
					t.Fatal(err)
				}
				kept = *out.Keep
			}
			before, state := m.Draft(), m.View().State
			at := next(t, now)
			if state == Holding && at >= now && at-now >= 0 && at-now <= MaxGap {
				watched += at - now
			}
			now = at
			e := event(t, at)
			out := m.Step(e)
			after := m.Draft()
			if ended {
				if !out.Ignored || out.Record != nil || out.Keep != nil {
					t.Fatal("something happened after the end")
				}
				continue
			}
			check(t, e, before, after, out)
			if out.Keep != nil {
				kept = *out.Keep
			}
			if out.Record != nil {
				ended = true
				checkRecord(t, after, *out.Record)
				continue
			}
			if _, _, length := holds(after); length > watched {
				t.Fatalf("holds of %d ms, but only %d were watched", length, watched)
			}
			checkButtons(t, m)
		}
	})
}

// check compares one step's drafts.
func check(t *rapid.T, e Event, before, after Draft, out Output) {
	n0, c0, _ := holds(before)
	n1, c1, _ := holds(after)
	for i, x := range before.Items {
		y := after.Items[i]
		if len(y.Holds) < len(x.Holds) {
			t.Fatalf("%s lost a hold", e.Kind)
		}
		for j, h := range x.Holds {
			g := y.Holds[j]
			if g.Tenths != h.Tenths || g.Tapped != h.Tapped || (g.Counted != h.Counted && out.Tier != verdict.Passed && out.Tier != verdict.Likely) {
				t.Fatalf("%s changed a hold from %+v to %+v", e.Kind, h, g)
			}
		}
		if y.Tries > y.Dose.Reps || len(y.Holds) > 100 {
			t.Fatalf("%d tries and %d holds of %d", y.Tries, len(y.Holds), y.Dose.Reps)
		}
		counted := 0
		for _, h := range y.Holds {
			if h.Tenths < 0 {
				t.Fatal("negative hold")
			}
			if h.Counted && y.Dose.Hold > 0 && h.Tenths < CountsFrom(y.Dose.Hold) {
				t.Fatalf("a hold of %d tenths counts for %d seconds", h.Tenths, y.Dose.Hold)
			}
			if h.Counted {
				counted++
			}
		}
		if counted > y.Tries {
			t.Fatalf("%d counted holds in %d tries", counted, y.Tries)
		}
		if a, b := before.Config.Items[i].Limit, after.Config.Items[i].Limit; a.NarrowerThan(b) {
			t.Fatalf("%s widened a limit from %+v to %+v", e.Kind, a, b)
		}
	}
	if n1 > n0+1 || c1 > c0+1 {
		t.Fatalf("%s made %d holds, %d counted", e.Kind, n1-n0, c1-c0)
	}
	if n1 > n0 && out.Keep == nil && out.Record == nil {
		t.Fatalf("%s made a hold that nobody keeps", e.Kind)
	}
	if e.Kind == Stop && out.Record == nil {
		t.Fatal("stop did not stop")
	}
	if v := out.View; v.Left < 0 || v.Elapsed < 0 || v.Left > v.Total || v.Rep < 1 || v.Rep > v.Reps {
		t.Fatalf("view %+v", v)
	}
}

func checkRecord(t *rapid.T, d Draft, s rom.Session) {
	if err := s.Validate(); err != nil {
		t.Fatal(err)
	}
	if _, counted, _ := holds(d); s.Counted() != counted {
		t.Fatalf("%d counted holds, the record has %d", counted, s.Counted())
	}
	b, err := json.Marshal(s)
	if err != nil || len(b) > 7900 {
		t.Fatalf("record of %d bytes, %v", len(b), err)
	}
}

// checkButtons presses each button that is offered, on a copy.
func checkButtons(t *rapid.T, m *Machine) {
	v := m.View()
	if len(v.Buttons) == 0 {
		t.Fatalf("no way on from %s", v.State)
	}
	for _, k := range v.Buttons {
		if (k == Done) && v.Elapsed < leastHold {
			continue
		}
		c := *m
		c.d = m.d.clone()
		e := Event{Kind: k, At: m.now, Why: rom.SkipTired, Stop: rom.StopTired}
		if out := c.Step(e); out.Ignored {
			t.Fatalf("%s is offered in state %s and does nothing", k, v.State)
		}
	}
}

// The fullest session that New accepts fits one record.
func TestFullestRecordFits(t *testing.T) {
	c := config()
	for range 12 {
		it := flexion(600, 10, 0)
		c.Items = append(c.Items, it)
	}
	c.Episode, c.ID = rom.EpisodeID(strings.Repeat("e", 26)), rom.SessionID(strings.Repeat("s", 26))
	for c.room() > recordRoom {
		c.Items = c.Items[1:]
	}
	m, _, err := New(c, 0)
	if err != nil {
		t.Fatal(err)
	}
	now := Millis(0)
	m.Step(Event{Kind: PainBefore, Score: 1, At: now})
	m.Step(Event{Kind: ByTap, Flag: true, At: now})
	breaks := 0
	for m.View().State != Asking {
		v := m.View()
		k := map[State]EventKind{Ready: Start, GetReady: There, Moving: There, Resting: Next, Paused: Continue, Holding: Tick}[v.State]
		now += 2999
		switch {
		case v.State == Holding && v.Elapsed > 1000 && v.Elapsed < 6000 && breaks < 200:
			k = Pause // more broken holds than there is room for
			breaks++
		case v.State == Holding && v.Elapsed > 600_000:
			k = Done
			m.Step(Event{Kind: Measured, Angle: 899, At: now})
		}
		m.Step(Event{Kind: k, At: now})
	}
	out := m.Step(Event{Kind: PainAfter, Score: 1, At: now})
	b, err := json.Marshal(out.Record)
	if err != nil || out.Record == nil {
		t.Fatal(err)
	}
	if got, want := out.Record.Counted(), out.Record.Asked(); got != want {
		t.Errorf("%d of %d holds counted", got, want)
	}
	if len(b) > 7900 {
		t.Errorf("%d bytes of body", len(b))
	}
}

func FuzzDecodeDraft(f *testing.F) {
	m, out, _ := New(config(flexion(20, 3, 10), hand(3)), 0)
	for _, k := range []EventKind{PainBefore, Start, There, Pause} {
		out = m.Step(Event{Kind: k, At: 0})
		b, _ := out.Keep.Encode()
		f.Add(b)
	}
	f.Add([]byte(`{"v":1}`))
	f.Add([]byte(`{"v":1,"config":{"items":[{"limit":{"class":"nothing"}}]}}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		d, err := DecodeDraft(b)
		if err != nil {
			if !errors.Is(err, ErrDraft) {
				t.Fatalf("untyped error %v", err)
			}
			return
		}
		again, err := d.Encode()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := DecodeDraft(again); err != nil {
			t.Fatalf("what decodes does not decode again: %v", err)
		}
		if _, err := Abandon(d); err != nil {
			t.Fatal(err)
		}
		m, _, err := Resume(d, 0, 0)
		if err != nil {
			t.Fatal(err)
		}
		for i, k := range []EventKind{PainBefore, Continue, Start, There, Tick, Done, Measured, PainNow, Stop} {
			m.Step(Event{Kind: k, At: Millis(i) * 1500})
		}
		if m.View().State != Stopped {
			t.Fatal("stop did not stop")
		}
	})
}

// A measurement that comes when another exercise has begun ends the stretches of its own motion, not the hold at hand.
func TestMeasuredBelongsToItsHold(t *testing.T) {
	for _, late := range []bool{false, true} {
		m, _, err := New(config(flexion(20, 1, 0), rotation(20, 2, 10)), 0)
		if err != nil {
			t.Fatal(err)
		}
		at := Millis(0)
		step := func(e Event) Output { e.At = at; return m.Step(e) }
		pass := func(seconds int) {
			for range seconds {
				at += 1000
				step(Event{Kind: Tick})
			}
		}
		step(Event{Kind: PainBefore, Score: 1})
		step(Event{Kind: Start})
		step(Event{Kind: There})
		hold := m.View().Hold
		pass(21)
		step(Event{Kind: Start})
		step(Event{Kind: There})
		pass(5)
		if v := m.View(); v.State != Holding || v.Motion != rom.ERSide || hold != 1 || v.Hold != 2 {
			t.Fatalf("%+v", v)
		}
		if late {
			hold = NoHold
		}
		step(Event{Kind: Measured, Angle: rom.Deg(100), Tier: verdict.Passed, Hold: hold, Motion: rom.ForwardFlexion})
		d := m.Draft()
		if h := d.Items[0].Holds[0]; h.Counted != late || (h.Angle == nil) != late || !d.Ring {
			t.Errorf("late %v: the hold of before is %+v, to ring %v", late, h, d.Ring)
		}
		if v := m.View(); v.State != Holding || v.Motion != rom.ERSide || d.Items[1].Skipped != "" {
			t.Errorf("late %v: the other exercise is at %s", late, v.State)
		}
	}
}

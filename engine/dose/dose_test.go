package dose

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"unsling/engine/rom"
)

// The clinic and its patient are invented.

const ep rom.EpisodeID = "e-example"

var (
	surgery = rom.MakeDate(2026, 3, 2)
	own     = rom.Source{Key: "OWN", Mark: rom.Clinic}
)

// history has one phase that stretches external rotation three times a day,
// five holds of 20 seconds (common practice, no source), up to 40 degrees.
func history(stretching bool) rom.History {
	plan := rom.Plan{Episode: ep, Rev: 1, By: "dr-example", On: surgery, State: rom.Running, Reason: "x", WakeFrom: 480, WakeTo: 1260, LeastGap: 60,
		TherapyDayLess: 1, Contact: rom.Contact{Phone: "0"}, Phases: []rom.Phase{{
			Key: "stretch", Sling: rom.SlingOff, PainCap: 5, Stretching: stretching, Basis: own,
			Limits: []rom.Limit{{Motion: rom.ERSide, Class: rom.Active, Ceiling: rom.Deg(40), From: own}, {Motion: rom.ElbowFlexion, Class: rom.Active, Open: true, From: own},
				{Motion: rom.ElbowExtension, Class: rom.Active, Open: true, From: own}},
			Prescriptions: []rom.Prescription{{Exercise: rom.DoorwayER, Motion: rom.ERSide, Dose: rom.Dose{Hold: 20, Reps: 5, Rest: 10, PerDay: 3}, From: own}},
		}}}
	e := rom.Episode{ID: ep, Version: 1, State: rom.Ongoing, Side: rom.Left, Procedures: []rom.Procedure{rom.CapsularRelease}, Surgery: surgery,
		ConfirmedBy: "dr-example", SideBy: "pt-example", ConfirmedOn: surgery, By: "dr-example"}
	return rom.History{
		Episodes: []rom.Entry[rom.Episode]{{Meta: rom.Meta{At: surgery.Time()}, Body: e}},
		Plans:    []rom.Entry[rom.Plan]{{Meta: rom.Meta{At: surgery.Time()}, Body: plan}},
	}
}

func deg(n int) *rom.Degrees { d := rom.Deg(n); return &d }

func holds(n int, angle *rom.Degrees) []rom.Hold {
	out := make([]rom.Hold, n)
	for i := range out {
		out[i] = rom.Hold{Tenths: 200, Counted: true, Angle: angle}
	}
	return out
}

func add(h *rom.History, day, slot int, items ...rom.SessionItem) {
	s := rom.Session{Episode: ep, ID: "s", Due: surgery.Add(day), Slot: slot, Ended: rom.Finished, Items: items}
	h.Sessions = append(h.Sessions, rom.Entry[rom.Session]{Meta: rom.Meta{At: surgery.Add(day).Time().Add(time.Duration(10+slot) * time.Hour)}, Body: s})
}

func er(h []rom.Hold) rom.SessionItem {
	return rom.SessionItem{Exercise: rom.DoorwayER, Motion: rom.ERSide, Dose: rom.Dose{Hold: 20, Reps: 5}, Holds: h}
}

func TestEndRangeTime(t *testing.T) {
	elbow := rom.SessionItem{Exercise: rom.ElbowBend, Motion: rom.ElbowFlexion, Dose: rom.Dose{Reps: 5}, Holds: holds(5, nil)}
	tests := []struct {
		name       string
		stretching bool
		items      []rom.SessionItem
		want       Time
	}{
		// TERT = hold seconds x repetitions x sessions (FLOWERS1994 uses the product): 5 x 20 s.
		{"five holds of 20 s", true, []rom.SessionItem{er(holds(5, deg(30)))}, Time{Motion: rom.ERSide, Seconds: 100, Holds: 5}},
		{"at the limit", true, []rom.SessionItem{er(holds(5, deg(40)))}, Time{Motion: rom.ERSide, Seconds: 100, Holds: 5}},
		{"a stiff joint far below the limit", true, []rom.SessionItem{er(holds(5, deg(5)))}, Time{Motion: rom.ERSide, Seconds: 100, Holds: 5}},
		{"angle unknown", true, []rom.SessionItem{er(holds(5, nil))}, Time{Motion: rom.ERSide, Seconds: 100, Holds: 5, Unknown: 5}},
		{"past the limit", true, []rom.SessionItem{er(append(holds(3, deg(41)), holds(2, deg(40))...))}, Time{Motion: rom.ERSide, Seconds: 100, Holds: 2, Over: 3}},
		{"17 seconds of 20", true, []rom.SessionItem{er([]rom.Hold{{Tenths: 170}, {Tenths: 205, Counted: true}})}, Time{Motion: rom.ERSide, Seconds: 38, Holds: 1, Unknown: 1}},
		{"broken past the limit", true, []rom.SessionItem{er([]rom.Hold{{Tenths: 60, Angle: deg(41)}})}, Time{Motion: rom.ERSide, Seconds: 6, Over: 1}},
		{"negative hold", true, []rom.SessionItem{er([]rom.Hold{{Tenths: -200, Counted: true}})}, Time{}},
		{"no stretching in this phase", false, []rom.SessionItem{er(holds(5, deg(30)))}, Time{}},
		{"no end range", true, []rom.SessionItem{elbow}, Time{}},
		{"locked motion", true, []rom.SessionItem{{Exercise: rom.SideLyingIR, Motion: rom.IR90, Holds: holds(2, nil)}}, Time{Motion: rom.IR90, Over: 2}},
		{"unknown exercise", true, []rom.SessionItem{{Exercise: "x", Motion: rom.ERSide, Holds: holds(2, nil)}}, Time{}},
	}
	for _, tt := range tests {
		h := history(tt.stretching)
		add(&h, 3, 1, tt.items...)
		d := Days(h, ep, surgery.Add(3), surgery.Add(3), Told{Through: surgery.Add(9)})[0]
		var got Time
		if len(d.EndRange) > 0 {
			got = d.EndRange[0]
		}
		if got != tt.want || len(d.EndRange) > 1 || d.Seconds(rom.ERSide) != map[bool]int{true: tt.want.Seconds}[tt.want.Motion == rom.ERSide] {
			t.Errorf("%s: %+v, want %+v", tt.name, d.EndRange, tt.want)
		}
	}
}

func TestAdherence(t *testing.T) {
	full := func(h *rom.History, day int, slots ...int) {
		for _, s := range slots {
			add(h, day, s, er(holds(5, nil)))
		}
	}
	h := history(true)
	full(&h, 1, 1, 2, 3)
	full(&h, 2, 1)
	add(&h, 3, 1, er(holds(2, nil)))
	full(&h, 4, 1, 2, 3)
	full(&h, 4, 0) // one more than asked
	h.Therapies = []rom.Entry[rom.Therapy]{{Body: rom.Therapy{Episode: ep, On: surgery.Add(5), Outcome: "attended", By: "pt-example"}}}
	full(&h, 5, 1, 2)
	h.Plans[0].Body.Breaks = []rom.Break{{From: surgery.Add(6), To: surgery.Add(6), Kind: rom.NoSessions}}

	days := Days(h, ep, surgery.Add(1), surgery.Add(10), Told{Through: surgery.Add(8)})
	tests := []struct {
		day                                      int
		known, partial, asked                    bool
		due, done, partly, missed, extra, credit int
	}{
		{1, true, false, true, 3, 3, 0, 0, 0, 15},
		{2, true, false, true, 3, 1, 0, 2, 0, 5},
		{3, true, false, true, 3, 0, 1, 2, 0, 2},
		{4, true, false, true, 3, 3, 0, 0, 1, 15},
		{5, true, false, true, 2, 2, 0, 0, 0, 10}, // therapy took one off
		{6, true, false, false, 0, 0, 0, 0, 0, 0}, // rest
		{7, true, false, true, 3, 0, 0, 3, 0, 0},
		{8, true, true, true, 0, 0, 0, 0, 0, 0},   // the phone told of it before it was over
		{9, false, false, true, 3, 0, 0, 3, 0, 0}, // unknown, not zero
	}
	for _, tt := range tests {
		d := days[tt.day-1]
		if d.Known != tt.known || d.Partial != tt.partial || d.Asked != tt.asked || d.Due != tt.due || d.Done != tt.done || d.Partly != tt.partly ||
			d.Missed != tt.missed || d.Extra != tt.extra || d.Credited != tt.credit || d.CountedDue != 5*tt.due {
			t.Errorf("day %d: %+v, want %+v", tt.day, d, tt)
		}
	}
	if d := days[3]; d.Counted != 20 {
		t.Errorf("day 4: %d repetitions in all, want 20", d.Counted)
	}
	a := Adhere(days)
	// Known in full and asked: days 1-5 and 7, 17 sessions of which 9 whole; 47 of 85 repetitions.
	if want := (Adherence{Days: 6, Unknown: 2, Due: 17, Done: 9, Percent: 55, OK: true}); a != want {
		t.Errorf("%+v, want %+v", a, want)
	}
	if a := Adhere(days[7:]); a.OK || a.Unknown != 2 {
		t.Errorf("nothing is known in full, yet %+v", a)
	}
	if a := Adhere(nil); a.OK {
		t.Errorf("no days: %+v", a)
	}
	// The phone came on day 4: what was asked before is unknown, as well.
	late := Days(h, ep, surgery.Add(1), surgery.Add(10), Told{From: surgery.Add(4), Through: surgery.Add(8)})
	if want := (Adherence{Days: 3, Unknown: 5, Due: 8, Done: 5, Percent: 63, OK: true}); Adhere(late) != want {
		t.Errorf("from day 4 on: %+v, want %+v", Adhere(late), want)
	}
	if Days(h, ep, surgery.Add(5), surgery.Add(4), Told{Through: surgery}) != nil && len(Days(h, ep, surgery.Add(5), surgery.Add(4), Told{Through: surgery})) != 0 {
		t.Error("an empty range has days")
	}
	if len(Days(rom.History{}, ep, surgery, surgery.Add(3), Told{Through: surgery})) != 4 {
		t.Error("an unknown episode must still give its days, all unasked")
	}
}

func TestExtraNeverRaisesAdherence(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		h := history(true)
		for day := 1; day <= 5; day++ {
			for slot := 1; slot <= 3; slot++ {
				if n := rapid.IntRange(0, 5).Draw(r, "holds"); n > 0 {
					add(&h, day, slot, er(holds(n, nil)))
				}
			}
		}
		before := Adhere(Days(h, ep, surgery.Add(1), surgery.Add(5), Told{Through: surgery.Add(9)}))
		add(&h, rapid.IntRange(1, 5).Draw(r, "day"), 0, er(holds(rapid.IntRange(1, 5).Draw(r, "more"), nil)))
		after := Adhere(Days(h, ep, surgery.Add(1), surgery.Add(5), Told{Through: surgery.Add(9)}))
		if before != after || before.Percent > 100 {
			r.Fatalf("%+v became %+v", before, after)
		}
	})
}

// year is a year of one diligent patient: 1,095 sessions.
func year() rom.History {
	h := history(true)
	for day := 1; day <= 365; day++ {
		for slot := 1; slot <= 3; slot++ {
			add(&h, day, slot, er(holds(5, deg(30))))
		}
		for i := range 3 {
			h.Readings = append(h.Readings, rom.Entry[rom.Reading]{Meta: rom.Meta{At: surgery.Add(day).Time()},
				Body: rom.Reading{Episode: ep, Side: rom.Left, Motion: rom.Motions[i], Angle: rom.Deg(30)}})
		}
	}
	return h
}

func BenchmarkYear(b *testing.B) {
	h := year()
	for b.Loop() {
		if a := Adhere(Days(h, ep, surgery.Add(1), surgery.Add(365), Told{Through: surgery.Add(400)})); a.Percent != 100 {
			b.Fatal(a)
		}
	}
}

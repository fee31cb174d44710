package schedule

import (
	"testing"
	"time"
	_ "time/tzdata"

	"unsling/engine/rom"
)

func TestBoundaryDays(t *testing.T) {
	// Surgery is day 0 and week n is complete on day 7n; ceilings of THIGPEN2016 (memory).
	h := history(t, rom.CuffRepair)
	clear(&h, "passive", 10)
	clear(&h, "assisted", 42)
	tests := []struct {
		day     int
		phase   string
		week    int
		class   rom.Class
		ceiling rom.Degrees
		sling   rom.Sling
	}{
		{0, "protect", 0, rom.Locked, 0, rom.SlingAlways},
		{6, "protect", 0, rom.Locked, 0, rom.SlingAlways},
		{7, "protect", 1, rom.Locked, 0, rom.SlingAlways},
		{13, "protect", 1, rom.Locked, 0, rom.SlingAlways},
		{14, "passive", 2, rom.Passive, rom.Deg(90), rom.SlingAlways},
		{41, "passive", 5, rom.Passive, rom.Deg(90), rom.SlingAlways},
		{42, "assisted", 6, rom.ActiveAssisted, rom.Deg(120), rom.SlingOutdoor},
		{200, "assisted", 28, rom.ActiveAssisted, rom.Deg(120), rom.SlingOutdoor},
	}
	for _, tt := range tests {
		d := at(h, tt.day)
		l := d.Motion(rom.ForwardFlexion).Limit
		if d.State != Running || d.Phase.Key != tt.phase || d.Week != tt.week || d.Number != tt.day || l.Class != tt.class || l.Ceiling != tt.ceiling || d.Sling != tt.sling {
			t.Errorf("day %d: %s %s, week %d, flexion %s to %s, sling %s; want %s, week %d, %s to %s, sling %s",
				tt.day, d.State, d.Phase.Key, d.Week, l.Class, l.Ceiling, d.Sling, tt.phase, tt.week, tt.class, tt.ceiling, tt.sling)
		}
	}
	if d := at(h, 30); d.Since != surgery.Add(14) {
		t.Errorf("passive since %s, want day 14 though it was cleared on day 10", d.Since)
	}
}

func TestNothingOpensWithoutClearance(t *testing.T) {
	h := history(t, rom.CuffRepair)
	for day := 0; day < 700; day++ {
		d := at(h, day)
		if d.Phase.Key != "protect" {
			t.Fatalf("day %d: %s began without clearance", day, d.Phase.Key)
		}
	}
	want := map[int]Waits{13: ForBoth, 14: ForClearance, 400: ForClearance}
	for day, w := range want {
		if d := at(h, day); d.Next == nil || d.Next.Phase.Key != "passive" || d.Next.Waits != w || d.Next.Earliest != surgery.Add(14) {
			t.Errorf("day %d waits for %+v, want %s", day, d.Next, w)
		}
	}
	clear(&h, "passive", 5)
	if d := at(h, 13); d.Next.Waits != ForDate || d.Phase.Key != "protect" {
		t.Errorf("cleared early: %s, waits for %s; want protect until its day", d.Phase.Key, d.Next.Waits)
	}
	// A later phase cleared by mistake does not jump over the one between.
	clear(&h, "active", 56)
	if d := at(h, 70); d.Phase.Key != "passive" {
		t.Errorf("day 70: %s, want passive: assisted was never cleared", d.Phase.Key)
	}
}

func TestDateAloneOpensInsideAClass(t *testing.T) {
	h := history(t, rom.CuffRepair)
	for phase, day := range map[string]int{"passive": 14, "assisted": 42, "active": 56} {
		clear(&h, phase, day)
	}
	if d := at(h, 62); d.Phase.Key != "active" || d.Motion(rom.ForwardFlexion).Limit.Ceiling != rom.Deg(120) {
		t.Errorf("day 62: %s", d.Phase.Key)
	}
	// THIGPEN2016 by week 9 (memory): passive to 155, active to 120.
	d := at(h, 63)
	if d.Phase.Key != "reach" || d.Motion(rom.ForwardFlexion).Limit.Ceiling != rom.Deg(155) {
		t.Errorf("day 63: %s", d.Phase.Key)
	}
	row, aim, ok := d.LimitFor(rom.Prescription{Exercise: rom.ActiveElevation, Motion: rom.ForwardFlexion})
	if !ok || row.Ceiling != rom.Deg(120) || aim != rom.Deg(113) {
		t.Errorf("active elevation to %s, aim %s; want 120 and 113", row.Ceiling, aim)
	}
	if row, aim, _ = d.LimitFor(rom.Prescription{Exercise: rom.SupineElevation, Motion: rom.ForwardFlexion}); row.Ceiling != rom.Deg(155) || aim != rom.Deg(148) {
		t.Errorf("passive elevation to %s, aim %s; want 155 and 148", row.Ceiling, aim)
	}
	if d := at(h, 300); d.Phase.Key != "reach" {
		t.Errorf("day 300: %s, want reach until strength is cleared", d.Phase.Key)
	}
}

func TestWithdrawnClearance(t *testing.T) {
	h := history(t, rom.CuffRepair)
	clear(&h, "passive", 14)
	clear(&h, "assisted", 42)
	clear(&h, "passive", 50)
	h.Clearances[2].Body.Withdrawn, h.Clearances[2].Body.Reason = true, "wound"
	if d := at(h, 49); d.Phase.Key != "assisted" {
		t.Errorf("day 49: %s", d.Phase.Key)
	}
	if d := at(h, 50); d.Phase.Key != "protect" || d.Motion(rom.ForwardFlexion).Why != WhyNotYet {
		t.Errorf("day 50: %s; a withdrawn clearance closes what came after it", d.Phase.Key)
	}
}

func TestWhatARunningSessionObeys(t *testing.T) {
	h := history(t, rom.CuffRepair)
	clear(&h, "passive", 14)
	clear(&h, "assisted", 42)
	has := func(list []rom.ExerciseID, e rom.ExerciseID) bool {
		for _, x := range list {
			if x == e {
				return true
			}
		}
		return false
	}
	if d := at(h, 45); has(d.Closed(), rom.WallClimbFlexion) || !has(d.Closed(), rom.TowelBehindBack) || len(d.Limits()) != 7 {
		t.Errorf("day 45: %v closed, %d rows", d.Closed(), len(d.Limits()))
	}
	clear(&h, "assisted", 45)
	h.Clearances[2].Body.Withdrawn, h.Clearances[2].Body.Reason = true, "pain"
	if d := at(h, 45); !has(d.Closed(), rom.WallClimbFlexion) || d.Limits()[0].Class != rom.Passive {
		t.Errorf("clearance withdrawn on day 45: %v closed, flexion %s", d.Closed(), d.Limits()[0].Class)
	}
}

func TestLeapDays(t *testing.T) {
	tests := []struct{ surgery, day14, day42 string }{
		{"2024-02-16", "2024-03-01", "2024-03-29"}, // 29 February between
		{"2023-02-16", "2023-03-02", "2023-03-30"},
		{"2028-02-29", "2028-03-14", "2028-04-11"},
		{"2023-12-25", "2024-01-08", "2024-02-05"},
		{"2100-02-20", "2100-03-06", "2100-04-03"}, // no leap year
	}
	for _, tt := range tests {
		h := history(t, rom.CuffRepair)
		day, err := rom.ParseDate(tt.surgery)
		if err != nil {
			t.Fatal(err)
		}
		h.Episodes[0].Body.Surgery = day
		for phase, n := range map[string]int{"passive": 14, "assisted": 42} {
			h.Clearances = append(h.Clearances, rom.Entry[rom.Clearance]{Body: rom.Clearance{Episode: ep, Phase: phase, On: day.Add(n - 2), By: "dr-example"}})
		}
		for n, want := range map[int]string{14: tt.day14, 42: tt.day42} {
			on, _ := rom.ParseDate(want)
			before := On(h, ep, on.Add(-1), 600, With{})
			d := On(h, ep, on, 600, With{})
			if d.Number != n || before.Number != n-1 || d.Since != on || before.Phase.Key == d.Phase.Key {
				t.Errorf("surgery %s: %s is day %d in %s, the day before in %s; want a new phase on day %d", tt.surgery, want, d.Number, d.Phase.Key, before.Phase.Key, n)
			}
		}
	}
}

func TestClockChanges(t *testing.T) {
	// Days of 23 and 25 hours count as one day each, in whatever zone.
	for _, name := range []string{"Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Pacific/Apia", "America/Sao_Paulo"} {
		zone, err := time.LoadLocation(name)
		if err != nil {
			t.Fatal(err)
		}
		op := time.Date(2026, 3, 1, 8, 0, 0, 0, zone)
		for n := range 400 {
			for _, hour := range []int{0, 3, 23} {
				now := time.Date(2026, 3, 1+n, hour, 30, 0, 0, zone)
				if now.Day() != op.AddDate(0, 0, n).Day() {
					continue // an hour that this day does not have
				}
				if got := rom.DateOf(now).Sub(rom.DateOf(op)); got != n {
					t.Fatalf("%s: %s is day %d, want %d", name, now, got, n)
				}
			}
		}
	}
}

func TestStates(t *testing.T) {
	fresh := func() rom.History { return history(t, rom.CuffRepair) }
	tests := []struct {
		name   string
		change func(*rom.History)
		day    int
		state  State
		why    Reason
		hand   bool // hand exercise open
		sling  rom.Sling
	}{
		{"running", func(*rom.History) {}, 3, Running, WhyNotYet, true, rom.SlingAlways},
		{"planned", func(h *rom.History) { h.Episodes[0].Body.State = rom.Planned }, -3, BeforeOp, WhyNotConfirmed, true, ""},
		{"confirmed, and the clock is set before it", func(*rom.History) {}, -3, CannotSay, WhyNoPlan, false, rom.SlingAlways},
		{"no date yet", func(h *rom.History) { h.Episodes[0].Body.State, h.Episodes[0].Body.Surgery = rom.Planned, 0 }, 3, BeforeOp, WhyNotConfirmed, true, ""},
		{"the day came, nobody confirmed", func(h *rom.History) { h.Episodes[0].Body.State = rom.Planned }, 30, NotConfirmed, WhyNotConfirmed, true, rom.SlingAlways},
		{"postponed", func(h *rom.History) { h.Episodes[0].Body.State, h.Episodes[0].Body.Postponed = rom.Planned, true }, 30, Postponed, WhyPostponed, false, ""},
		{"no plan", func(h *rom.History) { h.Plans = nil }, 30, NoPlan, WhyNoPlan, true, rom.SlingAlways},
		{"paused", func(h *rom.History) { p := &h.Plans[0].Body; p.State, p.Why = rom.Paused, "flu" }, 30, Paused, "", false, rom.SlingAlways},
		{"stopped", func(h *rom.History) { p := &h.Plans[0].Body; p.State, p.Why = rom.Stopped, "wound" }, 30, Stopped, WhyStopped, false, rom.SlingAlways},
		{"discharged", func(h *rom.History) { h.Episodes[0].Body.State = rom.Discharged }, 300, Ended, WhyEnded, false, ""},
		{"withdrawn", func(h *rom.History) { h.Episodes[0].Body.State = rom.Withdrawn }, 30, Ended, WhyEnded, false, ""},
		{"no episode", func(h *rom.History) { *h = rom.History{} }, 30, CannotSay, WhyNoPlan, false, rom.SlingAlways},
		{"plan that breaks its rules", func(h *rom.History) { h.Plans[0].Body.Phases[1].Gate.Clearance = false }, 30, CannotSay, WhyNoPlan, false, rom.SlingAlways},
		{"surgery centuries off", func(h *rom.History) { h.Episodes[0].Body.Surgery = -200000 }, 30, CannotSay, WhyNoPlan, false, rom.SlingAlways},
	}
	for _, tt := range tests {
		h := fresh()
		tt.change(&h)
		d := at(h, tt.day)
		if d.State != tt.state || d.Sling != tt.sling {
			t.Errorf("%s: %s (%s), sling %q; want %s, %q", tt.name, d.State, d.Problem, d.Sling, tt.state, tt.sling)
		}
		if (d.State == CannotSay) != (d.Problem != "") {
			t.Errorf("%s: problem %q in state %s", tt.name, d.Problem, d.State)
		}
		if m := d.Motion(rom.ForwardFlexion); tt.state != Paused && (!m.Locked || m.Why != tt.why || m.Limit.Class != rom.Locked) {
			t.Errorf("%s: flexion %+v, want locked as %s", tt.name, m, tt.why)
		}
		if got := !d.Exercise(rom.WristHand).Locked; got != tt.hand {
			t.Errorf("%s: hand exercise open %v, want %v", tt.name, got, tt.hand)
		}
		if tt.state != Running && (len(d.Due) > 0 || len(d.Measures) > 0) {
			t.Errorf("%s: asks for %d sessions and %d measurements", tt.name, len(d.Due), len(d.Measures))
		}
		if len(d.Motions) != len(rom.Motions) || len(d.Exercises) != len(rom.Exercises) {
			t.Errorf("%s: %d motions, %d exercises", tt.name, len(d.Motions), len(d.Exercises))
		}
		for _, e := range d.Exercises {
			if e.Locked != (e.Why != NotLocked) {
				t.Errorf("%s: %s locked %v as %q", tt.name, e.Exercise.ID, e.Locked, e.Why)
			}
		}
	}
}

func TestReasons(t *testing.T) {
	h := history(t, rom.CuffRepair)
	clear(&h, "passive", 14)
	h.Plans[0].Body.Closed = []rom.ExerciseID{rom.Pendulum}
	tests := []struct {
		procedure rom.Procedure
		exercise  rom.ExerciseID
		why       Reason
		until     int
		phase     string
	}{
		{rom.CuffRepair, rom.TableSlideFlexion, NotLocked, 0, ""},
		{rom.CuffRepair, rom.SupineElevation, NotLocked, 0, ""},
		{rom.CuffRepair, rom.Pendulum, WhyClosed, 0, ""},
		{rom.CuffRepair, rom.WallClimbFlexion, WhyNotYet, 42, "assisted"},
		{rom.CuffRepair, rom.ActiveElevation, WhyNotYet, 56, "active"},
		{rom.CuffRepair, rom.BandRotation, WhyNotYet, 84, "strengthen"},
		{rom.CuffRepair, rom.TowelBehindBack, WhyProcedure, 84, ""},
		{rom.CuffRepair, rom.SideLyingIR, WhyProcedure, 84, ""},
		{rom.PosteriorLabralRepair, rom.CrossBodyStretch, WhyProcedure, 0, ""},
		{rom.SubscapularisRepair, rom.DoorwayER, WhyProcedure, 0, ""},
	}
	for _, tt := range tests {
		hist := h
		if tt.procedure != rom.CuffRepair {
			hist = history(t, tt.procedure)
			clear(&hist, "passive", 14)
		}
		if e := at(hist, 20).Exercise(tt.exercise); e.Why != tt.why || e.Until != tt.until || e.Phase != tt.phase {
			t.Errorf("%s after %s: %q until day %d in %q, want %q until %d in %q", tt.exercise, tt.procedure, e.Why, e.Until, e.Phase, tt.why, tt.until, tt.phase)
		}
	}
	h.Plans[0].Body.Opened = []rom.ExerciseID{rom.TowelBehindBack}
	if e := at(h, 20).Exercise(rom.TowelBehindBack); e.Why != WhyNotYet {
		t.Errorf("opened by the surgeon, but the motion is still locked: %q", e.Why)
	}
	if e := at(h, 20).Exercise("head-stand"); !e.Locked || e.Why != WhyUnknownExercise {
		t.Errorf("an unknown exercise is %+v", e)
	}
	if m := at(h, 20).Motion("XYZ"); !m.Locked {
		t.Errorf("an unknown motion is %+v", m)
	}
}

// TestClockBehindTheOperation: the clinic was reached after the operation, so
// a clock that shows a day before it opens no free measuring of both arms.
func TestClockBehindTheOperation(t *testing.T) {
	h := history(t, rom.CuffRepair)
	h.Episodes[0].Body.State = rom.Planned
	d := On(h, ep, surgery.Add(-10), 600, With{LastContact: surgery.Add(2)})
	if d.State != NotConfirmed || d.Baseline || !d.ClockBehind {
		t.Errorf("a clock ten days behind gives %s, baseline %v", d.State, d.Baseline)
	}
	if d := On(h, ep, surgery.Add(-10), 600, With{LastContact: surgery.Add(-12)}); d.State != BeforeOp || !d.Baseline {
		t.Errorf("a right clock gives %s, baseline %v", d.State, d.Baseline)
	}
}

// TestWithdrawalOnAClockBehind: a clearance taken back at the clinic holds at
// once on a phone that has heard of it, whose date is still behind: by weeks
// for a wrong clock, by a day for a zone.
func TestWithdrawalOnAClockBehind(t *testing.T) {
	h := history(t, rom.CuffRepair)
	clear(&h, "passive", 14)
	clear(&h, "passive", 40)
	h.Clearances[1].Body.Withdrawn = true
	for _, c := range []struct{ today, contact int }{{20, 40}, {39, 39}, {40, 40}, {45, 40}} {
		d := On(h, ep, surgery.Add(c.today), 600, With{LastContact: surgery.Add(c.contact)})
		if d.Phase.Key == "passive" {
			t.Errorf("day %d, contact on day %d: %s", c.today, c.contact, d.Phase.Key)
		}
	}
	h.Clearances = h.Clearances[:1]
	if d := On(h, ep, surgery.Add(13), 600, With{LastContact: surgery.Add(20)}); d.Phase.Key == "passive" {
		t.Error("a contact opens a phase before the phone's own date")
	}
}

package review

import (
	"slices"
	"testing"

	"unsling/engine/rom"
	"unsling/engine/schedule"
)

// limitClass is the class of the limit finding of forward flexion, "" for none.
func limitClass(tl *tale, day int) Class {
	for _, x := range Findings(tl.upTo(day), "e1", surgery.Add(day), tl.in) {
		if x.Key == "limit:"+string(rom.ForwardFlexion) {
			return x.Class
		}
	}
	return ""
}

// TestOneTrialPastTheLimit: of two trials that contradict each other the far
// one is told, and is no proof: the set as a whole is the evidence, as wide as
// its trials lie apart.
func TestOneTrialPastTheLimit(t *testing.T) {
	tl := newTale(rom.CuffRepair)
	tl.reading(20, rom.Reading{Motion: rom.ForwardFlexion, Angle: rom.Deg(119), SE: rom.Deg(27), Trials: []rom.Trial{
		{Angle: rom.Deg(100), SE: rom.Deg(5)}, {Angle: rom.Deg(138), SE: rom.Deg(5)},
	}})
	if got := limitClass(tl, 20); got != LimitNear {
		t.Errorf("trials of 100 and 138 under a limit of 120: %q, want %q", got, LimitNear)
	}
}

// TestNarrowedLaterJudgesNothingEarlier: a reading within the limit that the
// phone showed is no finding because the clinic narrows it on the same day; the
// next one is judged by what the phone shows then.
func TestNarrowedLaterJudgesNothingEarlier(t *testing.T) {
	tl := newTale(rom.CuffRepair)
	tl.reading(20, rom.Reading{Motion: rom.ForwardFlexion, Angle: rom.Deg(110), SE: rom.Deg(7)})
	tl.revise(20, func(p *rom.Plan) {
		for i := range p.Phases {
			for j := range p.Phases[i].Limits {
				if l := &p.Phases[i].Limits[j]; l.Motion == rom.ForwardFlexion {
					l.Ceiling = rom.Deg(90)
				}
			}
		}
	})
	if got := limitClass(tl, 20); got != "" {
		t.Errorf("110 under a limit of 120 that became 90 afterwards: %q", got)
	}
	tl.reading(20, rom.Reading{Motion: rom.ForwardFlexion, Angle: rom.Deg(110), SE: rom.Deg(7)})
	if got := limitClass(tl, 20); got != LimitPassed {
		t.Errorf("110 under a limit of 90: %q, want %q", got, LimitPassed)
	}
}

// TestInForceIsThePhaseOfTheDay: the short way to a day's phase and the long one
// agree, through gates, a stop and a revision.
func TestInForceIsThePhaseOfTheDay(t *testing.T) {
	tl := newTale(rom.CuffRepair)
	tl.revise(30, func(p *rom.Plan) { p.Phases[2].Gate.Waived = "" })
	tl.h.Clearances = append(tl.h.Clearances, rom.Entry[rom.Clearance]{Meta: tl.meta("c-1", 50, 600), Body: rom.Clearance{Episode: "e1", Phase: "assisted", On: surgery.Add(50), By: "s1"}})
	tl.revise(60, func(p *rom.Plan) { p.State, p.Why = rom.Stopped, "come in" })
	seen := map[string]bool{}
	for day := -10; day < 120; day++ {
		d := surgery.Add(day)
		want := schedule.On(schedule.Past(tl.h, "e1", d), "e1", d, 24*60-1, schedule.With{})
		got, ok := schedule.InForce(tl.h, "e1", d)
		if ok != want.InPhase || got.Key != want.Phase.Key {
			t.Errorf("day %d: %q %v, want %q %v", day, got.Key, ok, want.Phase.Key, want.InPhase)
		}
		seen[got.Key] = true
	}
	if len(seen) < 4 {
		t.Errorf("only %v were in force", seen)
	}
}

// TestMeasuredHoldCountsOnce: an angle measured in a hold stands in the
// reading and in the session; that is one angle near the limit and not two.
func TestMeasuredHoldCountsOnce(t *testing.T) {
	near := rom.Deg(124)
	tl := newTale(rom.CuffRepair)
	tl.reading(20, rom.Reading{Motion: rom.ForwardFlexion, Angle: near, SE: rom.Deg(7), Session: "s-measured"})
	once := limitClass(tl, 20)
	tl.session(20, 1, 1, func(s *rom.Session) {
		s.ID = "s-measured"
		s.Items[0].Motion = rom.ForwardFlexion
		s.Items[0].Holds[0].Angle = &near
	})
	if got := limitClass(tl, 20); got != once || got == LimitPassed {
		t.Errorf("with the session %q, without %q", got, once)
	}
	tl.h.Readings = nil
	if got := limitClass(tl, 20); got == "" {
		t.Error("a held angle without a reading is overlooked")
	}
}

// TestSignWithoutEpisode: what the patient told before the phone knew its
// episode reaches the clinic.
func TestSignWithoutEpisode(t *testing.T) {
	tl := newTale(rom.CuffRepair)
	tl.h.Signs = append(tl.h.Signs, rom.Entry[rom.Sign]{Meta: tl.meta("p1", 3, 600), Body: rom.Sign{Sign: rom.SignPop}})
	got := Findings(tl.h, "e1", surgery.Add(3), tl.in)
	if !slices.ContainsFunc(got, func(x Finding) bool { return x.Key == "sign:"+string(rom.SignPop) && x.Severity == Urgent }) {
		t.Errorf("lost: %v", got)
	}
}

// TestComesLate: whoever is enrolled weeks after the operation has not been
// silent since then.
func TestComesLate(t *testing.T) {
	silent := func(tl *tale, day int) bool {
		return slices.ContainsFunc(Findings(tl.upTo(day), "e1", surgery.Add(day), tl.in), func(x Finding) bool { return x.Key == "silent" })
	}
	tl := newTale(rom.CuffRepair)
	tl.in.Phones = nil
	tl.h.Episodes[0].At = surgery.Add(30).Time()
	if silent(tl, 31) {
		t.Error("silent a day after being enrolled")
	}
	if !silent(tl, 36) {
		t.Error("six days without a phone are no finding")
	}
}

// TestPhoneComesLate: what was asked before the first phone is unknown, not
// left undone (common practice, no source).
func TestPhoneComesLate(t *testing.T) {
	rule := func(since rom.Date) Line {
		tl := newTale(rom.CuffRepair)
		tl.in.Phones = []Phone{{Author: "p1", Since: since, Contact: surgery.Add(40)}}
		for _, l := range Explain(tl.upTo(40), "e1", surgery.Add(40), tl.in) {
			if l.Rule == "too-little" {
				return l
			}
		}
		t.Fatal("the rule was not evaluated")
		return Line{}
	}
	if l := rule(surgery.Add(-5)); l.Outcome != Fires {
		t.Errorf("weeks with a phone and nothing done: %s, %s", l.Outcome, l.Why)
	}
	if l := rule(surgery.Add(38)); l.Outcome != CannotSay {
		t.Errorf("two days after the phone came: %s, %s", l.Outcome, l.Why)
	}
	if l := rule(surgery.Add(33)); l.Outcome != Fires {
		t.Errorf("a week after the phone came: %s, %s", l.Outcome, l.Why)
	}
	tl := newTale(rom.CuffRepair)
	tl.in.Phones = []Phone{{Author: "p0", Since: surgery.Add(10), Contact: surgery.Add(20), Revoked: true}}
	if got := Told(tl.h, "e1", surgery.Add(40), tl.in); got.From != surgery.Add(10) || got.Through != surgery.Add(20) {
		t.Errorf("a phone out of service told of %v", got)
	}
}

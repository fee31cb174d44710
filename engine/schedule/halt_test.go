package schedule

import (
	"testing"

	"pgregory.net/rapid"

	"unsling/engine/rom"
)

func TestReportsThatStop(t *testing.T) {
	sign := func(h *rom.History, id rom.SignID, day int) rom.Ref {
		m := meta("phone", int64(800+len(h.Signs)), day, 600)
		h.Signs = append(h.Signs, rom.Entry[rom.Sign]{Meta: m, Body: rom.Sign{Episode: ep, Sign: id}})
		return m.Ref
	}
	h := history(t, rom.CuffRepair)
	clear(&h, "passive", 14)
	sign(&h, rom.SignFever, 20)
	if d := at(h, 20); d.State != Running {
		t.Errorf("fever: %s; it needs a call, but stops no exercise", d.State)
	}
	ref := sign(&h, rom.SignPop, 20) // P4: same day, stop exercises
	d := at(h, 25)
	if d.State != Halted || d.Halt == nil || d.Halt.Record != ref || d.Halt.Sign != rom.SignPop || len(d.Due) != 0 {
		t.Fatalf("after a pop: %s, %+v, %d sessions", d.State, d.Halt, len(d.Due))
	}
	for _, e := range d.Exercises {
		if !e.Locked || e.Why != WhyHalted {
			t.Errorf("after a pop %s is %q", e.Exercise.ID, e.Why)
		}
	}
	// A clock set back does not lift it.
	if d := at(h, 15); d.State != Halted {
		t.Errorf("clock set back by ten days: %s", d.State)
	}
	// A revision that does not answer it leaves it in force, one that does lifts it.
	second := h.Plans[0].Body
	second.Rev, second.Base = 2, 1
	h.Plans = append(h.Plans, rom.Entry[rom.Plan]{Meta: meta("c-1", 3, 21, 600), Body: second})
	if d := at(h, 25); d.State != Halted {
		t.Errorf("after an unrelated revision: %s", d.State)
	}
	third := second
	third.Rev, third.Base, third.Answers = 3, 2, []rom.Ref{ref}
	h.Plans = append(h.Plans, rom.Entry[rom.Plan]{Meta: meta("c-1", 4, 22, 600), Body: third})
	fourth := third
	fourth.Rev, fourth.Base, fourth.Answers = 4, 3, nil
	h.Plans = append(h.Plans, rom.Entry[rom.Plan]{Meta: meta("c-1", 5, 23, 600), Body: fourth})
	if d := at(h, 25); d.State != Running || len(Halts(h, ep)) != 0 {
		t.Errorf("after the answer: %s", d.State)
	}
	// What the phone showed on the days between can be reproduced.
	for day, want := range map[int]State{19: Running, 20: Halted, 21: Halted, 22: Running} {
		if d := Range(h, ep, surgery.Add(day), surgery.Add(day), With{})[0]; d.State != want {
			t.Errorf("day %d was %s, want %s", day, d.State, want)
		}
	}
	session(&h, 25, 1, 600, 0.4)
	h.Sessions[0].Body.Stop = rom.StopWrong
	if d := at(h, 25); d.State != Halted || d.Halt.Record != h.Sessions[0].Ref {
		t.Errorf("after a session stopped because something was wrong: %s", d.State)
	}
	// A stop by the clinic says more than the report.
	h.Plans[3].Body.State, h.Plans[3].Body.Why = rom.Stopped, "come in today"
	if d := at(h, 25); d.State != Stopped || d.Why != "come in today" {
		t.Errorf("stopped by the clinic: %s, %q", d.State, d.Why)
	}
}

func TestNarrowerAtOnceWiderLater(t *testing.T) {
	h := history(t, rom.CuffRepair)
	clear(&h, "passive", 14)
	before := at(h, 20)
	revise := func(change func(*rom.Plan)) Day {
		g := h
		p := planOf(t, rom.CuffRepair)
		p.Rev, p.Base = 2, 1
		change(&p)
		g.Plans = append(g.Plans[:1:1], rom.Entry[rom.Plan]{Meta: meta("c-1", 3, 20, 600), Body: p})
		return at(g, 20)
	}
	flexion := func(d Day) rom.Degrees { return d.Motion(rom.ForwardFlexion).Limit.Ceiling }

	narrower := revise(func(p *rom.Plan) { p.Phases[1].Limits[0].Ceiling = rom.Deg(70); p.Phases[1].PainCap = 2 })
	if d := Narrow(before, narrower); flexion(d) != rom.Deg(70) || d.Motion(rom.ForwardFlexion).Aim != rom.Deg(63) || d.PainCap != 2 {
		t.Errorf("narrower: flexion to %s, aim %s, pain %d", flexion(d), d.Motion(rom.ForwardFlexion).Aim, d.PainCap)
	}
	wider := revise(func(p *rom.Plan) { p.Phases[1].Limits[0].Ceiling = rom.Deg(110); p.Phases[1].PainCap = 5 })
	if d := Narrow(before, wider); flexion(d) != rom.Deg(90) || d.PainCap != 3 {
		t.Errorf("wider: flexion to %s, pain %d in the running session", flexion(d), d.PainCap)
	}
	if flexion(wider) != rom.Deg(110) {
		t.Errorf("wider: flexion to %s in the next session", flexion(wider))
	}
	closed := revise(func(p *rom.Plan) { p.Closed = []rom.ExerciseID{rom.TableSlideFlexion} })
	d := Narrow(before, closed)
	if !d.Exercise(rom.TableSlideFlexion).Locked {
		t.Error("closed: the exercise stays open")
	}
	for _, x := range d.Due {
		for _, rx := range x.Prescriptions {
			if rx.Exercise == rom.TableSlideFlexion {
				t.Errorf("closed: slot %d still asks for it", x.Slot)
			}
		}
	}
	stopped := revise(func(p *rom.Plan) { p.State, p.Why = rom.Stopped, "wound" })
	d = Narrow(before, stopped)
	if d.State != Stopped || d.Why != "wound" || !d.Motion(rom.ForwardFlexion).Locked || len(d.Due[0].Prescriptions) != 0 {
		t.Errorf("stopped: %s, %+v", d.State, d.Due[0])
	}
	if before.Due[0].Prescriptions == nil || flexion(before) != rom.Deg(90) {
		t.Error("Narrow changed the day it was given")
	}
}

func TestNarrowNeverWidens(t *testing.T) {
	procedures := rom.Procedures
	rapid.Check(t, func(r *rapid.T) {
		day := func(label string) Day {
			h := history(t, procedures[rapid.IntRange(0, len(procedures)-1).Draw(r, label)])
			for _, ph := range h.Plans[0].Body.Phases {
				if rapid.Bool().Draw(r, label+" cleared") {
					clear(&h, ph.Key, ph.From)
				}
			}
			if rapid.IntRange(0, 5).Draw(r, label+" stop") == 0 {
				h.Plans[0].Body.State, h.Plans[0].Body.Why = rom.Stopped, "x"
			}
			return at(h, rapid.IntRange(0, 150).Draw(r, label+" day"))
		}
		during, newest := day("during"), day("newest")
		got := Narrow(during, newest)
		for _, m := range rom.Motions {
			g := got.Motion(m)
			for _, d := range []Day{during, newest} {
				if a := d.Motion(m); (a.Locked && !g.Locked) || (!g.Locked && a.Limit.NarrowerThan(g.Limit)) {
					r.Fatalf("%s: %+v is wider than %+v", m, g, a)
				}
			}
			if g.HasAim && g.Aim > g.Limit.Ceiling {
				r.Fatalf("%s: aim %s above the ceiling %s", m, g.Aim, g.Limit.Ceiling)
			}
		}
		for _, e := range rom.Exercises {
			if locked := during.Exercise(e).Locked || newest.Exercise(e).Locked; locked != got.Exercise(e).Locked {
				r.Fatalf("%s: locked %v", e, got.Exercise(e).Locked)
			}
		}
	})
}

// TestReportWithoutEpisode: a sign told before the phone knew its episode, or
// one that the full phone could not keep, stops the exercises as any other.
func TestReportWithoutEpisode(t *testing.T) {
	h := history(t, rom.CuffRepair)
	told := Halt{On: surgery.Add(3), Sign: rom.SignPop}
	if d := On(h, ep, surgery.Add(3), 600, With{Told: &told}); d.State != Halted || d.Halt == nil || d.Halt.Sign != rom.SignPop {
		t.Errorf("a report that could not be kept gives %s", d.State)
	}
	h.Signs = []rom.Entry[rom.Sign]{{Meta: meta("phone", 1, 3, 500), Body: rom.Sign{Sign: rom.SignPop}}}
	if d := at(h, 3); d.State != Halted {
		t.Errorf("a report without an episode gives %s", d.State)
	}
}

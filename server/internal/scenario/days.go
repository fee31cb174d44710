package scenario

import (
	"math"
	"slices"

	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/sync/wire"
)

// session does the session that is next, if one may be done now and the
// patient feels like it, and measures when that is due.
func (s *story) session(d rom.Date) error {
	h := s.phone.history()
	minute := s.now().Hour()*60 + s.now().Minute()
	day := schedule.On(h, s.ep.ID, d, minute, schedule.With{LastContact: d})
	if day.State != schedule.Running {
		return nil
	}
	due, ok := day.NextDue()
	slot := due.Slot
	prescriptions := due.Prescriptions
	switch {
	case ok && minute >= due.NotBefore && minute <= due.To && s.rng.Float64() < s.person.habit.does:
	case !ok && len(day.Due) > 0 && s.rng.Float64() < s.person.habit.extra:
		slot, prescriptions = 0, day.Due[0].Prescriptions
	default:
		return nil
	}
	if len(prescriptions) == 0 {
		return nil
	}
	if err := s.phone.keep(wire.KindSession, s.doSession(d, slot, day, prescriptions)); err != nil {
		return err
	}
	for _, m := range day.Measures {
		if m.Due && s.rng.Float64() < 0.8 {
			if err := s.phone.keep(wire.KindReading, s.selfReading(m.Motion, m.Trials, d.Sub(s.surgery), false, ceiling(day.Motion(m.Motion)))); err != nil {
				return err
			}
		}
	}
	return s.phone.exchange()
}

func (s *story) doSession(d rom.Date, slot int, day schedule.Day, list []rom.Prescription) rom.Session {
	before, worst, after := s.pain(0), s.pain(1), s.pain(0)
	out := rom.Session{Episode: s.ep.ID, ID: rom.SessionID(s.random()), Due: d, Slot: slot, Phase: day.Phase.Key,
		Ended: rom.Finished, Before: &before, Worst: &worst, After: &after}
	for _, x := range list {
		it := rom.SessionItem{Exercise: x.Exercise, Motion: x.Motion, Dose: x.Dose}
		if s.rng.Float64() < s.person.habit.afraid {
			it.Skipped = rom.SkipAfraid
			out.Items = append(out.Items, it)
			continue
		}
		e, _ := protocol.Lookup(x.Exercise)
		for range x.Dose.Reps {
			hold := rom.Hold{Tenths: x.Dose.Hold*10 + s.rng.IntN(12), Counted: true}
			if e.EndRange && x.Motion != "" && s.rng.IntN(3) == 0 {
				a := s.reach(x.Motion, d.Sub(s.surgery), ceiling(day.Motion(x.Motion)), 3)
				hold.Angle = &a
			}
			it.Holds = append(it.Holds, hold)
			out.Seconds += x.Dose.Hold + x.Dose.Rest
		}
		out.Items = append(out.Items, it)
	}
	return out
}

func (s *story) pain(more int) int {
	return min(10, max(0, s.person.habit.pain+more-1+s.rng.IntN(2)))
}

// ceiling is the aim of a motion in degrees, or no bound.
func ceiling(a schedule.Allowance) float64 {
	switch {
	case a.Locked:
		return 0
	case a.HasAim:
		return a.Aim.Float()
	}
	return math.Inf(1)
}

// reach is how far the arm goes on a day: the joint's range, the patient
// stopping before the limit, with noise.
func (s *story) reach(m rom.Motion, day int, ceiling, noise float64) rom.Degrees {
	x := min(s.person.arm.at(m, day), ceiling-1) + s.rng.NormFloat64()*noise
	x = min(max(x, 0), m.AnatomicalMax().Float()-5, max(ceiling+8, 2))
	d, _ := rom.FromFloat(x)
	return d
}

// selfReading is a photograph with trials.
func (s *story) selfReading(m rom.Motion, trials, day int, baseline bool, ceiling float64) rom.Reading {
	r := rom.Reading{Episode: s.ep.ID, Side: s.person.side, Motion: m, Class: rom.Passive, Method: rom.Photo, Position: rom.Supine, Baseline: baseline}
	if m.ByLevel() {
		r.Method, r.Position = rom.LevelMethod, rom.Standing
		r.Level = rom.Level(min(18, max(7, 18-day/18+s.rng.IntN(2))))
		return r
	}
	var sum int
	for range max(1, trials) {
		a := s.reach(m, day, ceiling, 3.5)
		r.Trials = append(r.Trials, rom.Trial{Angle: a, SE: rom.Deg(3)})
		sum += int(a)
	}
	r.Angle = rom.Degrees(sum / len(r.Trials))
	r.SE = rom.Deg(7) // the proposed SEM of a patient's own photograph
	return r
}

// baseline measures both arms at home before the operation.
func (s *story) baseline(n int) error {
	for _, m := range []rom.Motion{rom.ForwardFlexion, rom.ERSide} {
		for _, side := range []rom.Side{s.person.side, s.person.side.Other()} {
			r := s.selfReading(m, 3, n, true, math.Inf(1))
			if r.Side = side; side != s.person.side {
				r.Angle, _ = rom.FromFloat(sound[m] + s.rng.NormFloat64()*2)
				for i := range r.Trials {
					r.Trials[i].Angle = r.Angle
				}
			}
			if err := s.phone.keep(wire.KindReading, r); err != nil {
				return err
			}
		}
	}
	return s.phone.exchange()
}

// measureAtClinic is the therapist's goniometer on both arms.
func (s *story) measureAtClinic(d rom.Date, baseline bool) error {
	day, _, err := s.day(d)
	if err != nil {
		return err
	}
	for _, m := range []rom.Motion{rom.ForwardFlexion, rom.Abduction, rom.ERSide, rom.ER90, rom.IR90} {
		for _, side := range []rom.Side{s.person.side, s.person.side.Other()} {
			r := rom.Reading{Episode: s.ep.ID, Side: side, Motion: m, Class: rom.Passive, Method: rom.Goniometer, Position: rom.Supine, Baseline: baseline, SE: rom.Deg(4), By: Therapist}
			if side != s.person.side {
				if !baseline && m != rom.ForwardFlexion && m != rom.ERSide {
					continue
				}
				r.Angle, _ = rom.FromFloat(math.Round(sound[m] + s.rng.NormFloat64()*2))
			} else {
				limit := math.Inf(1)
				if !baseline {
					if day.Motion(m).Locked {
						continue
					}
					if l := day.Motion(m).Limit; !l.Open {
						limit = l.Ceiling.Float() - 2
					}
				}
				a := s.reach(m, d.Sub(s.surgery), limit, 1.5)
				if !math.IsInf(limit, 1) {
					a = min(a, rom.Degrees(limit*10)) // the therapist stops at the limit
				}
				r.Angle = rom.Deg(a.Whole())
			}
			r.Trials = []rom.Trial{{Angle: r.Angle}}
			if err := s.record(Therapist, wire.KindReading, r); err != nil {
				return err
			}
		}
	}
	return nil
}

func (s *story) visit(d rom.Date) error {
	return s.record(Surgeon, wire.KindVisit, rom.Visit{Episode: s.ep.ID, On: d, Next: d.Add(42), Text: "Invented note.", By: Surgeon})
}

func (s *story) therapy(d rom.Date) error {
	outcome := "attended"
	if s.rng.Float64() > s.person.habit.attends {
		outcome = "missed"
	}
	return s.record(Therapist, wire.KindTherapy, rom.Therapy{Episode: s.ep.ID, On: d, Outcome: outcome, By: Therapist})
}

// dailyQuestions is what the invented clinic answers to daily questions, one
// letter for each phase in its order: y yes, n no, a ask us. A plan with fewer
// phases takes as many. The answers are invented and no advice.
func dailyQuestions(rows []protocol.Protocol) []rom.MayI {
	var phases []rom.Phase
	if p, err := protocol.Merge(rows...); err == nil {
		for _, ph := range p.Phases {
			phases = append(phases, ph.Phase)
		}
	}
	var out []rom.MayI
	for _, q := range []struct{ act, word string }{
		{"shower", "ayyyyyyyyyyy"}, {"type", "nayyyyyyyyyy"}, {"drive", "nnnayyyyyyyy"}, {"work", "naaayyyyyyyy"}, {"lift-cup", "nnnayyyyyyyy"},
		{"sleep-on-side", "nnnnaayyyyyy"}, {"dress", "ayyyyyyyyyyy"}, {"cook", "nnnayyyyyyyy"}, {"lift-bag", "nnnnaayyyyyy"}, {"sleep-without-sling", "nnayyyyyyyyy"},
	} {
		for i, ph := range phases {
			answer := map[byte]string{'y': "yes", 'n': "no", 'a': "ask"}[q.word[min(i, len(q.word)-1)]]
			out = append(out, rom.MayI{Phase: ph.Key, Activity: q.act, Answer: answer})
		}
	}
	return out
}

// pastLimit is a reading well past the ceiling.
func pastLimit(s *story) error {
	d := rom.DateOf(s.now())
	day := schedule.On(s.phone.history(), s.ep.ID, d, 8*60, schedule.With{LastContact: d})
	l := day.Motion(rom.ERSide)
	if l.Locked || l.Limit.Open {
		return nil
	}
	a := l.Limit.Ceiling + rom.Deg(19)
	r := rom.Reading{Episode: s.ep.ID, Side: s.person.side, Motion: rom.ERSide, Class: rom.Passive, Method: rom.Photo, Position: rom.Supine,
		Trials: []rom.Trial{{Angle: a, SE: rom.Deg(3)}}, Angle: a, SE: rom.Deg(7)}
	if err := s.phone.keep(wire.KindReading, r); err != nil {
		return err
	}
	return s.phone.exchange()
}

// wound is a warning sign of the same day.
func wound(s *story) error {
	err := s.phone.keep(wire.KindSign, rom.Sign{Episode: s.ep.ID, Sign: rom.SignWound, Text: "The dressing is wet since last night and the skin feels warm."})
	if err != nil {
		return err
	}
	return s.phone.exchange()
}

// narrowPlan lowers the ceilings of the phase in force, and the phone takes it.
func narrowPlan(s *story) error {
	if err := s.revise(func(p *rom.Plan) {
		for i, ph := range p.Phases {
			p.Phases[i].Limits = slices.Clone(ph.Limits)
			for j, l := range ph.Limits {
				if (l.Motion == rom.ERSide || l.Motion == rom.ForwardFlexion) && !l.Open && l.Ceiling > rom.Deg(30) {
					p.Phases[i].Limits[j].Ceiling = l.Ceiling - rom.Deg(15)
					p.Phases[i].Limits[j].From = rom.Source{Key: "CLINIC", Mark: rom.Clinic}
				}
			}
		}
		p.Reason = "Sore after the weekend: smaller range for now"
	}); err != nil {
		return err
	}
	return s.phone.exchange()
}

// stopPlan stops everything while the phone is out of reach.
func stopPlan(s *story) error {
	return s.revise(func(p *rom.Plan) {
		p.State, p.Why, p.Reason = rom.Stopped, "Please stop all stretching until Dr Solberg has looked at your shoulder.", "Scan shows a gap at the repair (invented)"
	})
}

func (s *story) revise(change func(*rom.Plan)) error {
	next := s.plan
	next.Phases = slices.Clone(s.plan.Phases)
	change(&next)
	next.By, next.On = Surgeon, rom.DateOf(s.now())
	revised, err := s.plan.Revise(next, s.plan.Rev, s.plan.Rev+1)
	if err != nil {
		return err
	}
	dr, err := s.draft(wire.KindPlan, revised)
	if err != nil {
		return err
	}
	if _, err := s.env.Store.Append(s.id, drafts(dr), base(s.ep.ID, revised), s.trail(Surgeon)); err != nil {
		return err
	}
	s.plan = revised
	return nil
}

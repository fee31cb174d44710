package screen

import (
	"unsling/engine/gonio"
	"unsling/engine/rom"
)

// still leaves out the stretches that the patient was told today to stop.
func (a *App) still(list []rom.Prescription) []rom.Prescription {
	var out []rom.Prescription
	for _, p := range list {
		if !a.overToday(p.Motion) {
			out = append(out, p)
		}
	}
	return out
}

// overToday reports whether an own reading of today is past the limit of m.
func (a *App) overToday(m rom.Motion) bool {
	limit := a.day.Motion(m)
	if m == "" || limit.Locked {
		return false
	}
	overs := 0
	for _, r := range a.facts.History.Readings {
		if !a.counts(r, m) {
			continue
		}
		tier := judged(r.Body, limit.Limit, overs)
		if tier == gonio.Over && takenOn(r) == a.day.Date {
			return true
		}
		if tier != gonio.Within {
			overs++
		}
	}
	return false
}

// counts reports whether r is an own reading of m of the operated arm in the
// phase in force.
func (a *App) counts(r rom.Entry[rom.Reading], m rom.Motion) bool {
	b := r.Body
	return b.Episode == a.episode && b.Motion == m && b.Side == a.day.Episode.Side && b.Self() && takenOn(r) >= a.day.Since
}

// takenOn is the day of a reading.
func takenOn(r rom.Entry[rom.Reading]) rom.Date {
	if !r.Body.On.IsZero() {
		return r.Body.On
	}
	return r.Day()
}

// judged is the tier of one reading, the worst of its trials.
func judged(b rom.Reading, l rom.Limit, overs int) gonio.Tier {
	if b.Motion.ByLevel() {
		return gonio.JudgeLevel(b.Level, l, overs)
	}
	worst, _ := gonio.JudgeTrials(b.Trials, errorOf(b.Motion), l, overs)
	return gonio.Worst(worst, gonio.Judge(b.Angle, b.SE, l, overs))
}

// errorOf is the standard error of own readings of m.
func errorOf(m rom.Motion) rom.Degrees {
	s, ok := gonio.SEMFor(rom.Photo, m, gonio.Self)
	if !ok {
		return rom.Deg(7)
	}
	return s.SEM
}

// oversBefore counts own readings of m in the phase in force that were over
// the limit which this phone followed then, l where that is not known: what
// the clinic narrows later was no limit before.
func (a *App) oversBefore(m rom.Motion, l rom.Limit) int {
	n := 0
	for _, r := range a.facts.History.Readings {
		then := l
		if p, ok := a.facts.History.PlanAt(a.episode, r.Rev); ok {
			if ph, ok := p.Phase(a.day.Phase.Key); ok {
				then = ph.Limit(m).For(r.Body.Class)
			}
		}
		if a.counts(r, m) && judged(r.Body, then, 0) != gonio.Within {
			n++
		}
	}
	return n
}

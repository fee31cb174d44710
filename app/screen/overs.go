package screen

import (
	"slices"

	"unsling/engine/gonio"
	"unsling/engine/rom"
	"unsling/engine/verdict"
)

// still leaves out the stretches that the patient was told today to stop.
func (a *App) still(list []rom.Prescription) []rom.Prescription {
	var out []rom.Prescription
	for _, p := range list {
		if !stops(a.tierToday(p.Motion)) {
			out = append(out, p)
		}
	}
	return out
}

// stops reports whether a tier ends a stretch for today.
func stops(t verdict.Tier) bool { return t == verdict.Likely || t == verdict.Passed }

// tierToday is the gravest tier of what was measured or held of m today. While
// the second set of a hold is asked for, the first is no verdict yet.
func (a *App) tierToday(m rom.Motion) verdict.Tier {
	out := verdict.Within
	if m == "" || a.day.Motion(m).Locked || a.measure.pending && a.measure.motion == m || !a.toldToday(m) {
		return out
	}
	for _, s := range a.sittings(m) {
		if s.Day == a.day.Date && !s.Sets[0].Clinic && (s.Tier == verdict.Passed || out != verdict.Passed && s.Tier != verdict.Within) {
			out = s.Tier
		}
	}
	return out
}

// toldToday reports whether anything of today tells an angle or level of m.
func (a *App) toldToday(m rom.Motion) bool {
	h := a.facts.History
	return slices.ContainsFunc(h.Readings, func(r rom.Entry[rom.Reading]) bool {
		return r.Body.Episode == a.episode && r.Body.Motion == m && takenOn(r) == a.day.Date
	}) || slices.ContainsFunc(h.Sessions, func(s rom.Entry[rom.Session]) bool {
		return s.Body.Episode == a.episode && s.Body.Due == a.day.Date && slices.ContainsFunc(s.Body.Items, func(it rom.SessionItem) bool {
			return it.Motion == m && slices.ContainsFunc(it.Holds, func(h rom.Hold) bool { return h.Angle != nil })
		})
	})
}

// sittings judges what was measured and held of m, and sets of the measurement
// at hand, which may not be among the facts yet.
func (a *App) sittings(m rom.Motion, sets ...rom.Reading) []verdict.Sitting {
	h := a.facts.History
	if len(sets) > 0 {
		h.Readings = slices.DeleteFunc(slices.Clone(h.Readings), func(r rom.Entry[rom.Reading]) bool { return slices.Contains(a.measure.refs, r.Ref) })
	}
	for i, b := range sets {
		meta := rom.Meta{Ref: rom.Ref{N: int64(i + 1)}, At: a.d.Clock.Now(), Rev: a.day.Plan.Rev}
		h.Readings = append(h.Readings, rom.Entry[rom.Reading]{Meta: meta, Body: b})
	}
	before := verdict.PhasesOf(h, a.episode)
	return verdict.Of(h, a.episode, m, a.day.Date, func(d rom.Date) *rom.Phase {
		if d == a.day.Date && a.day.InPhase {
			return &a.day.Phase
		}
		return before(d)
	})
}

// takenOn is the day of a reading.
func takenOn(r rom.Entry[rom.Reading]) rom.Date {
	if !r.Body.On.IsZero() {
		return r.Body.On
	}
	return r.Day()
}

// errorOf is the standard error of own readings of m.
func errorOf(m rom.Motion) rom.Degrees {
	s, ok := gonio.SEMFor(rom.Photo, m, gonio.Self)
	if !ok {
		return rom.Deg(7)
	}
	return s.SEM
}

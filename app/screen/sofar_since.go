package screen

import (
	"math"

	"unsling/app/chart"
	"unsling/app/words"
	"unsling/engine/gonio"
	"unsling/engine/rom"
	"unsling/engine/trend"
	"unsling/engine/verdict"
)

// sinceView is what changed since the last visit, or within two weeks.
type sinceView struct {
	Title string
	Lines []string
}

// bandFrom is the day after surgery from which a patient is shown what is
// published of others: the end of week 12. Before it, it would only frighten.
const bandFrom = 84

func (a *App) viewSince() (v sinceView) {
	from := a.lastVisit()
	v.Title = a.f(words.SoFarSince, words.Date(a.lang(), from))
	if from.IsZero() {
		from = a.day.Date.Add(-2 * week)
		v.Title = a.t(words.SoFarWeeks)
	}
	for _, m := range rom.Motions {
		if line := a.sinceLine(m, from); line != "" {
			v.Lines = append(v.Lines, line)
		}
	}
	return v
}

// sinceLine compares the last own reading after a day with the last one up to
// it. What lies within the error of measuring (gonio.MDC95) is the same, and
// what is past a limit is not compared at all.
func (a *App) sinceLine(m rom.Motion, from rom.Date) string {
	before, last, _ := a.ownReadings(m, from.Add(1))
	if last == nil || !a.comparable(last) {
		return ""
	}
	name := words.Capital(words.Motion(a.lang(), m))
	if before == nil {
		return a.f(words.SinceFirst, name)
	}
	diff := (last.Body.Angle - before.Body.Angle).Whole()
	least := leastChange(m)
	switch {
	case diff > least:
		return a.f(words.SinceMore, name, diff)
	case diff < -least:
		return a.f(words.SinceLess, name, -diff)
	}
	return a.f(words.SinceSame, name)
}

// ownReadings are the last passive reading of the operated arm that the patient
// took before a day and the last one from then on, nil for none, and how many
// there are from then on.
func (a *App) ownReadings(m rom.Motion, from rom.Date) (before, last *rom.Entry[rom.Reading], n int) {
	for i := range a.facts.History.Readings {
		r := &a.facts.History.Readings[i]
		b := r.Body
		if b.Episode != a.episode || b.Motion != m || b.Side != a.day.Episode.Side || !b.Self() || b.Class != rom.Passive || a.before(*r) {
			continue
		}
		if takenOn(*r) < from {
			before = r
		} else {
			last, n = r, n+1
		}
	}
	return before, last, n
}

// comparable reports whether a reading may be called more or less than another:
// an angle of a motion that is open, with nothing past the limit in it or today.
func (a *App) comparable(r *rom.Entry[rom.Reading]) bool {
	m := r.Body.Motion
	l := a.day.Motion(m)
	return !m.ByLevel() && !l.Locked && !stops(a.tierToday(m)) && !verdict.Over(r.Body, l.Limit)
}

// leastChange is how many degrees two own readings must differ by to be called
// different: the error of measuring (gonio.MDC95), rounded up.
func leastChange(m rom.Motion) int {
	return int(math.Ceil(gonio.MDC95(float64(errorOf(m).Whole()))))
}

// expectedBand is a published mean and its spread from week 12 on, for the
// passive angle of the operated arm; nothing before, and nothing where nothing
// is published.
func (a *App) expectedBand(m rom.Motion) (band []chart.Range) {
	if !a.day.Dated || a.day.Number < bandFrom || m.ByLevel() {
		return nil
	}
	key := trend.Key{Motion: m, Class: rom.Passive}
	for n := bandFrom; n <= a.day.Number && n < bandFrom+2*mostPast; n++ {
		if (n-bandFrom)%7 != 0 && n != a.day.Number {
			continue
		}
		x := trend.Expect(a.day.Episode, key, n)
		if !x.ByMean {
			continue
		}
		band = append(band, chart.Range{Day: a.day.Episode.Surgery.Add(n), Low: x.Mean - x.SD, Mid: x.Mean, High: x.Mean + x.SD})
	}
	if len(band) < 2 {
		return nil
	}
	return band
}

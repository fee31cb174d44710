package trend

import (
	"fmt"
	"math"

	"unsling/engine/rom"
)

// plateauDays is the window of a plateau. Three weeks would call ordinary
// recovery a plateau: the control cohort of HA2021 gains 21.7 degrees of
// forward flexion from month 3 to 6, about five in three weeks, less than any
// MDC. Derived.
const plateauDays = 84

// plateauOf compares the mean of the newer half of the window with that of
// the older half. Days of different set-ups are means in the sense of F6
// (standard error divided by the root of their number). It holds when even
// the upper end of the gain's interval is below what the published cohort
// gains over the same days, or, where nothing is published, below MDC95.
func plateauOf(s Series, f *fit, day rom.Date) Plateau {
	out := Plateau{Window: plateauDays, Source: rom.Source{Key: "HA2021", Mark: rom.Derived}}
	if s.Key.Motion.ByLevel() {
		out.Why = "levels are too coarse to call a plateau"
		return out
	}
	mid := day.Add(-plateauDays / 2)
	older, newer := half{}, half{}
	for i, x := range f.obs {
		switch {
		case x.aside || x.day <= day.Add(-plateauDays):
		case x.day <= mid:
			older.add(f, i)
		default:
			newer.add(f, i)
		}
	}
	if older.n < 4 || newer.n < 4 {
		out.Why = fmt.Sprintf("needs readings on four days in each half of %d days; there are %d and %d", plateauDays, older.n, newer.n)
		return out
	}
	gain := newer.mean() - older.mean()
	e := hypot(older.se(), newer.se())
	out.Known, out.Gain = true, rangeOf(gain, e)
	from, to := older.day(), newer.day()
	needs, published := ordinaryGain(s, from, to)
	if published {
		out.Needs = tenths(needs)
		out.Holds = out.Gain.High < out.Needs
		out.Why = fmt.Sprintf("gain %s (%s to %s) against %s in the published course over the same days", out.Gain.Mid, out.Gain.Low, out.Gain.High, out.Needs)
		return out
	}
	needs = float64(z95 * e)
	out.Needs = tenths(needs)
	out.Holds = out.Gain.Mid < out.Needs
	out.Source = rom.Source{Key: "PMC6558857", Mark: rom.Derived}
	out.Why = fmt.Sprintf("gain %s against a smallest detectable %s; no published course covers these days, so this alone is no reason to push", out.Gain.Mid, out.Needs)
	return out
}

type half struct {
	n        int
	sum, sem float64
	days     int64
}

func (h *half) add(f *fit, i int) {
	x := f.obs[i]
	y := x.y
	if f.steps[i].own {
		y -= f.steps[i].s[2]
	}
	h.n++
	h.sum += y
	h.sem = max(h.sem, x.sem)
	h.days += int64(x.day)
}

func (h half) mean() float64 { return h.sum / float64(h.n) }
func (h half) se() float64   { return h.sem / math.Sqrt(float64(h.n)) }
func (h half) day() rom.Date { return rom.Date(h.days / int64(h.n)) }

// ordinaryGain is what the control cohort of HA2021 gains between two days,
// where its curve covers both and still rises by a degree or more a month.
func ordinaryGain(s Series, from, to rom.Date) (float64, bool) {
	if s.Surgery == 0 || s.Key.Class != rom.Passive {
		return 0, false
	}
	a, okA := published(s.Key.Motion, from.Sub(s.Surgery))
	b, okB := published(s.Key.Motion, to.Sub(s.Surgery))
	gain := b.mean - a.mean
	return gain, okA && okB && gain*30 >= float64(to.Sub(from))
}

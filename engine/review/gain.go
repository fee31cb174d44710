package review

import (
	"unsling/engine/dose"
	"unsling/engine/rom"
	"unsling/engine/trend"
)

// Week is one week of dose beside gain for one motion. It is a picture and no
// proof: that more end-range time gives more motion was shown for stiff
// fingers (FLOWERS1994), not for repaired shoulders.
type Week struct {
	Number   int // complete weeks after surgery at its end
	From, To rom.Date
	// Seconds of end-range time a day, over the days that are known in full;
	// Days is how many those are. With none the dose is unknown, not zero.
	Seconds, Days int
	// Gain is the change of the smoothed level over the week; it is known
	// when readings lie within ten days of both ends.
	Gain      rom.Degrees
	GainKnown bool
}

const mostWeeks = 104

// gainReach is how far from the end of a week a reading may lie. Derived.
const gainReach = 10

// DoseAgainstGain returns the weeks from surgery to day for passive motion m of
// the operated arm, the oldest first, at most two years of them.
func DoseAgainstGain(h rom.History, ep rom.EpisodeID, m rom.Motion, day rom.Date, in Inputs) []Week {
	f, ok := gather(h, ep, day, in)
	if !ok || !f.after || m.ByLevel() {
		return nil
	}
	path := f.course.Summary(f.course.Passive(m)).Path
	first := f.e.Surgery.Add(7 * max(f.dayN/7-mostWeeks, 0))
	days := dose.Days(h, ep, first, day, f.told())
	var out []Week
	for from := first; from.Add(7) <= day; from = from.Add(7) {
		w := Week{Number: from.Add(7).Sub(f.e.Surgery) / 7, From: from, To: from.Add(6)}
		for _, d := range days {
			if d.Date >= w.From && d.Date <= w.To && d.Known && !d.Partial {
				w.Days++
				w.Seconds += d.Seconds(m)
			}
		}
		if w.Days > 0 {
			w.Seconds /= w.Days
		}
		a, okA := levelOn(path, w.From)
		b, okB := levelOn(path, w.To.Add(1))
		if okA && okB {
			w.Gain, w.GainKnown = b-a, true
		}
		out = append(out, w)
	}
	return out
}

// levelOn returns the level of a path on a day, in a straight line between the
// readings about it; ok is false without a reading within reach.
func levelOn(path []trend.Band, d rom.Date) (rom.Degrees, bool) {
	for i, b := range path {
		if b.Day < d {
			continue
		}
		if i == 0 || b.Day == d {
			return b.Mid, b.Day.Sub(d) <= gainReach
		}
		a := path[i-1]
		v := a.Mid + rom.Degrees(int64(b.Mid-a.Mid)*int64(d.Sub(a.Day))/int64(b.Day.Sub(a.Day)))
		return v, d.Sub(a.Day) <= gainReach || b.Day.Sub(d) <= gainReach
	}
	if n := len(path); n > 0 && d.Sub(path[n-1].Day) <= gainReach {
		return path[n-1].Mid, true
	}
	return 0, false
}

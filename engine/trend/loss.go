package trend

import (
	"fmt"
	"slices"

	"unsling/engine/rom"
)

// Loss says whether motion was really lost: means of readings of different
// days by one rater that differ by more than MDC95, which is not divided for
// the means, since the best stretch of many is chosen (see LossOf).
type Loss struct {
	Known bool
	Lost  bool
	Since rom.Date // first day on which it was lost
	// Before and After are the two means; From and To their days.
	Before, After rom.Degrees
	From, To      rom.Date
	MDC           rom.Degrees
	Own           bool // the patient's own readings
	Count         int  // days in After
	Why           string
}

// Delta is After less Before.
func (l Loss) Delta() rom.Degrees { return l.After - l.Before }

// lossRule is how means are formed: of old days and of new days.
type lossRule struct {
	old, recent int
	back        int // days looked back
}

var (
	// steady is for the whole course, early for the first weeks after a
	// release, where a call too many costs little. Both derived; how often
	// they are wrong stands in testdata/study.txt of package review.
	steady = lossRule{old: 5, recent: 3, back: 60}
	early  = lossRule{old: 3, recent: 3, back: 28}
)

// LossOf judges series k up to Day. A loss is entered when the newest mean of
// own readings (three days) lies more than MDC95 below the best earlier one
// (five days) of the last 60 days, or a clinician's reading that far below each
// of the two before. A clinic's reading of the same days that is high refutes
// own ones, and own readings about a clinic's that fell by less than half refute
// that one. A loss is left when half of it has come back, so that it does not
// flicker.
func (c *Course) LossOf(k Key, afterRelease bool) Loss {
	s := c.Summary(k)
	if !s.Known {
		return Loss{Why: "no readings"}
	}
	sign := 1.0
	if k.Motion.ByLevel() {
		sign = -1
	}
	var own, clinic []obs
	for i, x := range s.fit.obs {
		if x.aside || x.day > c.Day {
			continue
		}
		x.y = float64(sign * x.y)
		if x.self {
			x.y -= float64(sign * s.fit.steps[i].s[2]) // the bias, where it is known
			own = append(own, x)
		} else {
			clinic = append(clinic, x)
		}
	}
	r := steady
	if afterRelease {
		r = early
	}
	a, b := ownLoss(own, clinic, r), clinicLoss(clinic, own)
	out := a
	if b.Lost && !a.Lost || b.Known && !a.Known || b.Lost == a.Lost && b.Known && b.To > a.To {
		out = b
	}
	if !out.Known {
		out.Why = fmt.Sprintf("needs own readings on %d days, or two of the clinic; there are %d and %d", r.old+r.recent, len(own), len(clinic))
		return out
	}
	if sign < 0 {
		out.Before, out.After = -out.Before, -out.After
	}
	who := "clinic"
	if out.Own {
		who = fmt.Sprintf("mean of %d own days", out.Count)
	}
	out.Why = fmt.Sprintf("%s %s against %s before, smallest real change %s", who, out.After, out.Before, out.MDC)
	return out
}

func mean(list []obs) float64 {
	sum := 0.0
	for _, x := range list {
		sum += x.y
	}
	return sum / float64(len(list))
}

// within returns the observations between two days, both included.
func within(list []obs, from, to rom.Date) []obs {
	var out []obs
	for _, x := range list {
		if x.day >= from && x.day <= to {
			out = append(out, x)
		}
	}
	return out
}

func ownLoss(list, clinic []obs, r lossRule) Loss {
	out := Loss{Own: true, Count: r.recent}
	for i := r.old + r.recent; i <= len(list); i++ {
		recent := list[i-r.recent : i]
		last := recent[len(recent)-1]
		m := 0.0
		for _, x := range recent {
			m = max(m, mdc(x, x))
		}
		now := mean(recent)
		if out.Lost {
			out.After, out.To = tenths(now), last.day
			if before := out.Before.Float(); now >= before-m/2 {
				out.Lost = false
			}
			continue
		}
		best, at := 0.0, -1
		for j := i - r.recent; j >= r.old; j-- {
			if last.day.Sub(list[j-r.old].day) > r.back {
				break
			}
			if y := mean(list[j-r.old : j]); at < 0 || y > best {
				best, at = y, j
			}
		}
		if at < 0 {
			continue
		}
		out.Known = true
		out.Before, out.After, out.MDC = tenths(best), tenths(now), tenths(m)
		out.From, out.To = list[at-1].day, last.day
		refuted := slices.ContainsFunc(within(clinic, recent[0].day, last.day), func(x obs) bool { return x.y >= best-m/2 })
		if best-now > m && !refuted {
			out.Lost, out.Since = true, last.day
		}
	}
	return out
}

func clinicLoss(list, own []obs) Loss {
	out := Loss{Count: 1}
	for i := 1; i < len(list); i++ {
		x := list[i]
		if out.Lost {
			out.After, out.To = tenths(x.y), x.day
			if x.y >= out.Before.Float()-out.MDC.Float()/2 {
				out.Lost = false
			}
			continue
		}
		before := list[i-1]
		if i > 1 && list[i-2].y < before.y {
			before = list[i-2]
		}
		m := mdc(before, x)
		out.Known = true
		out.Before, out.After, out.MDC = tenths(before.y), tenths(x.y), tenths(m)
		out.From, out.To = before.day, x.day
		was, is := within(own, before.day.Add(-14), before.day.Add(14)), within(own, x.day.Add(-10), x.day.Add(10))
		refuted := len(was) >= 2 && len(is) >= 2 && mean(is) > mean(was)-m/2
		if before.y-x.y > m && !refuted {
			out.Lost, out.Since = true, x.day
		}
	}
	return out
}

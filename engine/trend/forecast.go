package trend

import (
	"fmt"
	"math"

	"unsling/engine/rom"
)

const (
	horizon  = 182 // days that a forecast looks ahead
	staleAge = 28  // days after which a level is too old to forecast from
	// easing is the number of days in which the slow end of a forecast halves
	// its rate, as recovery slows down: forward flexion gains 21.7 degrees in
	// months 3 to 6 and 3.3 in the next 18 (HA2021 Table 3). Derived.
	easing = 35
)

// Reach forecasts the day on which the level reaches target, for the clinic
// only. The early end goes on at the upper rate, the slow end at the lower
// rate, which eases; both start at their end of the level's interval (90 %).
// The model does not know how a recovery bends: in the simulated courses of
// the tests, on which the easing was chosen, the day fell into about four of
// five forecasts, not nine of ten.
// It never claims a day beyond half a year.
func (s Summary) Reach(target rom.Degrees) Forecast {
	sign := 1.0
	if s.Key.Motion.ByLevel() {
		sign = -1
	}
	switch {
	case !s.Known:
		return Forecast{Kind: ReachUnknown, Why: "there are no readings"}
	case sign*float64(s.Now.Mid-target) >= 0:
		return Forecast{Kind: Reached, Early: s.Last, Late: s.Last, Why: fmt.Sprintf("the level is %s", s.Now.Mid)}
	case s.Age > staleAge:
		return Forecast{Kind: ReachUnknown, Why: fmt.Sprintf("the newest reading is %d days old", s.Age)}
	case !s.RateKnown:
		return Forecast{Kind: ReachUnknown, Why: "a rate needs readings on three days"}
	}
	st := s.fit.steps[s.fit.newest()]
	gap := sign * (target.Float() - st.s[0])
	rate := sign * st.s[1]
	early, late := -1, -1
	for h := 1; h <= horizon; h++ {
		d := float64(h)
		sd := math.Sqrt(max(st.sp[0][0]+float64(2*d*st.sp[0][1])+float64(d*d*st.sp[1][1]), 0))
		if early < 0 && float64(rate*d)+float64(z90*sd) >= gap {
			early = h
		}
		e := eased(h)
		sd = math.Sqrt(max(st.sp[0][0]+float64(2*e*st.sp[0][1])+float64(e*e*st.sp[1][1]), 0))
		if late < 0 && float64(rate*e)-float64(z90*sd) >= gap {
			late = h
		}
	}
	why := fmt.Sprintf("level %s, rate %s a week (%s to %s)", s.Now.Mid, s.PerWeek.Mid, s.PerWeek.Low, s.PerWeek.High)
	switch {
	case early < 0 || float64(rate*eased(horizon)) < gap && float64(rate*horizon) < gap:
		return Forecast{Kind: OffCourse, Why: why + "; at this rate not within half a year"}
	case late < 0:
		return Forecast{Kind: ReachOpen, Early: s.Last.Add(early), Why: why + "; the slow end does not get there within half a year"}
	}
	return Forecast{Kind: ReachBetween, Early: s.Last.Add(early), Late: s.Last.Add(late), Why: why}
}

const z90 = 1.6449 // two-sided 90 %

// eased returns how many days at the full rate h days at an easing rate are
// worth: the rate halves after every easing days, in steps.
func eased(h int) float64 {
	total, rate := 0.0, 1.0
	for h > 0 {
		n := min(h, easing)
		total += float64(rate * float64(n))
		rate /= 2
		h -= n
	}
	return total
}

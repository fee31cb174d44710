package gonio

import "unsling/engine/rom"

// Tier is how a reading stands to the limit.
type Tier string

// The tiers.
const (
	Within Tier = ""      // at or below the limit
	Close  Tier = "close" // over, but by no more than the margin
	Over   Tier = "over"  // beyond the limit's margin, or over for the second time
)

// ErrorOf returns the error that aims are kept from limits by: one standard error,
// the figure that the patient sees as "could be 7 more or less", and never
// less than one degree. One and not two, since the wider margin would keep
// the arm 14 degrees from its limit and let it stiffen.
func ErrorOf(se rom.Degrees) rom.Degrees { return max(se, rom.Deg(1)) }

// Worst returns the more serious of two tiers.
func Worst(a, b Tier) Tier {
	switch {
	case a == Over || b == Over:
		return Over
	case a == Close || b == Close:
		return Close
	}
	return Within
}

// JudgeTrials judges each trial by itself with the error of the method, and
// returns the worst tier and the farthest angle. A trial past the limit is no
// better for the short one that it was averaged with.
func JudgeTrials(trials []rom.Trial, se rom.Degrees, l rom.Limit, oversBefore int) (worst Tier, farthest rom.Degrees) {
	for i, t := range trials {
		worst = Worst(worst, Judge(t.Angle, se, l, oversBefore))
		if i == 0 || t.Angle > farthest {
			farthest = t.Angle
		}
	}
	return worst, farthest
}

// MarginOf returns how far beyond the limit a reading with a standard error is
// clearly over: the plan's number of standard errors, and never less than one
// degree.
func MarginOf(l rom.Limit, se rom.Degrees) rom.Degrees { return l.Margin.Of(ErrorOf(se)) }

// Judge compares a reading with a limit. oversBefore is how many earlier
// readings of the motion were over the same limit, whether within error or
// not. An open limit has no tier; a locked one is over with any angle.
func Judge(angle, se rom.Degrees, l rom.Limit, oversBefore int) Tier {
	switch {
	case l.Class == rom.Locked:
		return Over
	case l.Open || l.Motion.ByLevel() || angle <= l.Ceiling:
		return Within
	case angle > l.Ceiling+MarginOf(l, se) || oversBefore > 0:
		return Over
	}
	return Close
}

// JudgeLevel does the same for hand behind back, where the error is one level
// (derived: MDC .053 of the C7-PSIS line, HBB2022, and a level about .05 of it, PMC3598670) and higher up
// the back is farther.
func JudgeLevel(got rom.Level, l rom.Limit, oversBefore int) Tier {
	switch {
	case l.Class == rom.Locked:
		return Over
	case l.Open || l.Highest == 0 || got >= l.Highest:
		return Within
	case got < l.Highest-1 || oversBefore > 0:
		return Over
	}
	return Close
}

// AimLine returns where the patient should stop: the limit less the error.
// ok is false when the motion is locked, open, or measured by level. The aim
// may be negative where the limit is near neutral.
func AimLine(l rom.Limit, se rom.Degrees) (aim rom.Degrees, ok bool) {
	if l.Class == rom.Locked || l.Open || l.Motion.ByLevel() {
		return 0, false
	}
	return l.Ceiling - ErrorOf(se), true
}

package gonio

import "unsling/engine/rom"

// ErrorOf returns the error that aims are kept from limits by: one standard error,
// the figure that the patient sees as "could be 7 more or less", and never
// less than one degree. One and not two, since the wider margin would keep
// the arm 14 degrees from its limit and let it stiffen.
func ErrorOf(se rom.Degrees) rom.Degrees { return max(se, rom.Deg(1)) }

// AimLine returns where the patient should stop: the limit less the error.
// ok is false when the motion is locked, open, or measured by level. The aim
// may be negative where the limit is near neutral.
func AimLine(l rom.Limit, se rom.Degrees) (aim rom.Degrees, ok bool) {
	if l.Class == rom.Locked || l.Open || l.Motion.ByLevel() {
		return 0, false
	}
	return l.Ceiling - ErrorOf(se), true
}

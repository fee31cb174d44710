package rom

import "strconv"

// Limit is what one phase permits of one motion of the operated arm. It is
// one row of a protocol: a motion without a row is locked.
type Limit struct {
	Motion Motion `json:"m"`
	// Class is the highest class of movement permitted.
	Class Class `json:"class"`
	// Floor is the lower end of the expected range by the end of the phase;
	// 0 when the source gives none. It is never shown to a patient as a target.
	Floor Degrees `json:"floor,omitempty"`
	// Ceiling is the angle the arm must not pass. It may be 0 (external
	// rotation to neutral). It means nothing when Open.
	Ceiling Degrees `json:"ceil"`
	// ActiveCeil is a lower ceiling for the arm's own work, where the source
	// gives one; 0 means Ceiling holds for every class. Staged goals often
	// differ for passive and active elevation.
	ActiveCeil Degrees `json:"active_ceil,omitempty"`
	// Highest is the ceiling of hand behind back, as a level that the thumb
	// must not pass upwards; 0 means none. It is set for that motion only.
	Highest Level `json:"highest,omitempty"`
	// Open says that the source permits the motion without a ceiling.
	Open bool   `json:"open,omitempty"`
	From Source `json:"src"`
	// PassedFrom is the plan's own, repeated here for those who judge by the row.
	PassedFrom Chance `json:"-"`
}

// Chance is a probability in percent: that from which an arm measured over a
// limit counts as having passed it, so that the patient is told to stop and call
// and the clinic has a matter of the day. 0 means DefaultPassedFrom. It is a
// choice without a source: a higher one spares false alarms and finds true ones
// later. The surgeon sets it in the protocol.
type Chance int

// DefaultPassedFrom was chosen on the first part of the study
// (engine/review/testdata/study.txt), which has a table of others.
const DefaultPassedFrom Chance = 70

// Valid reports whether c is 0 or lies between 50 and 95 percent.
func (c Chance) Valid() bool { return c == 0 || c >= 50 && c <= 95 }

// Or returns c, or the default for 0.
func (c Chance) Or() Chance {
	if c == 0 {
		return DefaultPassedFrom
	}
	return c
}

// String prints "70 %".
func (c Chance) String() string { return strconv.Itoa(int(c.Or())) + " %" }

// Validate checks the row against anatomy and itself.
func (l Limit) Validate() error {
	switch {
	case !l.Motion.Valid():
		return invalid("m", "is not a known motion")
	case l.Class < Passive || l.Class > Resisted:
		return invalid("class", "must be passive, active-assisted, active or resisted; leave the row out to lock the motion")
	case !l.From.Mark.Valid():
		return invalid("src", "must name a source and its mark")
	case l.ActiveCeil < 0 || l.ActiveCeil > l.Motion.AnatomicalMax():
		return invalid("active_ceil", "must lie between 0 and %s degrees", l.Motion.AnatomicalMax())
	case l.ActiveCeil != 0 && l.Motion.ByLevel():
		return invalid("active_ceil", "must be left out of a motion measured by level")
	case l.ActiveCeil != 0 && l.Class < Active:
		return invalid("active_ceil", "must be left out where active movement is not permitted")
	case l.ActiveCeil != 0 && !l.Open && l.ActiveCeil > l.Ceiling:
		return invalid("active_ceil", "must not lie above the ceiling")
	case l.Floor < Deg(-30) || l.Floor > l.Motion.AnatomicalMax():
		return invalid("floor", "must lie between -30 and %s degrees", l.Motion.AnatomicalMax())
	case l.Open:
		return nil
	case l.Motion.ByLevel():
		if l.Highest < LevelT1 || l.Highest > LevelThigh {
			return invalid("highest", "must be a level, or the row be open")
		}
		return nil
	case l.Ceiling < Deg(-30) || l.Ceiling > l.Motion.AnatomicalMax():
		return invalid("ceil", "must lie between -30 and %s degrees", l.Motion.AnatomicalMax())
	case l.Floor > l.Ceiling:
		return invalid("floor", "must not lie above the ceiling")
	}
	return nil
}

// Stricter returns the stricter of two rows of the same motion, field by
// field, with both sources where both contribute.
func (l Limit) Stricter(o Limit) Limit {
	out, kept, taken := l, false, false
	pick := func(other bool) {
		if other {
			taken = true
		} else {
			kept = true
		}
	}
	if o.Class != l.Class {
		pick(o.Class < l.Class)
		out.Class = min(l.Class, o.Class)
	}
	switch {
	case l.Open && o.Open:
	case l.Open || (!o.Open && tighter(o, l)):
		out.Open, out.Ceiling, out.Highest = o.Open, o.Ceiling, o.Highest
		pick(true)
	case o.Open || tighter(l, o):
		pick(false)
	}
	if a, b := l.ActiveCeil, o.ActiveCeil; a != b {
		other := a == 0 || (b != 0 && b < a)
		if other {
			out.ActiveCeil = b
		}
		pick(other)
	}
	if out.Class < Active {
		out.ActiveCeil = 0
	} else if !out.Open && out.ActiveCeil > out.Ceiling {
		out.ActiveCeil = 0 // the ceiling is the lower one for every class
	}
	if o.PassedFrom.Or() < l.PassedFrom.Or() {
		out.PassedFrom = o.PassedFrom // it warns earlier
	}
	out.Floor = min(l.Floor, o.Floor)
	if !out.Open && !out.Motion.ByLevel() {
		out.Floor = min(out.Floor, out.Ceiling)
	}
	switch {
	case taken && kept, !taken && !kept && l.From != o.From:
		out.From = l.From.Join(o.From)
	case taken:
		out.From = o.From
	}
	return out
}

func tighter(a, b Limit) bool {
	if a.Motion.ByLevel() {
		return a.Highest > b.Highest
	}
	return a.Ceiling < b.Ceiling
}

// NarrowerThan reports whether l permits less than o in any respect. An
// absent row is the zero Limit, which permits nothing.
func (l Limit) NarrowerThan(o Limit) bool {
	if l.Class < o.Class {
		return true
	}
	if o.Class == Locked {
		return false
	}
	return endsBelow(l, o) || (o.Class >= Active && endsBelow(l.For(Active), o.For(Active)))
}

// endsBelow reports whether a has a ceiling that b has not, or a lower one.
func endsBelow(a, b Limit) bool { return !a.Open && (b.Open || tighter(a, b)) }

// For returns the row as it holds for movements of one class: with the lower
// active ceiling in place of the ceiling where there is one.
func (l Limit) For(c Class) Limit {
	if c >= Active && l.ActiveCeil != 0 {
		l.Ceiling, l.Open = l.ActiveCeil, false
		l.Floor = min(l.Floor, l.Ceiling)
	}
	return l
}

package trend

import (
	"fmt"

	"unsling/engine/rom"
)

// Deficit measures passive motion m of the operated arm, whole arm, against
// the best reference there is: the other arm where staff marked it usable,
// else, once it was operated, that arm before surgery, else a norm for the age. The value is
// the smoothed level; references are newest readings.
func (c *Course) Deficit(m rom.Motion) Deficit {
	s := c.Summary(c.Passive(m))
	if !s.Known {
		return Deficit{Motion: m}
	}
	newest := s.fit.obs[s.fit.newest()]
	out := Deficit{Motion: m, Value: s.Now.Mid, On: s.Last}
	var ref obs
	if in, o, ok := c.other(m); ok {
		ref, out.Against, out.RefOn = o, ByOtherArm, in.On
		out.Source = rom.Source{Key: "GILL2020", Mark: rom.Derived}
		if in.Self != newest.self {
			out.Caveat = "one arm was measured at home, the other at the clinic"
		}
	} else if in, o, ok := c.take(c.Episode.Side, m, 0, c.Day, true); ok && c.Episode.State.Operated() {
		ref, out.Against, out.RefOn = o, ByBaseline, in.On
		out.Source = rom.Source{Key: "COMMON", Mark: rom.Derived}
		out.Caveat = "the arm may have been stiff or painful before surgery"
	} else if n, ok := normFor(m, c.age()); ok {
		ref = obs{y: n.mean, sem: newest.sem}
		out.Against, out.Source, out.Caveat = ByNorm, n.src, n.caveat
	} else {
		return Deficit{Motion: m}
	}
	out.Reference = tenths(ref.y)
	out.MDC = tenths(mdc(newest, ref))
	out.Missing = out.Reference - out.Value
	if m.ByLevel() {
		out.Missing = -out.Missing
		out.LevelMissing = out.Missing.Whole()
	}
	out.Real = out.Missing > out.MDC
	return out
}

// age in years on Day, give or take one; 0 when unknown.
func (c *Course) age() int {
	if c.Episode.BornYear == 0 {
		return 0
	}
	return c.Day.Time().Year() - c.Episode.BornYear
}

// Total is the sum of the deficits against the other arm in abduction,
// forward flexion, external and internal rotation (TROMD of TAURO2006).
type Total struct {
	Known bool
	Sum   rom.Degrees
	Grade int // 1 to 3
	Parts []Deficit
	Why   string
}

// tauroMotions are the four; internal rotation is taken at 90 of abduction,
// else at the side, on both arms alike.
var tauroMotions = [][]rom.Motion{{rom.Abduction}, {rom.ForwardFlexion}, {rom.ERSide}, {rom.IR90, rom.IRSide}}

// TotalDeficit returns the total before surgery (base) or on Day. A motion in
// which the arm goes farther than the other counts as 0.
func (c *Course) TotalDeficit(base bool) Total {
	var out Total
	for _, choice := range tauroMotions {
		found := false
		for _, m := range choice {
			from := c.Day.Add(-maxAge)
			if base {
				from = 0
			}
			in, _, ok := c.take(c.Episode.Side, m, from, c.Day, base)
			ref, _, okRef := c.other(m)
			if !ok || !okRef {
				continue
			}
			d := Deficit{Motion: m, Against: ByOtherArm, Value: in.Value, Reference: ref.Value, Missing: ref.Value - in.Value, On: in.On, RefOn: ref.On}
			out.Parts = append(out.Parts, d)
			out.Sum += max(d.Missing, 0)
			found = true
			break
		}
		if !found {
			out.Why = fmt.Sprintf("no %s of both arms", choice[0])
			return out
		}
	}
	out.Known = true
	out.Grade, out.Why = tauroGrade(out.Sum)
	return out
}

// tauroGrade grades a total deficit. The grades are printed in steps of five
// degrees, so that between 20 and 25 nothing is defined: grade 2, and said.
func tauroGrade(sum rom.Degrees) (int, string) {
	switch {
	case sum <= rom.Deg(20):
		return 1, fmt.Sprintf("total deficit %s, grade 1 (0 to 20)", sum)
	case sum < rom.Deg(25):
		return 2, fmt.Sprintf("total deficit %s lies between grade 1 (to 20) and grade 2 (from 25), which the source leaves open: taken as grade 2", sum)
	case sum <= rom.Deg(70):
		return 2, fmt.Sprintf("total deficit %s, grade 2 (25 to 70)", sum)
	}
	return 3, fmt.Sprintf("total deficit %s, grade 3 (over 70)", sum)
}

// Pattern compares elevation with external rotation at the side: rotation
// often lags when elevation is already full (common practice, no source), and
// loss of external rotation at the side marks a stiff capsule (KELLEY2013).
// ceiling is the plan's limit of the rotation today, nil when open; where it
// is lower than the reference it takes the reference's place, since a joint
// that may not turn farther does not lag.
//
// Rotation lags when elevation has at least 85 % of its reference and
// rotation is short of its own by a quarter or more and by more than MDC95.
// The quarter is that of KELLEY2013; the rest is derived.
func (c *Course) Pattern(ceiling *rom.Degrees) Pattern {
	out := Pattern{Source: rom.Source{Key: "KELLEY2013", Mark: rom.Derived}}
	out.Elevation = c.Deficit(rom.ForwardFlexion)
	if !out.Elevation.Known() {
		out.Elevation = c.Deficit(rom.Scaption)
	}
	out.Rotation = c.Deficit(rom.ERSide)
	switch {
	case !out.Elevation.Known():
		out.Why = "no elevation with a reference"
		return out
	case !out.Rotation.Known():
		out.Why = "no external rotation at the side with a reference"
		return out
	case c.Day.Sub(out.Elevation.On) > maxAge || c.Day.Sub(out.Rotation.On) > maxAge:
		out.Why = fmt.Sprintf("the newest readings are older than %d days", maxAge)
		return out
	}
	r := &out.Rotation
	if ceiling != nil && *ceiling < r.Reference {
		out.CappedAt = ceiling
		r.Reference, r.Missing = *ceiling, *ceiling-r.Value
		r.Real = r.Missing > r.MDC
	}
	out.Known = true
	out.Lags = lags(out)
	out.Why = fmt.Sprintf("elevation %s of %s, rotation %s of %s", out.Elevation.Value, out.Elevation.Reference, r.Value, r.Reference)
	if out.CappedAt != nil {
		out.Why += " (the plan's limit)"
	}
	return out
}

func lags(p Pattern) bool {
	return p.Elevation.Share() >= 850 && p.Rotation.Real && 4*p.Rotation.Missing >= p.Rotation.Reference
}

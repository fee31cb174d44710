package trend

import (
	"slices"

	"unsling/engine/gonio"
	"unsling/engine/rom"
)

// obs is what one person found in one day by one method. Readings of that
// day share set-up and warm-up, so they count once, by their median, with the
// error of one (MDC is not divided by the square root of their number).
type obs struct {
	day    rom.Date
	y      float64 // degrees, or vertebral levels
	sem    float64 // same unit
	self   bool
	by     rom.StaffID
	method rom.Method
	points []Point
	aside  bool
}

// levelSEM is the standard error of a vertebral level in levels: 0.7, so that
// two levels are a real change (MDC95 1.9). Derived from HBB2022, whose MDC of
// the ratio (.036 passive, .053 active) is about one level, and widened since
// a level is read in whole steps.
const levelSEM = 0.7

// LevelChange is the least difference of two vertebral levels that is a real change, see levelSEM.
const LevelChange = 2

// observe merges points into observations in order of days. Points must be in
// order of days.
func observe(m rom.Motion, points []Point, o Options) []obs {
	raters := ratersOf(points)
	var out []obs
	for _, p := range points {
		at := -1
		for i := len(out) - 1; i >= 0 && out[i].day == p.Day; i-- {
			if out[i].by == p.By && out[i].method == p.Method {
				at = i
				break
			}
		}
		if at < 0 {
			out = append(out, obs{day: p.Day, by: p.By, method: p.Method, self: p.Self()})
			at = len(out) - 1
		}
		out[at].points = append(out[at].points, p)
	}
	for i := range out {
		out[i].y, out[i].sem = merge(m, out[i].points, raters, o)
	}
	return out
}

// ratersOf says how the clinic's readings compare: by one clinician or several.
func ratersOf(points []Point) gonio.Rater {
	var first rom.StaffID
	for _, p := range points {
		if p.Self() {
			continue
		}
		if first == "" {
			first = p.By
		} else if p.By != first {
			return gonio.OtherClinician
		}
	}
	return gonio.SameClinician
}

func merge(m rom.Motion, points []Point, clinic gonio.Rater, o Options) (y, sem float64) {
	values := make([]float64, 0, len(points))
	for _, p := range points {
		if m.ByLevel() {
			values = append(values, float64(p.Level))
			sem = levelSEM
			continue
		}
		values = append(values, p.Angle.Float())
		sem = max(sem, semOf(p, m, clinic, o))
	}
	slices.Sort(values)
	n := len(values)
	if n%2 == 1 {
		return values[n/2], sem
	}
	return (values[n/2-1] + values[n/2]) / 2, sem
}

// semOf is the standard error of one reading: that of motion, method and
// rater, or its own when that is larger.
func semOf(p Point, m rom.Motion, clinic gonio.Rater, o Options) float64 {
	r := clinic
	if p.Self() {
		r = gonio.Self
	}
	row, ok := gonio.SEMFor(p.Method, m, r)
	if !ok {
		row.SEM = rom.Deg(7)
	}
	switch {
	case p.Self():
		row.SEM = max(row.SEM, o.SelfSEM)
	case o.ClinicSEM > 0 && r == gonio.SameClinician && row.SEM == rom.Deg(4):
		row.SEM = o.ClinicSEM
	}
	return max(row.SEM, p.SE).Float()
}

// mdc returns the smallest difference between two observations that exceeds
// error: 1.96 * sqrt(sem1^2 + sem2^2), which is MDC95 when both are alike.
func mdc(a, b obs) float64 {
	if a.sem == b.sem {
		return gonio.MDC95(a.sem)
	}
	return z95 * hypot(a.sem, b.sem)
}

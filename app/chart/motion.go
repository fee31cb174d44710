package chart

import (
	"math"

	"unsling/engine/rom"
)

// SVG returns the chart as an SVG element: own readings as filled dots and the
// clinic's as hollow squares, each with a bar of one standard error either
// way; the other arm dashed with diamonds; the limit as a stepped line with
// the zone beyond it hatched; what is expected as a band; phases as quiet
// bands; changes of the plan as triangles under the axis. For the hand behind
// the back the axis runs from low to high levels upward. A plain chart has the
// names beside the lines and leaves phases and changes to the table.
func (c Motion) SVG() string {
	if c.Size == Plain {
		return c.plainSVG()
	}
	cv := newCanvas(c.Size)
	days, values, any := c.extent()
	if !any {
		return cv.empty(c.Words)
	}
	top := cv.legend(c.keys())
	p := plot{x0: 46, x1: cv.w - 14, y0: top + 10, y1: cv.h - cv.fs - 12}
	if p.y1-p.y0 < 170 {
		cv.h += 170 - (p.y1 - p.y0)
		p.y1 = cv.h - cv.fs - 12
	}
	title := ""
	if c.Axis == ByWeek && !c.Surgery.IsZero() && c.Words.Week != "" {
		title = c.Words.Week
		cv.h += cv.fs + 2
	}
	most := 8
	if c.Size == Narrow {
		most = 6
	}
	ticks := levelTicks(values)
	if !c.Motion.ByLevel() {
		ticks = values.round(degreeSteps, most)
	}
	p.xs = scale{days.lo, days.hi, p.x0, p.x1}
	p.ys = scale{values.lo, values.hi, p.y1, p.y0}
	if c.Motion.ByLevel() {
		p.ys = scale{values.hi, values.lo, p.y1, p.y0}
	}
	from, to := rom.Date(days.lo), rom.Date(days.hi)

	c.phases(cv, p)
	cv.axes(p, ticks, func(v float64) string { return c.Words.value(c.Motion, rom.Deg(int(v))) },
		cv.dayTicks(c.Axis, c.Words, c.Surgery, from, to, p.x1-p.x0), title)
	c.bands(cv, p)
	c.limit(cv, p)
	c.verticals(cv, p)
	c.other(cv, p)
	c.points(cv, p)
	return cv.svg(c.Words)
}

// v is the value of an angle on the axis: degrees, or a level.
func v(d rom.Degrees) float64 { return d.Float() }

func (c Motion) good(p Point) bool { return plottableDay(p.Day) && plottable(p.Value) }

// extent finds what the axes must show; any is false without a single value.
func (c Motion) extent() (days, values span, any bool) {
	for _, ps := range [][]Point{c.Own, c.Clinic} {
		for _, p := range ps {
			if c.good(p) && c.inside(p.Day) {
				days.add(float64(p.Day))
				values.add(v(p.Value - p.SE))
				values.add(v(p.Value + p.SE))
				any = true
			}
		}
	}
	for _, p := range c.Other {
		if c.good(p) {
			values.add(v(p.Value))
			any = true
			if c.inside(p.Day) && (len(c.Other) > 1 || len(c.Own)+len(c.Clinic) == 0) {
				days.add(float64(p.Day))
			}
		}
	}
	for _, r := range append(append([]Range{}, c.Expected...), c.Trend...) {
		if plottableDay(r.Day) && plottable(r.Low) && plottable(r.High) && c.inside(r.Day) {
			days.add(float64(r.Day))
			values.add(v(r.Low))
			values.add(v(r.High))
			any = true
		}
	}
	for _, d := range []rom.Date{c.From, c.To, c.Today} {
		if plottableDay(d) {
			days.add(float64(d))
		}
	}
	if plottableDay(c.Surgery) && days.any && float64(c.Surgery) < days.hi && days.lo-float64(c.Surgery) < 200 && c.inside(c.Surgery) {
		days.add(float64(c.Surgery))
	}
	for i, s := range c.Limit {
		if !plottable(s.Ceiling) || s.Free || s.Locked {
			continue
		}
		ends := i+1 < len(c.Limit) && float64(c.Limit[i+1].From) <= days.lo
		if days.any && !ends && float64(s.From) <= days.hi {
			values.add(v(s.Ceiling))
			any = true
		}
	}
	if plottableDay(c.From) {
		days.lo = float64(c.From)
	}
	if plottableDay(c.To) && c.To > c.From {
		days.hi = float64(c.To)
	}
	if !days.any || !values.any {
		return days, values, false
	}
	if days.hi-days.lo < 6 {
		mid := math.Floor((days.lo + days.hi) / 2)
		days.lo, days.hi = mid-3, mid+3
	}
	if c.Motion.ByLevel() {
		values.lo, values.hi = math.Max(1, values.lo-1), math.Min(20, values.hi+1)
	} else if values.lo > 0 && values.lo < 40 {
		values.lo = 0
	}
	return days, values, any
}

func (c Motion) inside(d rom.Date) bool {
	return (c.From.IsZero() || d >= c.From) && (c.To.IsZero() || d <= c.To)
}

func (c Motion) keys() (ks []key) {
	add := func(on bool, word string, g func(*canvas, pt)) {
		if on {
			ks = append(ks, key{word, g})
		}
	}
	w := c.Words
	add(len(c.Own) > 0, w.Own, func(cv *canvas, p pt) {
		cv.bar("chart-own-error", p.x, p.y-8, p.y+8)
		cv.dot("chart-own", p, 4)
	})
	add(len(c.Clinic) > 0, w.Clinic, func(cv *canvas, p pt) { cv.square("chart-clinic", p, 4) })
	add(len(c.Trend) > 0, w.Trend, func(cv *canvas, p pt) {
		cv.rect("chart-trend-band", p.x-11, p.y-6, p.x+11, p.y+6)
		cv.line("chart-trend", pt{p.x - 11, p.y}, pt{p.x + 11, p.y}, "")
	})
	add(len(c.Limit) > 0, w.Limit, func(cv *canvas, p pt) {
		cv.hatch("chart-beyond", p.x-11, p.y-8, p.x+11, p.y+4, 5)
		cv.line("chart-limit", pt{p.x - 11, p.y + 4}, pt{p.x + 11, p.y + 4}, "")
	})
	locked := false
	for _, s := range c.Limit {
		locked = locked || s.Locked
	}
	add(locked, w.Locked, func(cv *canvas, p pt) { cv.hatch("chart-locked", p.x-11, p.y-7, p.x+11, p.y+7, 5) })
	add(len(c.Other) > 0, w.Other, func(cv *canvas, p pt) {
		cv.line("chart-other", pt{p.x - 11, p.y}, pt{p.x + 11, p.y}, "6 4")
		cv.diamond("chart-other-mark", p, 4)
	})
	add(len(c.Expected) > 0, w.Expected, func(cv *canvas, p pt) {
		cv.rect("chart-expected", p.x-11, p.y-6, p.x+11, p.y+6)
	})
	add(len(c.Changes) > 0, w.Change, func(cv *canvas, p pt) { cv.triangle("chart-change", p, 4.5) })
	return ks
}

func (c Motion) phases(cv *canvas, p plot) {
	for i, s := range c.Phases {
		a, b := p.xs.clip(float64(s.From)), p.xs.clip(float64(s.To)+1)
		if s.To.IsZero() {
			b = p.xs.v1
		}
		if b <= a {
			continue
		}
		x0, x1 := p.xs.at(a), p.xs.at(b)
		if i%2 == 0 {
			cv.rect("chart-phase", x0, p.y0, x1, p.y1)
		} else {
			cv.line("chart-phase-edge", pt{x0, p.y0}, pt{x0, p.y1}, "")
			cv.line("chart-phase-edge", pt{x1, p.y0}, pt{x1, p.y1}, "")
		}
		if cv.textWidth(s.Name)+8 <= x1-x0 {
			cv.text("chart-quiet", pt{x0 + 4, p.y1 - 6}, "", s.Name)
		}
	}
}

// bands draws what is expected, and the trend with its interval.
func (c Motion) bands(cv *canvas, p plot) {
	band := func(class string, rs []Range, mid bool) {
		var low, high, line []pt
		for _, r := range rs {
			if !plottableDay(r.Day) || !plottable(r.Low) || !plottable(r.High) || !p.xs.holds(float64(r.Day)) {
				continue
			}
			low = append(low, p.at(r.Day, p.ys.clip(v(r.Low))))
			high = append(high, p.at(r.Day, p.ys.clip(v(r.High))))
			line = append(line, p.at(r.Day, p.ys.clip(v(r.Mid))))
		}
		area := append([]pt{}, high...)
		for i := len(low) - 1; i >= 0; i-- {
			area = append(area, low[i])
		}
		cv.poly(class, area, true, "")
		if mid {
			cv.poly("chart-trend", line, false, "")
		} else {
			cv.poly("chart-expected-edge", low, false, "2 4")
			cv.poly("chart-expected-edge", high, false, "2 4")
		}
	}
	band("chart-expected", c.Expected, false)
	band("chart-trend-band", c.Trend, true)
}

// stretch is from when to when a step of the limit holds, within the axis.
func (c Motion) stretch(p plot, i int) (a, b float64) {
	a, b = p.xs.clip(float64(c.Limit[i].From)), p.xs.v1
	if i+1 < len(c.Limit) {
		b = p.xs.clip(float64(c.Limit[i+1].From))
	}
	return a, b
}

// limit draws the stepped line and hatches the zone beyond it; a locked
// stretch is hatched from top to bottom.
func (c Motion) limit(cv *canvas, p plot) {
	var prev []pt // end of the step before, if the line goes on
	for i, s := range c.Limit {
		a, b := c.stretch(p, i)
		if b <= a || (!s.Free && !s.Locked && !plottable(s.Ceiling)) {
			continue
		}
		x0, x1 := p.xs.at(a), p.xs.at(b)
		switch {
		case s.Free:
			prev = nil
		case s.Locked:
			cv.hatch("chart-locked", x0, p.y0, x1, p.y1, 9)
			prev = nil
		default:
			y := p.ys.at(p.ys.clip(v(s.Ceiling)))
			cv.rect("chart-beyond-area", x0, p.y0, x1, y)
			cv.hatch("chart-beyond", x0, p.y0, x1, y, 9)
			cv.poly("chart-limit", append(prev, pt{x0, y}, pt{x1, y}), false, "")
			prev = []pt{{x1, y}}
		}
	}
}

// verticals draws surgery, today and the changes of the plan.
func (c Motion) verticals(cv *canvas, p plot) {
	day := func(class string, d rom.Date, dash, word string) {
		if !plottableDay(d) || !p.xs.holds(float64(d)) {
			return
		}
		x := p.xs.at(float64(d))
		cv.line(class, pt{x, p.y0}, pt{x, p.y1}, dash)
		anchor, dx := "", 4.0
		if x+4+cv.textWidth(word) > p.x1 {
			anchor, dx = "end", -4
		}
		cv.text("chart-quiet", pt{x + dx, p.y0 + cv.fs - 1}, anchor, word)
	}
	day("chart-surgery", c.Surgery, "8 3", c.Words.Surgery)
	day("chart-today", c.Today, "1 4", c.Words.Today)
	for _, d := range c.Changes {
		if plottableDay(d) && p.xs.holds(float64(d)) {
			cv.triangle("chart-change", pt{p.xs.at(float64(d)), p.y1 + 5}, 4)
		}
	}
}

func (c Motion) other(cv *canvas, p plot) {
	var ps []pt
	var said []string
	for _, o := range c.Other {
		if c.good(o) && (len(c.Other) == 1 || p.xs.holds(float64(o.Day))) {
			ps, said = append(ps, p.at(o.Day, p.ys.clip(v(o.Value)))), append(said, c.says(o, c.Words.Other))
		}
	}
	if len(ps) == 0 {
		return
	}
	if len(ps) == 1 {
		y := ps[0].y
		cv.line("chart-other", pt{p.x0, y}, pt{p.x1, y}, "6 4")
		cv.marked(said[0], func() { cv.diamond("chart-other-mark", pt{p.x1 - 5, y}, 4.5) })
		return
	}
	cv.poly("chart-other", ps, false, "6 4")
	for i, q := range ps {
		cv.marked(said[i], func() { cv.diamond("chart-other-mark", q, 4.5) })
	}
}

// says is a reading in words, for who points at its mark.
func (c Motion) says(q Point, who string) string {
	s := c.Words.fullDate(q.Day) + ": " + c.Words.value(c.Motion, q.Value)
	if q.SE > 0 && !c.Motion.ByLevel() {
		s += " \u00b1 " + degrees(q.SE)
	}
	if who != "" {
		s += ", " + who
	}
	return s
}

// place is where readings lie and what each says; those with an error are told
// to fault with its ends.
func (c Motion) place(p plot, who string, ps []Point, fault func(x, lo, hi float64)) (line []pt, said []string) {
	for _, q := range ps {
		if !c.good(q) || !p.xs.holds(float64(q.Day)) {
			continue
		}
		at := p.at(q.Day, p.ys.clip(v(q.Value)))
		line, said = append(line, at), append(said, c.says(q, who))
		if q.SE > 0 {
			fault(at.x, p.ys.at(p.ys.clip(v(q.Value-q.SE))), p.ys.at(p.ys.clip(v(q.Value+q.SE))))
		}
	}
	return line, said
}

func (c Motion) points(cv *canvas, p plot) {
	draw := func(class, who string, ps []Point, join bool, mark func(pt)) {
		line, said := c.place(p, who, ps, func(x, lo, hi float64) { cv.bar(class+"-error", x, lo, hi) })
		if join {
			cv.poly(class+"-line", line, false, "")
		}
		for i, at := range line {
			cv.marked(said[i], func() { mark(at) })
		}
	}
	r := 4.0
	if len(c.Own) > 60 {
		r = 2.6
	}
	draw("chart-own", c.Words.Own, c.Own, len(c.Trend) == 0, func(q pt) { cv.dot("chart-own", q, r) })
	draw("chart-clinic", c.Words.Clinic, c.Clinic, false, func(q pt) { cv.square("chart-clinic", q, 4.2) })
}

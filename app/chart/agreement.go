package chart

import (
	"strconv"

	"unsling/engine/rom"
)

// SVG returns the plot of difference against mean.
func (c Agreement) SVG() string {
	cv := newCanvas(c.Size)
	var means, diffs span
	var ps []pt
	for _, q := range c.Pairs {
		if !plottable(q.Own) || !plottable(q.Clinic) {
			continue
		}
		m, d := v(q.Own+q.Clinic)/2, v(q.Own-q.Clinic)
		means.add(m)
		diffs.add(d)
		ps = append(ps, pt{m, d})
	}
	if len(ps) == 0 {
		return cv.empty(c.Words)
	}
	diffs.add(0)
	bounds := c.HasBounds && plottable(c.Bias) && plottable(c.Lower) && plottable(c.Upper)
	if bounds {
		diffs.add(v(c.Lower))
		diffs.add(v(c.Upper))
	}
	xt, yt := means.round(degreeSteps, 6), diffs.round(degreeSteps, 7)
	w := c.Words
	ks := []key{}
	if bounds {
		ks = append(ks,
			key{w.Mean, func(cv *canvas, p pt) { cv.line("chart-bias", pt{p.x - 11, p.y}, pt{p.x + 11, p.y}, "") }},
			key{w.Bounds, func(cv *canvas, p pt) { cv.line("chart-bounds", pt{p.x - 11, p.y}, pt{p.x + 11, p.y}, "7 4") }})
	}
	top := cv.legend(ks)
	p := cv.titled(top, c.AxisDiffer, c.AxisMean)
	p.xs, p.ys = scale{means.lo, means.hi, p.x0, p.x1}, scale{diffs.lo, diffs.hi, p.y1, p.y0}
	angle := func(v float64) string { return degrees(rom.Deg(int(v))) }
	cv.grid(p, xt, yt, angle, angle)
	cv.line("chart-axis", pt{p.x0, p.ys.at(0)}, pt{p.x1, p.ys.at(0)}, "")
	if bounds {
		for _, d := range []rom.Degrees{c.Lower, c.Upper} {
			cv.line("chart-bounds", pt{p.x0, p.ys.at(v(d))}, pt{p.x1, p.ys.at(v(d))}, "7 4")
		}
		cv.line("chart-bias", pt{p.x0, p.ys.at(v(c.Bias))}, pt{p.x1, p.ys.at(v(c.Bias))}, "")
	}
	for _, q := range ps {
		cv.dot("chart-own", pt{p.xs.at(q.x), p.ys.at(q.y)}, 4)
	}
	return cv.svg(w)
}

// titled leaves room for axis titles, which are written upright: that of the
// vertical axis above it, that of the horizontal one under it.
func (c *canvas) titled(top float64, y, x string) plot {
	p := plot{x0: 50, x1: c.w - 14, y0: top + 10, y1: c.h - c.fs - 12}
	if y != "" {
		c.text("chart-quiet", pt{4, top + c.fs}, "", y)
		p.y0 += c.fs + 6
	}
	if x != "" {
		c.text("chart-quiet", pt{c.w - 14, c.h - 4}, "end", x)
		p.y1 -= c.fs + 2
	}
	return p
}

// grid draws two numeric axes.
func (c *canvas) grid(p plot, xt, yt []float64, across, label func(float64) string) {
	for _, v := range yt {
		y := p.ys.at(v)
		c.line("chart-grid", pt{p.x0, y}, pt{p.x1, y}, "")
		c.text("chart-text", pt{p.x0 - 6, y + c.fs*0.35}, "end", label(v))
	}
	for _, v := range xt {
		x := p.xs.at(v)
		c.line("chart-axis", pt{x, p.y1}, pt{x, p.y1 + 4}, "")
		half := c.textWidth(across(v)) / 2
		c.text("chart-text", pt{min(x, c.w-half-4), p.y1 + c.fs + 6}, "middle", across(v))
	}
	c.line("chart-axis", pt{p.x0, p.y1}, pt{p.x1, p.y1}, "")
}

// Table returns the same facts as rows; the first row is the header.
func (c Agreement) Table() [][]string {
	w := c.Words
	rows := [][]string{{w.Own, w.Clinic, c.AxisDiffer}}
	for _, q := range c.Pairs {
		rows = append(rows, []string{degrees(q.Own), degrees(q.Clinic), degrees(q.Own - q.Clinic)})
	}
	if c.HasBounds {
		rows = append(rows, []string{w.Mean, "", degrees(c.Bias)},
			[]string{w.Bounds, degrees(c.Lower), degrees(c.Upper)})
	}
	return rows
}

// SVG returns the plot of rotation against elevation with the line on which
// both are equal; the readings are joined in order of days, the newest filled.
func (c Pattern) SVG() string {
	cv := newCanvas(c.Size)
	cv.h = cv.w
	if c.Size == Wide {
		cv.w, cv.h = 480, 420
	}
	var xs, ys span
	var ps []pt
	for _, s := range c.Points {
		if !plottableDay(s.Day) || !plottableShare(s.Elevation) || !plottableShare(s.Rotation) {
			continue
		}
		q := pt{float64(s.Elevation) / 10, float64(s.Rotation) / 10}
		xs.add(q.x)
		ys.add(q.y)
		ps = append(ps, q)
	}
	if len(ps) == 0 {
		return cv.empty(c.Words)
	}
	for _, s := range []*span{&xs, &ys} {
		s.add(0)
		s.add(100)
	}
	xt, yt := xs.round(shareSteps, 6), ys.round(shareSteps, 6)
	p := cv.titled(0, c.AxisRotation, c.AxisElevation)
	p.xs, p.ys = scale{xs.lo, xs.hi, p.x0, p.x1}, scale{ys.lo, ys.hi, p.y1, p.y0}
	percent := func(v float64) string { return strconv.Itoa(int(v)) + "%" }
	cv.grid(p, xt, yt, percent, percent)
	lo, hi := max(xs.lo, ys.lo), min(xs.hi, ys.hi)
	cv.line("chart-bounds", pt{p.xs.at(lo), p.ys.at(lo)}, pt{p.xs.at(hi), p.ys.at(hi)}, "7 4")
	line := make([]pt, len(ps))
	for i, q := range ps {
		line[i] = pt{p.xs.at(q.x), p.ys.at(q.y)}
	}
	cv.poly("chart-own-line", line, false, "")
	for i, q := range line {
		class := "chart-before"
		if i == len(line)-1 {
			class = "chart-own"
		}
		cv.dot(class, q, 4)
	}
	return cv.svg(c.Words)
}

func plottableShare(perMille int) bool { return perMille >= -500 && perMille <= 3000 }

// Table returns the same facts as rows; the first row is the header.
func (c Pattern) Table() [][]string {
	rows := [][]string{{c.Words.Day, c.AxisElevation, c.AxisRotation}}
	percent := func(n int) string { return strconv.Itoa((n+5)/10) + "%" }
	for _, s := range c.Points {
		rows = append(rows, []string{c.Words.fullDate(s.Day), percent(s.Elevation), percent(s.Rotation)})
	}
	return rows
}

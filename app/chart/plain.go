package chart

import (
	"strings"

	"unsling/engine/rom"
)

// plainWidths are the widths of a plain chart, by the text size that the
// reader chose. Text of plainText units is 16 CSS px on a phone of 360 px, and
// grows as the width shrinks.
var plainWidths = [...]float64{300, 245, 197}

const plainText = 16

func plainCanvas(large int) *canvas {
	w := plainWidths[max(0, min(large, len(plainWidths)-1))]
	return &canvas{w: w, h: w, fs: plainText, plain: true}
}

// plainSVG is the chart for an untrained eye: the names stand beside what they
// name, few values on the axes, large dots, the last one with its value. Where
// there is no room for a name it goes into a legend below. Changes of the plan
// and phases are left to the table.
func (c Motion) plainSVG() string {
	cv := plainCanvas(c.Large)
	days, values, any := c.withoutErrors().extent()
	if !any {
		return cv.empty(c.Words)
	}
	p := plot{x0: cv.textWidth("120\u00b0") + 8, x1: cv.w - 12, y0: 1.9 * cv.fs, y1: 1.9*cv.fs + float64(0.74*cv.w)}
	ticks := levelTicks(values)
	name := func(v float64) string { return c.Words.value(c.Motion, rom.Deg(int(v))) }
	p.ys = scale{values.hi, values.lo, p.y1, p.y0}
	if c.Motion.ByLevel() {
		p.x0 = 10 // levels are words, which stand inside
	} else {
		ticks = values.round(degreeSteps, 4)
		p.ys = scale{values.lo, values.hi, p.y1, p.y0}
	}
	p.xs = scale{days.lo, days.hi, p.x0, p.x1}
	cv.h = p.y1 + float64(2.7*cv.fs)
	width := p.x1 - p.x0
	if c.Axis == ByWeek {
		width = 96 // four weeks are named at most
	}
	put := &placer{c: cv, area: box{p.x0 + 1, 0, cv.w - 2, p.y1 - 2}}
	outside := name
	if c.Motion.ByLevel() {
		outside = func(float64) string { return "" }
	}
	cv.axes(p, ticks, outside, cv.dayTicks(c.Axis, c.Words, c.Surgery, rom.Date(days.lo), rom.Date(days.hi), width), "")
	c.underAxis(cv, p)
	c.bands(cv, p)
	c.limit(cv, p)
	c.other(cv, p)
	c.plainPoints(cv, p, put)
	rest := c.names(cv, p, put)
	if c.Motion.ByLevel() {
		for _, v := range ticks {
			y := p.ys.at(v)
			put.put("chart-quiet", name(v), spot{pt{p.x0 + 4, y - 4}, ""}, spot{pt{p.x0 + 4, y + cv.fs}, ""}, spot{pt{p.x1, y - 4}, "end"})
		}
	}
	cv.h += cv.legendAt(cv.h, rest)
	return cv.svg(c.Words)
}

// withoutErrors is the chart whose axis need not hold the errors.
func (c Motion) withoutErrors() Motion {
	bare := func(ps []Point) (out []Point) {
		for _, p := range ps {
			p.SE = 0
			out = append(out, p)
		}
		return out
	}
	c.Own, c.Clinic = bare(c.Own), bare(c.Clinic)
	return c
}

// underAxis says what the axis counts, and where today is.
func (c Motion) underAxis(cv *canvas, p plot) {
	y := p.y1 + float64(2.4*cv.fs)
	unit := ""
	if c.Axis == ByWeek && !c.Surgery.IsZero() {
		unit = c.Words.Week
		cv.text("chart-quiet", pt{2, y}, "", unit)
	}
	if !plottableDay(c.Today) || !p.xs.holds(float64(c.Today)) {
		return
	}
	x := p.xs.at(float64(c.Today))
	at := spot{pt{min(x+cv.labelWidth(c.Words.Today)/2, cv.w-2), y}, "end"}
	cv.line("chart-today", pt{x, p.y0}, pt{x, p.y1 + 6}, "1 4")
	if cv.labelBox(c.Words.Today, at).x0 > cv.labelWidth(unit)+6 {
		cv.text("chart-quiet", at.at, at.anchor, c.Words.Today)
	}
}

// plainPoints draws the readings, with their errors as pale strokes.
func (c Motion) plainPoints(cv *canvas, p plot, put *placer) {
	r := 5.5
	if len(c.Own) > 30 {
		r = 3
	}
	draw := func(class, who string, ps []Point, mark func(pt, bool)) {
		line, said := c.place(p, who, ps, func(x, lo, hi float64) {
			if !c.Motion.ByLevel() {
				cv.line(class+"-error", pt{x, lo}, pt{x, hi}, "")
			}
		})
		if class == "chart-own" {
			cv.poly(class+"-line", line, false, "")
			put.along(line)
		}
		for i, at := range line {
			cv.marked(said[i], func() { mark(at, i == len(line)-1) })
			put.mark(at, r+1)
		}
	}
	draw("chart-clinic", c.Words.Clinic, c.Clinic, func(at pt, _ bool) { cv.square("chart-clinic", at, r) })
	draw("chart-own", c.Words.Own, c.Own, func(at pt, last bool) {
		if last {
			cv.dot("chart-own", at, r+3)
			put.mark(at, r+4)
			return
		}
		cv.dot("chart-own", at, r)
	})
}

// names writes the names into the chart and returns the keys of those for
// which there was no room.
func (c Motion) names(cv *canvas, p plot, put *placer) (rest []key) {
	keys := map[string]key{}
	for _, k := range c.keys() {
		keys[k.word] = k
	}
	or := func(placed bool, word, value string) {
		if k, ok := keys[word]; ok && !placed {
			if !c.Motion.ByLevel() { // levels are words, too long for a row
				k.word += value
			}
			rest = append(rest, k)
		}
	}
	lines, named := c.limitNames(cv, p)
	for _, l := range lines {
		put.along(l)
	}
	w := c.Words
	last := func(class, word string, ps []Point) {
		for i := len(ps) - 1; i >= 0; i-- {
			if q := ps[i]; c.good(q) && p.xs.holds(float64(q.Day)) {
				at := p.at(q.Day, p.ys.clip(v(q.Value)))
				value := " " + w.value(c.Motion, q.Value)
				or(put.put(class, word+value, cv.around(at, 8, p.x0, p.x1)...), word, value)
				return
			}
		}
	}
	last("chart-name-own", w.Own, c.Own)
	if len(lines) > 0 {
		or(put.put("chart-name-limit", w.Limit+named.value, named.spots...), w.Limit, named.value)
	}
	last("chart-name", w.Clinic, c.Clinic)
	if n := c.otherName(p); len(n.spots) > 0 {
		or(put.put("chart-name", w.Other+n.value, n.spots...), w.Other, n.value)
	}
	or(c.nameLocked(cv, p, put), w.Locked, "")
	for i := len(c.Expected) - 1; i >= 0; i -= max(1, len(c.Expected)-1) {
		e := c.Expected[i]
		if !p.xs.holds(float64(e.Day)) {
			continue
		}
		mid, low := p.at(e.Day, p.ys.clip(v(e.Mid))), p.at(e.Day, p.ys.clip(v(e.Low)))
		if put.put("chart-name", w.Expected, append([]spot{{pt{p.x1, mid.y}, "end"}, {pt{p.x1, low.y - 4}, "end"}}, cv.around(low, 2, p.x0, p.x1)...)...) {
			return rest
		}
	}
	or(len(c.Expected) == 0, w.Expected, "")
	return rest
}

// naming is a value that follows a name, and where both may stand.
type naming struct {
	value string
	spots []spot
}

// limitNames are the lines of the limit, and where its name and value may
// stand: above the last line, then below it. A limit that was lifted has no
// value any more.
func (c Motion) limitNames(cv *canvas, p plot) (lines [][]pt, n naming) {
	for i := len(c.Limit) - 1; i >= 0; i-- {
		s := c.Limit[i]
		a, b := c.stretch(p, i)
		if b <= a || s.Free || s.Locked || !plottable(s.Ceiling) {
			continue
		}
		y, x0, x1 := p.ys.at(p.ys.clip(v(s.Ceiling))), p.xs.at(a), p.xs.at(b)
		lines = append(lines, []pt{{x0, y}, {x1, y}})
		if len(lines) > 1 {
			continue // the name is that of the last limit
		}
		if i == len(c.Limit)-1 {
			n.value = " " + c.Words.value(c.Motion, floored(s.Ceiling))
		}
		for _, at := range []float64{y - 6, y - 6 - cv.fs, y + cv.fs + 2, y - 6 - 2*cv.fs, y + 2*cv.fs + 2} {
			n.spots = append(n.spots, spot{pt{x1, at}, "end"}, spot{pt{x0, at}, ""}, spot{pt{(x0 + x1) / 2, at}, "middle"})
		}
	}
	return lines, n
}

// floored is a limit as it is printed: never rounded up.
func floored(d rom.Degrees) rom.Degrees { return rom.Deg(d.Floor()) }

// otherName is the last value of the other arm, on its line.
func (c Motion) otherName(p plot) (n naming) {
	for i := len(c.Other) - 1; i >= 0; i-- {
		o := c.Other[i]
		if !c.good(o) || len(c.Other) > 1 && !p.xs.holds(float64(o.Day)) {
			continue
		}
		y := p.ys.at(p.ys.clip(v(o.Value)))
		n.value = " " + c.Words.value(c.Motion, o.Value)
		for _, at := range []float64{y - 5, y + plainText} {
			n.spots = append(n.spots, spot{pt{p.x0 + 4, at}, ""}, spot{pt{p.x1 - 14, at}, "end"}, spot{pt{(p.x0 + p.x1) / 2, at}, "middle"})
		}
		return n
	}
	return n
}

// nameLocked writes into the hatched stretch what it is, a word a line where
// it is narrow.
func (c Motion) nameLocked(cv *canvas, p plot, put *placer) bool {
	any := false
	for i, s := range c.Limit {
		a, b := c.stretch(p, i)
		if !s.Locked || b <= a {
			continue
		}
		any = true
		x0, x1 := p.xs.at(a), p.xs.at(b)
		for _, lines := range [][]string{{c.Words.Locked}, strings.Fields(c.Words.Locked)} {
			if put.block("chart-name", lines, x0, x1, p.y0, p.y1) {
				return true
			}
		}
	}
	return !any
}

// block writes lines under one another in the middle of a stretch, at the first
// height at which all are free.
func (p *placer) block(class string, lines []string, x0, x1, y0, y1 float64) bool {
	step := 1.15 * p.c.fs
	for y := y0 + (y1-y0)/3; y+step*float64(len(lines)) < y1; y += step {
		boxes := make([]box, len(lines))
		ok := true
		for i, s := range lines {
			boxes[i] = p.c.labelBox(s, spot{pt{(x0 + x1) / 2, y + float64(step*float64(i))}, "middle"})
			ok = ok && boxes[i].x0 >= x0-6 && boxes[i].x1 <= x1+6 && p.free(boxes[i])
		}
		if !ok {
			continue
		}
		for i, s := range lines {
			p.taken = append(p.taken, boxes[i])
			p.c.text(class, pt{(x0 + x1) / 2, y + float64(step*float64(i))}, "middle", s)
		}
		return true
	}
	return false
}

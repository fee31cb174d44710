package chart

import (
	"strconv"

	"unsling/engine/rom"
)

// SVG returns the chart: per day a ring for the pain before, a dot for the
// pain after, joined by a line; the highest permitted pain as a dashed line.
func (c Pain) SVG() string {
	cv := newCanvas(c.Size)
	cv.h = 230
	var days span
	given := false
	for _, d := range c.Days {
		if plottableDay(d.Day) {
			days.add(float64(d.Day))
			given = given || painGiven(d.Before) || painGiven(d.After)
		}
	}
	if !given {
		return cv.empty(c.Words)
	}
	if days.hi-days.lo < 6 {
		days.hi = days.lo + 6
	}
	w := c.Words
	ks := []key{
		{w.Before, func(cv *canvas, p pt) { cv.dot("chart-before", p, 4) }},
		{w.After, func(cv *canvas, p pt) { cv.dot("chart-after", p, 4) }},
	}
	if painGiven(c.Cap) && c.Cap > 0 {
		ks = append(ks, key{w.Limit, func(cv *canvas, p pt) {
			cv.line("chart-limit", pt{p.x - 11, p.y}, pt{p.x + 11, p.y}, "7 4")
		}})
	}
	top := cv.legend(ks)
	p := plot{x0: 34, x1: cv.w - 14, y0: top + 10, y1: cv.h - cv.fs - 12}
	p.xs = scale{days.lo - 0.5, days.hi + 0.5, p.x0, p.x1}
	p.ys = scale{0, 10, p.y1, p.y0}
	cv.axes(p, []float64{0, 2, 4, 6, 8, 10}, func(v float64) string { return strconv.Itoa(int(v)) },
		cv.dayTicks(c.Axis, w, c.Surgery, rom.Date(days.lo), rom.Date(days.hi), p.x1-p.x0), "")
	if painGiven(c.Cap) && c.Cap > 0 {
		y := p.ys.at(float64(c.Cap))
		cv.line("chart-limit", pt{p.x0, y}, pt{p.x1, y}, "7 4")
	}
	if plottableDay(c.Today) && p.xs.holds(float64(c.Today)) {
		x := p.xs.at(float64(c.Today))
		cv.line("chart-today", pt{x, p.y0}, pt{x, p.y1}, "1 4")
	}
	for _, d := range c.Days {
		if !plottableDay(d.Day) {
			continue
		}
		before, after := p.at(d.Day, float64(d.Before)), p.at(d.Day, float64(d.After))
		if painGiven(d.Before) && painGiven(d.After) {
			cv.line("chart-pain", before, after, "")
		}
		if painGiven(d.Before) {
			cv.dot("chart-before", before, 4)
		}
		if painGiven(d.After) {
			cv.dot("chart-after", after, 3)
		}
	}
	return cv.svg(w)
}

func painGiven(n int) bool { return n >= 0 && n <= 10 }

// Table returns the same facts as rows; the first row is the header.
func (c Pain) Table() [][]string {
	rows := [][]string{{c.Words.Day, c.Words.Before, c.Words.After}}
	say := func(n int) string {
		if !painGiven(n) {
			return "\u2013"
		}
		return strconv.Itoa(n)
	}
	for _, d := range c.Days {
		rows = append(rows, []string{c.Words.fullDate(d.Day), say(d.Before), say(d.After)})
	}
	return rows
}

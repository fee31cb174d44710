package chart

import (
	"math"
	"strconv"

	"unsling/engine/rom"
)

// SVG returns the chart: a bar a day for the minutes held, under it a mark for
// the sets: filled when all that was planned is done, half when some is, a
// ring when none is, nothing on a day without a plan. A day of which nothing
// is known is hatched in full height. A plain chart is a line a day.
func (c Dose) SVG() string {
	if c.Size == Plain {
		return c.plainSVG()
	}
	cv := newCanvas(c.Size)
	cv.h = 240
	var days, minutes span
	known := false
	for _, d := range c.Days {
		if !plottableDay(d.Day) {
			continue
		}
		days.add(float64(d.Day))
		if d.Known {
			known = true
			minutes.add(clampSeconds(d.Seconds) / 60)
		}
	}
	if !days.any {
		return cv.empty(c.Words)
	}
	minutes.add(0)
	if minutes.hi < 1 {
		minutes.hi = 1
	}
	ticks := minutes.round(minuteSteps, 6)
	top := cv.legend(c.keys(known))
	p := plot{x0: 40, x1: cv.w - 14, y0: top + 10, y1: cv.h - cv.fs - 28}
	days.hi++ // a day is a slot, not an instant
	if days.hi-days.lo < 7 {
		days.hi = days.lo + 7
	}
	p.xs = scale{days.lo, days.hi, p.x0, p.x1}
	p.ys = scale{minutes.lo, minutes.hi, p.y1, p.y0}
	slot := (p.x1 - p.x0) / (days.hi - days.lo)
	bar := math.Max(1, math.Min(slot*0.7, 22))
	// The marks of the sets lie between the bars and the dates.
	cv.axes(plot{x0: p.x0, y0: p.y0, x1: p.x1, y1: p.y1 + 16, xs: scale{days.lo - 0.5, days.hi - 0.5, p.x0, p.x1}, ys: p.ys}, ticks,
		func(v float64) string { return strconv.Itoa(int(v)) },
		cv.dayTicks(c.Axis, c.Words, c.Surgery, rom.Date(days.lo), rom.Date(days.hi-1), p.x1-p.x0), "")
	for _, d := range c.Days {
		if !plottableDay(d.Day) {
			continue
		}
		mid := p.xs.at(float64(d.Day) + 0.5)
		if !d.Known {
			cv.hatch("chart-unknown", mid-slot/2, p.y0, mid+slot/2, p.y1, 5)
			continue
		}
		y := p.ys.at(p.ys.clip(clampSeconds(d.Seconds) / 60))
		if d.Seconds > 0 {
			cv.rect("chart-bar", mid-bar/2, y, mid+bar/2, p.y1)
		}
	}
	if slot >= 5 {
		r := math.Min(4, slot*0.36)
		for _, d := range c.Days {
			if plottableDay(d.Day) && d.Known && d.Due > 0 {
				setMark(cv, pt{p.xs.at(float64(d.Day) + 0.5), p.y1 + 8}, r, d.Sets, d.Due)
			}
		}
	}
	if plottableDay(c.Today) && float64(c.Today) >= days.lo && float64(c.Today) < days.hi {
		x := p.xs.at(float64(c.Today) + 0.5)
		cv.line("chart-today", pt{x, p.y0}, pt{x, p.y1}, "1 4")
	}
	return cv.svg(c.Words)
}

// clampSeconds keeps a broken record from flattening all other days.
func clampSeconds(s int) float64 { return float64(max(0, min(s, 24*3600))) }

func setMark(cv *canvas, p pt, r float64, sets, due int) {
	cv.dot("chart-sets", p, r)
	switch {
	case sets >= due:
		cv.dot("chart-sets-done", p, r)
	case sets > 0:
		cv.path("chart-sets-done", "M"+xy(pt{p.x, p.y - r})+"A"+num(r)+" "+num(r)+" 0 0 0 "+xy(pt{p.x, p.y + r})+"z", "")
	}
}

func (c Dose) keys(known bool) []key {
	w := c.Words
	ks := []key{}
	if known {
		ks = append(ks,
			key{w.Minutes, func(cv *canvas, p pt) { cv.rect("chart-bar", p.x-4, p.y-7, p.x+4, p.y+7) }},
			key{w.Done, func(cv *canvas, p pt) { setMark(cv, p, 4, 1, 1) }},
			key{w.Due, func(cv *canvas, p pt) { setMark(cv, p, 4, 0, 1) }})
	}
	for _, d := range c.Days {
		if !d.Known {
			return append(ks, key{w.Unknown, func(cv *canvas, p pt) { cv.hatch("chart-unknown", p.x-10, p.y-7, p.x+10, p.y+7, 5) }})
		}
	}
	return ks
}

// Table returns the same facts as rows; the first row is the header.
func (c Dose) Table() [][]string {
	w := c.Words
	rows := [][]string{{w.Day, w.Minutes, w.Done, w.Due}}
	for _, d := range c.Days {
		row := []string{w.fullDate(d.Day), w.Unknown, "", ""}
		if d.Known {
			row[1] = strconv.FormatFloat(math.Round(clampSeconds(d.Seconds)/6)/10, 'f', -1, 64)
			row[2], row[3] = strconv.Itoa(d.Sets), strconv.Itoa(d.Due)
		}
		rows = append(rows, row)
	}
	return rows
}

package chart

import (
	"strconv"

	"unsling/engine/rom"
)

// WeekGain is one week: how long the end range was held on a known day, and
// how the range of motion changed over the week.
type WeekGain struct {
	Week    int // since surgery
	Seconds int // held at end range per known day
	Days    int // known days; a week without one is left out
	Gain    rom.Degrees
	Known   bool // Gain is known
}

// Gain plots the change of a week against the time held per day: dose against
// what came of it. It shows, and claims, no cause.
type Gain struct {
	Size  Size
	Words Words
	Weeks []WeekGain
	// AxisTime and AxisGain are the axis titles, fixed words.
	AxisTime, AxisGain string
}

// SVG returns the plot; the newest week is filled.
func (c Gain) SVG() string {
	cv := newCanvas(c.Size)
	var xs, ys span
	var ps []pt
	for _, w := range c.Weeks {
		if w.Days == 0 || !w.Known || w.Seconds < 0 || w.Seconds > 24*3600 || !plottable(w.Gain) {
			continue
		}
		q := pt{float64(w.Seconds) / 60, v(w.Gain)}
		xs.add(q.x)
		ys.add(q.y)
		ps = append(ps, q)
	}
	if len(ps) == 0 {
		return cv.empty(c.Words)
	}
	xs.add(0)
	ys.add(0)
	xt, yt := xs.round(minuteSteps, 6), ys.round(degreeSteps, 7)
	p := cv.titled(0, c.AxisGain, c.AxisTime)
	p.xs, p.ys = scale{xs.lo, xs.hi, p.x0, p.x1}, scale{ys.lo, ys.hi, p.y1, p.y0}
	minutes := func(v float64) string { return strconv.Itoa(int(v)) }
	cv.grid(p, xt, yt, minutes, func(v float64) string { return degrees(rom.Deg(int(v))) })
	cv.line("chart-axis", pt{p.x0, p.ys.at(0)}, pt{p.x1, p.ys.at(0)}, "")
	for i, q := range ps {
		class := "chart-before"
		if i == len(ps)-1 {
			class = "chart-own"
		}
		cv.dot(class, pt{p.xs.at(q.x), p.ys.at(q.y)}, 4)
	}
	return cv.svg(c.Words)
}

// Table returns the same facts as rows; the first row is the header.
func (c Gain) Table() [][]string {
	rows := [][]string{{c.Words.Week, c.AxisTime, c.AxisGain}}
	for _, w := range c.Weeks {
		row := []string{strconv.Itoa(w.Week), c.Words.Unknown, c.Words.Unknown}
		if w.Days > 0 {
			row[1] = strconv.FormatFloat(float64(w.Seconds)/60, 'f', 1, 64)
		}
		if w.Known {
			row[2] = degrees(w.Gain)
		}
		rows = append(rows, row)
	}
	return rows
}

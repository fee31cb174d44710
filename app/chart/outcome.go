package chart

import (
	"strconv"

	"unsling/engine/rom"
)

// OutcomePoint is the middle and the spread of a group at one time. For the
// hand behind the back values are levels, as everywhere in this package.
type OutcomePoint struct {
	Week           int // since surgery
	Low, Mid, High rom.Degrees
	N              int  // people; 0 for what is published
	Hidden         bool // too few to show
}

// OutcomeGroup is one group of people, with at most one point a week.
type OutcomeGroup struct {
	Name   string // fixed words
	Points []OutcomePoint
}

// Outcome is the chart of what groups of people reached: the median as a mark,
// the quartiles as a bar, published values as a band behind.
type Outcome struct {
	Motion    rom.Motion
	Size      Size
	Words     Words
	Weeks     []int // of the axis
	Groups    []OutcomeGroup
	Published []OutcomePoint
	// AxisTime names the axis of weeks; Group, Middle, Spread, People and
	// TooFew are heads and cells of the table. All are fixed words.
	AxisTime, Group, Middle, Spread, People, TooFew string
}

// SVG returns the chart; groups differ by mark and class, the first four are
// drawn.
func (c Outcome) SVG() string {
	cv := newCanvas(c.Size)
	var ys span
	drawn := c.Groups[:min(len(c.Groups), len(outcomeMarks))]
	any := false
	for _, g := range drawn {
		for _, p := range g.Points {
			if !p.Hidden && plottable(p.Low) && plottable(p.High) {
				ys.add(v(p.Low))
				ys.add(v(p.High))
				any = true
			}
		}
	}
	if !any || len(c.Weeks) == 0 {
		return cv.empty(c.Words)
	}
	for _, p := range c.Published {
		ys.add(v(p.Low))
		ys.add(v(p.High))
	}
	top := cv.legend(c.keys(drawn))
	p := plot{x0: 46, x1: cv.w - 14, y0: top + 10, y1: cv.h - 2*cv.fs - 14}
	if p.y1-p.y0 < 170 {
		cv.h += 170 - (p.y1 - p.y0)
		p.y1 = cv.h - 2*cv.fs - 14
	}
	var ticks []float64
	if c.Motion.ByLevel() {
		ys.lo, ys.hi = ys.lo-1, ys.hi+1
		ticks = levelTicks(ys)
		p.ys = scale{ys.hi, ys.lo, p.y1, p.y0}
	} else {
		for ys.hi-ys.lo < 40 { // a small difference must not look like a large one
			ys.lo, ys.hi = ys.lo-5, ys.hi+5
		}
		ticks = ys.round(degreeSteps, 7)
		p.ys = scale{ys.lo, ys.hi, p.y1, p.y0}
	}
	last := float64(c.Weeks[len(c.Weeks)-1])
	p.xs = scale{0, last + last/12, p.x0, p.x1}
	for _, y := range ticks {
		at := p.ys.at(y)
		cv.line("chart-grid", pt{p.x0, at}, pt{p.x1, at}, "")
		cv.text("chart-text", pt{p.x0 - 6, at + cv.fs*0.35}, "end", c.Words.value(c.Motion, rom.Deg(int(y))))
	}
	for _, w := range c.Weeks {
		x := p.xs.at(float64(w))
		cv.line("chart-axis", pt{x, p.y1}, pt{x, p.y1 + 4}, "")
		cv.text("chart-text", pt{x, p.y1 + cv.fs + 6}, "middle", strconv.Itoa(w))
	}
	cv.line("chart-axis", pt{p.x0, p.y1}, pt{p.x1, p.y1}, "")
	cv.text("chart-quiet", pt{p.x1, p.y1 + 2*cv.fs + 8}, "end", c.AxisTime)
	for _, q := range c.Published {
		x := p.xs.at(float64(q.Week))
		cv.marked(c.Words.Expected+": "+c.says(q), func() {
			cv.rect("chart-expected", x-12, p.ys.at(v(q.Low)), x+12, p.ys.at(v(q.High)))
			for _, edge := range []rom.Degrees{q.Low, q.High} {
				cv.line("chart-expected-edge", pt{x - 12, p.ys.at(v(edge))}, pt{x + 12, p.ys.at(v(edge))}, "2 4")
			}
		})
	}
	for i, g := range drawn {
		for _, q := range g.Points {
			if q.Hidden || !plottable(q.Low) || !plottable(q.High) {
				continue
			}
			x := p.xs.at(float64(q.Week)) + float64(2*i-len(drawn)+1)*4
			cv.marked(g.Name+", "+c.Words.Week+" "+strconv.Itoa(q.Week)+": "+c.says(q), func() {
				cv.bar(outcomeMarks[i].bar, x, p.ys.at(v(q.Low)), p.ys.at(v(q.High)))
				outcomeMarks[i].draw(cv, pt{x, p.ys.at(v(q.Mid))})
			})
		}
	}
	return cv.svg(c.Words)
}

// outcomeMarks tell groups apart by form.
var outcomeMarks = []struct {
	bar  string
	draw func(*canvas, pt)
}{
	{"chart-own-error", func(c *canvas, p pt) { c.dot("chart-own", p, 4.5) }},
	{"chart-clinic-error", func(c *canvas, p pt) { c.square("chart-clinic", p, 4) }},
	{"chart-axis", func(c *canvas, p pt) { c.diamond("chart-other-mark", p, 5) }},
	{"chart-limit-thin", func(c *canvas, p pt) { c.triangle("chart-change", p, 4.5) }},
}

func (c Outcome) keys(drawn []OutcomeGroup) (ks []key) {
	for i, g := range drawn {
		ks = append(ks, key{g.Name, func(cv *canvas, p pt) {
			cv.bar(outcomeMarks[i].bar, p.x, p.y-8, p.y+8)
			outcomeMarks[i].draw(cv, p)
		}})
	}
	if len(c.Published) > 0 {
		ks = append(ks, key{c.Words.Expected, func(cv *canvas, p pt) { cv.rect("chart-expected", p.x-11, p.y-6, p.x+11, p.y+6) }})
	}
	return ks
}

func (c Outcome) says(p OutcomePoint) string {
	s := c.Words.value(c.Motion, p.Mid) + " (" + c.Words.value(c.Motion, p.Low) + " – " + c.Words.value(c.Motion, p.High) + ")"
	if p.N > 0 {
		s += ", " + strconv.Itoa(p.N)
	}
	return s
}

// Table returns the same facts as rows; the first row is the header.
func (c Outcome) Table() [][]string {
	rows := [][]string{{c.Group, c.Words.Week, c.Middle, c.Spread, c.People}}
	add := func(name string, p OutcomePoint) {
		row := []string{name, strconv.Itoa(p.Week), c.TooFew, "", ""}
		if !p.Hidden {
			row[2] = c.Words.value(c.Motion, p.Mid)
			row[3] = c.Words.value(c.Motion, p.Low) + " – " + c.Words.value(c.Motion, p.High)
			if p.N > 0 {
				row[4] = strconv.Itoa(p.N)
			}
		}
		rows = append(rows, row)
	}
	for _, g := range c.Groups {
		for _, p := range g.Points {
			add(g.Name, p)
		}
	}
	for _, p := range c.Published {
		add(c.Words.Expected, p)
	}
	return rows
}

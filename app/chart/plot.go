package chart

import (
	"math"
	"strconv"
	"time"

	"unsling/engine/rom"
)

// plot is the area between the axes.
type plot struct {
	x0, y0, x1, y1 float64
	xs, ys         scale
}

func (p plot) at(day rom.Date, v float64) pt { return pt{p.xs.at(float64(day)), p.ys.at(v)} }

// key is one entry of a legend: a sample of the mark and its word.
type key struct {
	word  string
	glyph func(c *canvas, p pt) // in a box of 24 x 12 around p
}

// legend writes the entries from the left in as many rows as they need and
// returns the height used.
func (c *canvas) legend(keys []key) float64 { return c.legendAt(0, keys) }

// legendAt does so from a height on.
func (c *canvas) legendAt(top float64, keys []key) float64 {
	const box, gap = 30.0, 16.0
	row := c.fs + 8
	x, y := 4.0, 0.0
	for _, k := range keys {
		if k.word == "" {
			continue
		}
		need := box + c.textWidth(k.word) + gap
		if x > 4 && x+need-gap > c.w {
			x, y = 4, y+row
		}
		mid := top + y + row/2
		k.glyph(c, pt{x + 12, mid})
		c.text("chart-text", pt{x + box, mid + c.fs*0.35}, "", k.word)
		x += need
	}
	if x == 4 && y == 0 {
		return 0
	}
	return y + row + 4
}

// date prints "3 Mar".
func (w Words) date(d rom.Date) string {
	t := d.Time()
	return strconv.Itoa(t.Day()) + " " + w.month(int(t.Month()))
}

func (w Words) month(m int) string {
	if s := w.Months[m-1]; s != "" {
		return s
	}
	return strconv.Itoa(m)
}

// fullDate prints "3 Mar 2026", for tables.
func (w Words) fullDate(d rom.Date) string {
	if d.IsZero() {
		return ""
	}
	return w.date(d) + " " + strconv.Itoa(d.Time().Year())
}

type tick struct {
	day   rom.Date
	label string
}

// dayTicks chooses days to label so that the labels do not touch: whole
// weeks since surgery, or days, weeks and months of the calendar.
func (c *canvas) dayTicks(axis Axis, w Words, surgery, from, to rom.Date, width float64) (ticks []tick) {
	days := to.Sub(from)
	if axis == ByWeek && !surgery.IsZero() {
		most := int(width/(c.textWidth("00")+18)) + 1
		for _, step := range []int{1, 2, 4, 6, 12, 26, 52} {
			if days/(7*step)+1 > most && step != 52 {
				continue
			}
			n := from.Sub(surgery) / (7 * step)
			for d := surgery.Add(n * 7 * step); d <= to; d = d.Add(7 * step) {
				if d >= from {
					ticks = append(ticks, tick{d, strconv.Itoa(d.Sub(surgery) / 7)})
				}
			}
			return ticks
		}
	}
	most := int(width/(c.textWidth("30 Mmm")+14)) + 1
	for _, step := range []int{1, 2, 7, 14} {
		if days/step+1 <= most {
			for d := from; d <= to; d = d.Add(step) {
				ticks = append(ticks, tick{d, w.date(d)})
			}
			return ticks
		}
	}
	for _, months := range []int{1, 2, 3, 6, 12} {
		if days/(30*months)+1 > most && months != 12 {
			continue
		}
		t := from.Time()
		for y, m := t.Year(), int(t.Month()); ; m++ {
			if m > 12 {
				y, m = y+1, 1
			}
			if (m-1)%months != 0 {
				continue
			}
			d := rom.MakeDate(y, time.Month(m), 1)
			if d > to {
				return ticks
			}
			if d >= from {
				label := w.month(m)
				if m == 1 || len(ticks) == 0 {
					label += " " + strconv.Itoa(y)
				}
				ticks = append(ticks, tick{d, label})
			}
		}
	}
	return ticks
}

// axes draws the grid, the labels of both axes, and the axis line.
func (c *canvas) axes(p plot, ys []float64, yLabel func(float64) string, xs []tick, xTitle string) {
	for _, v := range ys {
		y := p.ys.at(v)
		c.line("chart-grid", pt{p.x0, y}, pt{p.x1, y}, "")
		c.text("chart-text", pt{p.x0 - 6, y + c.fs*0.35}, "end", yLabel(v))
	}
	last := math.Inf(-1)
	for _, t := range xs {
		x := p.xs.at(float64(t.day))
		c.line("chart-axis", pt{x, p.y1}, pt{x, p.y1 + 4}, "")
		half := c.textWidth(t.label) / 2
		mid := math.Min(math.Max(x, half), c.w-half)
		if mid-half < last+6 {
			continue
		}
		c.text("chart-text", pt{mid, p.y1 + c.fs + 6}, "middle", t.label)
		last = mid + half
	}
	c.line("chart-axis", pt{p.x0, p.y1}, pt{p.x1, p.y1}, "")
	if xTitle != "" {
		c.text("chart-quiet", pt{p.x1, p.y1 + 2*c.fs + 8}, "end", xTitle)
	}
}

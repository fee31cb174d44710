package chart

import (
	"math"
	"unicode/utf8"
)

// box is a rectangle in picture units.
type box struct{ x0, y0, x1, y1 float64 }

func (b box) meets(o box) bool { return b.x0 < o.x1 && o.x0 < b.x1 && b.y0 < o.y1 && o.y0 < b.y1 }

func (b box) within(o box) bool { return b.x0 >= o.x0 && b.x1 <= o.x1 && b.y0 >= o.y0 && b.y1 <= o.y1 }

// spot is where a label may stand: the base line's point, and which end of the
// text is there ("", "middle" or "end").
type spot struct {
	at     pt
	anchor string
}

// placer writes labels beside what they name, never over one another, over a
// mark or out of the picture.
type placer struct {
	c     *canvas
	area  box
	taken []box
}

// labelWidth is the width of a bold label: the widest system fonts run to 0.68
// of their size per letter.
func (c *canvas) labelWidth(s string) float64 {
	return 0.68 * c.fs * float64(utf8.RuneCountInString(s))
}

// labelBox is where a label lies that is written at a spot.
func (c *canvas) labelBox(s string, at spot) box {
	w := c.labelWidth(s)
	x := at.at.x
	switch at.anchor {
	case "end":
		x -= w
	case "middle":
		x -= w / 2
	}
	return box{x, at.at.y - 0.8*c.fs, x + w, at.at.y + 0.25*c.fs}
}

func (p *placer) free(b box) bool {
	if !b.within(p.area) {
		return false
	}
	for _, o := range p.taken {
		if b.meets(o) {
			return false
		}
	}
	return true
}

// put writes a text at the first spot that is free, and reports whether there
// was one.
func (p *placer) put(class, text string, spots ...spot) bool {
	if text == "" {
		return true
	}
	for _, at := range spots {
		if b := p.c.labelBox(text, at); p.free(b) {
			p.taken = append(p.taken, b)
			p.c.text(class, at.at, at.anchor, text)
			return true
		}
	}
	return false
}

// mark takes the place of a dot.
func (p *placer) mark(at pt, r float64) {
	p.taken = append(p.taken, box{at.x - r, at.y - r, at.x + r, at.y + r})
}

// along takes the places of a line.
func (p *placer) along(line []pt) {
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		n := int(math.Hypot(b.x-a.x, b.y-a.y)/4) + 1
		for k := 0; k <= n; k++ {
			f := float64(k) / float64(n)
			p.mark(pt{a.x + float64(f*(b.x-a.x)), a.y + float64(f*(b.y-a.y))}, 1.5)
		}
	}
}

// around are spots beside a mark of radius r: below, above, to its sides, then
// farther off.
func (c *canvas) around(at pt, r float64, left, right float64) (list []spot) {
	for _, far := range []float64{4, 4 + c.fs, 4 + 2*c.fs, 4 + 3*c.fs} {
		for _, y := range []float64{at.y + r + far + 0.7*c.fs, at.y - r - far} {
			list = append(list, spot{pt{right, y}, "end"}, spot{pt{at.x, y}, "middle"}, spot{pt{at.x - r, y}, ""}, spot{pt{at.x + r, y}, "end"}, spot{pt{left, y}, ""})
		}
		list = append(list, spot{pt{at.x - r - far, at.y + 0.35*c.fs}, "end"}, spot{pt{at.x + r + far, at.y + 0.35*c.fs}, ""})
	}
	return list
}

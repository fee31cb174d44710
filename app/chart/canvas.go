package chart

import (
	"strings"
	"unicode/utf8"
)

type pt struct{ x, y float64 }

// canvas collects the elements of one chart.
type canvas struct {
	b    strings.Builder
	w, h float64
	fs   float64 // font size

	plain bool
}

func newCanvas(s Size) *canvas {
	if s == Wide {
		return &canvas{w: 720, h: 360, fs: 14}
	}
	return &canvas{w: 360, h: 300, fs: 14}
}

// textWidth estimates the width of a text in picture units: system fonts run
// to 0.56 of their size per letter.
func (c *canvas) textWidth(s string) float64 { return 0.56 * c.fs * float64(utf8.RuneCountInString(s)) }

func (c *canvas) path(class, d, dash string) {
	c.b.WriteString(`<path class="` + class + `"`)
	if dash != "" {
		c.b.WriteString(` stroke-dasharray="` + dash + `"`)
	}
	c.b.WriteString(` d="` + d + `"/>`)
}

func (c *canvas) line(class string, a, b pt, dash string) {
	c.path(class, "M"+xy(a)+"L"+xy(b), dash)
}

func (c *canvas) poly(class string, ps []pt, closed bool, dash string) {
	if len(ps) < 2 {
		return
	}
	var d strings.Builder
	for i, p := range ps {
		if i == 0 {
			d.WriteByte('M')
		} else {
			d.WriteByte('L')
		}
		d.WriteString(xy(p))
	}
	if closed {
		d.WriteByte('z')
	}
	c.path(class, d.String(), dash)
}

func (c *canvas) rect(class string, x0, y0, x1, y1 float64) {
	if x1 < x0 {
		x0, x1 = x1, x0
	}
	if y1 < y0 {
		y0, y1 = y1, y0
	}
	c.b.WriteString(`<rect class="` + class + `" x="` + num(x0) + `" y="` + num(y0) +
		`" width="` + num(x1-x0) + `" height="` + num(y1-y0) + `"/>`)
}

// hatch fills a rectangle with slanted lines, without a pattern that would
// need an id.
func (c *canvas) hatch(class string, x0, y0, x1, y1, gap float64) {
	if x1 < x0 {
		x0, x1 = x1, x0
	}
	if y1 < y0 {
		y0, y1 = y1, y0
	}
	var d strings.Builder
	// Lines x - y = k, placed on a common raster so that neighbours join.
	first := float64(int((x0-y1)/gap)-1) * gap
	for k := first; k < x1-y0; k += gap {
		a, b := pt{x0, x0 - k}, pt{x1, x1 - k}
		if a.y < y0 {
			a = pt{y0 + k, y0}
		}
		if b.y > y1 {
			b = pt{y1 + k, y1}
		}
		if b.x-a.x > 0.3 && a.x >= x0-0.01 && b.x <= x1+0.01 {
			d.WriteString("M" + xy(a) + "L" + xy(b))
		}
	}
	if d.Len() > 0 {
		c.path(class, d.String(), "")
	}
}

func (c *canvas) text(class string, p pt, anchor, s string) {
	if s == "" {
		return
	}
	c.b.WriteString(`<text class="` + class + `" x="` + num(p.x) + `" y="` + num(p.y) + `" font-size="` + num(c.fs) + `"`)
	if anchor != "" {
		c.b.WriteString(` text-anchor="` + anchor + `"`)
	}
	c.b.WriteString(`>` + escape(s) + `</text>`)
}

func (c *canvas) dot(class string, p pt, r float64) {
	c.b.WriteString(`<circle class="` + class + `" cx="` + num(p.x) + `" cy="` + num(p.y) + `" r="` + num(r) + `"/>`)
}

// marked groups what draw draws under a title, which browsers show to who
// points at it.
func (c *canvas) marked(title string, draw func()) {
	c.b.WriteString(`<g class="chart-mark"><title>` + escape(title) + `</title>`)
	draw()
	c.b.WriteString(`</g>`)
}

func (c *canvas) square(class string, p pt, r float64) {
	c.rect(class, p.x-r, p.y-r, p.x+r, p.y+r)
}

func (c *canvas) diamond(class string, p pt, r float64) {
	c.poly(class, []pt{{p.x, p.y - r}, {p.x + r, p.y}, {p.x, p.y + r}, {p.x - r, p.y}}, true, "")
}

func (c *canvas) triangle(class string, p pt, r float64) {
	c.poly(class, []pt{{p.x, p.y - r}, {p.x + r, p.y + r}, {p.x - r, p.y + r}}, true, "")
}

// bar is an error bar with caps.
func (c *canvas) bar(class string, x, y0, y1 float64) {
	c.path(class, "M"+xy(pt{x, y0})+"L"+xy(pt{x, y1})+
		"M"+xy(pt{x - 2.5, y0})+"L"+xy(pt{x + 2.5, y0})+"M"+xy(pt{x - 2.5, y1})+"L"+xy(pt{x + 2.5, y1}), "")
}

// svg closes the chart.
func (c *canvas) svg(w Words) string {
	class := "chart"
	if c.plain {
		class = "chart chart-plain"
	}
	s := `<svg xmlns="http://www.w3.org/2000/svg" class="` + class + `" role="img" viewBox="0 0 ` + num(c.w) + ` ` + num(c.h) + `"><title>` +
		escape(w.Title) + `</title>`
	if w.Desc != "" {
		s += `<desc>` + escape(w.Desc) + `</desc>`
	}
	return s + c.b.String() + `</svg>`
}

// empty is the chart without data: a calm frame with one word.
func (c *canvas) empty(w Words) string {
	c.h = 120
	c.rect("chart-frame", 1, 1, c.w-1, c.h-1)
	c.text("chart-text", pt{c.w / 2, c.h/2 + c.fs/3}, "middle", w.Empty)
	return c.svg(w)
}

func xy(p pt) string { return num(p.x) + " " + num(p.y) }

func escape(s string) string {
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;", "'", "&#39;").Replace(s)
}

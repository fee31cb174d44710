package figure

import (
	"math"
	"sort"
	"strings"

	"unsling/engine/rom"
)

const (
	viewWidth  = 360.0
	viewHeight = 300.0
	margin     = 12.0
	maxScale   = 3.4
)

// item is one painted thing with its distance towards the viewer.
type item struct {
	depth float64
	svg   string
}

// draw paints a scene.
func draw(s scene, side rom.Side, t float64, m Marks, w Words) string {
	if s.motion == "" || s.noArc {
		m = Marks{}
	}
	t = cleanT(t)
	l := s.lens(m)
	p := s.at(t)
	var items []item
	add := func(depth float64, svg string) { items = append(items, item{depth, svg}) }
	for _, q := range bodyParts(p, l) {
		add(q.depth(l), paint(q, l))
	}
	if s.extra != nil {
		for _, q := range s.extra(p, l) {
			add(q.depth(l), paint(q, l))
		}
	}
	if s.blades {
		for _, q := range bladeParts(p) {
			add(q.depth(l), paint(q, l))
		}
	}
	if s.props != nil {
		for _, q := range s.props(p, t) {
			if q.kind == rodProp {
				r := q.rod()
				add(r.depth(l), paint(r, l))
				continue
			}
			for _, f := range q.faces(l) {
				var b strings.Builder
				corners := make([]flat, len(f.corners))
				for i, v := range f.corners {
					corners[i] = l.flat(v)
				}
				polyline(&b, corners, true)
				add(f.depth, `<path class="`+f.class+`" d="`+b.String()+`"/>`)
			}
		}
	}
	if g, ok := s.gauge(p, m); ok {
		add(armDepth(p, l)-0.01, g.sector(l))
		add(2000, g.marks(l))
	}
	add(1999, s.trail(t, l))
	if s.press != nil {
		at, dir := s.press(p)
		ps := []flat{l.flat(at.Sub(dir.Mul(10 + 14*t))), l.flat(at.Sub(dir.Mul(2)))}
		add(1999, arrow(ps))
	}
	if s.motion.ByLevel() {
		add(2000, levelMarks(p, m, l))
	}
	sort.SliceStable(items, func(i, j int) bool { return items[i].depth < items[j].depth })

	var labels strings.Builder
	if points := s.points(p); len(points) > 0 {
		add(2001, joins(points, l))
		sort.SliceStable(items, func(i, j int) bool { return items[i].depth < items[j].depth })
		numbers(&labels, points, l, side)
	}
	key := legend(m, w, s.motion)
	height := viewHeight + key.height
	var b strings.Builder
	b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" class="fig" role="img" viewBox="0 0 ` +
		num(viewWidth+key.width) + ` ` + num(height) + `"><title>` + escape(w.Title) + `</title>`)
	if side == rom.Left {
		b.WriteString(`<g transform="translate(` + num(viewWidth) + ` 0) scale(-1 1)">`)
	} else {
		b.WriteString(`<g>`)
	}
	b.WriteString(`<svg width="` + num(viewWidth) + `" height="` + num(viewHeight) + `">`) // clips what the frame cuts
	for _, it := range items {
		b.WriteString(it.svg)
	}
	b.WriteString(`</svg></g>`)
	b.WriteString(labels.String())
	b.WriteString(key.svg)
	b.WriteString(`</svg>`)
	return b.String()
}

// lens frames everything that the scene shows between t = 0 and 1.
func (s scene) lens(m Marks) lens {
	r, u, t := s.cam.axes()
	unit := lens{r: r, u: u, t: t, scale: 1}
	all := emptyBox()
	for _, v := range s.include {
		all.add(unit.flat(v), 0)
	}
	for i := range 5 {
		at := float64(i) / 4
		p := s.at(at)
		for _, q := range bodyParts(p, unit) {
			for _, h := range q.hulls {
				for _, b := range h {
					if (s.floor == 0 || b.at.Y-b.r >= s.floor) && (s.keep == nil || s.keep(b.at)) {
						all.add(unit.flat(b.at), b.r)
					}
				}
			}
		}
		if s.props != nil {
			for _, q := range s.props(p, at) {
				if q.fit {
					all.add(unit.flat(q.a), q.r)
					all.add(unit.flat(q.b), q.r)
				}
			}
		}
		if g, ok := s.gauge(p, m); ok {
			for d := g.lo; d <= g.hi; d += 5 {
				all.add(unit.flat(g.point(d, g.radius)), 4)
			}
		}
	}
	area := box{margin, margin, viewWidth - margin, viewHeight - margin}
	return s.cam.fit(all, area, max(s.zoom, maxScale))
}

func paint(q part, l lens) string {
	var b strings.Builder
	b.WriteString(`<path class="` + q.class + `" d="`)
	for _, h := range q.hulls {
		cs := make([]circle, len(h))
		for i, x := range h {
			cs[i] = circle{l.flat(x.at), x.r * l.scale}
		}
		hull(&b, cs)
	}
	b.WriteString(`"/>`)
	return b.String()
}

// armDepth is the depth of the farthest part of the operated arm.
func armDepth(p Pose, l lens) float64 {
	d := math.Inf(1)
	for _, q := range armParts(p.Operated, p.Neck, true, false, l) {
		d = math.Min(d, q.depth(l))
	}
	return d
}

// trail is the dotted path of the hand from here to the end range, with an
// arrow head.
func (s scene) trail(t float64, l lens) string {
	if t > 0.92 {
		return ""
	}
	var b strings.Builder
	for _, point := range s.trails {
		var ps []flat
		const steps = 16
		for i := range steps + 1 {
			ps = append(ps, l.flat(point(s.at(lerp(t+0.04, 1, float64(i)/steps)))))
		}
		b.WriteString(arrow(ps))
	}
	return b.String()
}

func arrow(ps []flat) string {
	end, prev := ps[len(ps)-1], ps[len(ps)-2]
	dx, dy := end.x-prev.x, end.y-prev.y
	d := math.Hypot(dx, dy)
	length := 0.0
	for i := 1; i < len(ps); i++ {
		length += math.Hypot(ps[i].x-ps[i-1].x, ps[i].y-ps[i-1].y)
	}
	if length < 10 || d < 1e-6 {
		return ""
	}
	dx, dy = dx/d, dy/d
	var line, head strings.Builder
	polyline(&line, ps, false)
	polyline(&head, []flat{
		{end.x + 9*dx, end.y + 9*dy},
		{end.x - 7*dx - 8*dy, end.y - 7*dy + 8*dx},
		{end.x - 7*dx + 8*dy, end.y - 7*dy - 8*dx},
	}, true)
	return `<path class="fig-trail" stroke-dasharray="1 7" stroke-linecap="round" d="` + line.String() +
		`"/><path class="fig-arrow" d="` + head.String() + `"/>`
}

func escape(s string) string {
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;", "'", "&#39;").Replace(s)
}

package figure

import (
	"math"
	"strconv"
	"strings"

	"unsling/engine/rom"
)

// beyond is how much of the zone past a limit is barred, in degrees.
const beyond = 24.0

// gauge is the angle arc of a picture: it turns with the trunk.
type gauge struct {
	arcFrame
	radius, lo, hi float64
	m              Marks
	max            float64
}

func (s scene) gauge(p Pose, m Marks) (gauge, bool) {
	if s.motion == "" || s.noArc || s.motion.ByLevel() {
		return gauge{}, false
	}
	g := gauge{m: m, radius: s.radius, max: s.motion.AnatomicalMax().Float()}
	if s.arc != nil {
		g.arcFrame = s.arc(p)
	} else {
		g.arcFrame = p.frame(s.motion)
	}
	if g.radius == 0 {
		g.radius = arcRadius(s.motion)
	}
	g.lo, g.hi = math.Min(0, math.Min(s.start, s.end)), math.Max(s.start, s.end)
	for _, a := range []Angle{m.Now, m.Last, m.Aim, m.Limit, m.Other} {
		if a.Set {
			g.lo, g.hi = math.Min(g.lo, a.At.Float()), math.Max(g.hi, a.At.Float())
		}
	}
	if m.Limit.Set {
		g.hi = math.Max(g.hi, m.Limit.At.Float()+beyond)
	}
	return g, true
}

func (g gauge) arcPath(l lens, from, to, radius float64) []flat {
	n := int(math.Ceil(math.Abs(to-from)/4)) + 1
	ps := make([]flat, 0, n+1)
	for i := range n + 1 {
		ps = append(ps, l.flat(g.point(lerp(from, to, float64(i)/float64(n)), radius)))
	}
	return ps
}

// sector fills from zero to the arm and thickens the arc there.
func (g gauge) sector(l lens) string {
	var b, rim strings.Builder
	arc := g.arcPath(l, 0, g.value(), g.radius)
	polyline(&b, append([]flat{l.flat(g.centre)}, arc...), true)
	polyline(&rim, arc, false)
	return `<path class="fig-sector" d="` + b.String() + `"/><path class="fig-sweep" d="` + rim.String() + `"/>`
}

// levelMarks puts the marks of the hand behind the back beside the spine.
func levelMarks(p Pose, m Marks, l lens) string {
	var b strings.Builder
	at := func(a Angle, side float64) (flat, bool) {
		return l.flat(p.Trunk.at(p.Pelvis, side, levelUp(a.At.Float()), -10)), a.Set
	}
	if q, ok := at(m.Limit, 0); ok {
		b.WriteString(`<path class="fig-limit" d="M` + xy(flat{q.x - 26, q.y}) + `L` + xy(flat{q.x + 26, q.y}) + `"/>`)
	}
	if q, ok := at(m.Other, -9); ok {
		b.WriteString(diamond(q))
	}
	if q, ok := at(m.Last, 9); ok {
		b.WriteString(triangle(q))
	}
	if q, ok := at(m.Aim, 0); ok {
		b.WriteString(ring(q))
	}
	if q, ok := at(m.Now, 0); ok {
		b.WriteString(dot(q))
	}
	return b.String()
}

// marks draws the arc, the zero line and what is marked on it. Each mark has
// its own shape: now a filled dot, aim a ring, limit a bar with the zone
// beyond it barred, the other arm a diamond.
func (g gauge) marks(l lens) string {
	var b strings.Builder
	path := func(class, extra string, ps []flat, closed bool) {
		var d strings.Builder
		polyline(&d, ps, closed)
		b.WriteString(`<path class="` + class + `"` + extra + ` d="` + d.String() + `"/>`)
	}
	spoke := func(deg, from, to float64) []flat {
		return []flat{l.flat(g.point(deg, from)), l.flat(g.point(deg, to))}
	}
	hi := g.hi
	if g.m.Limit.Set {
		hi = g.m.Limit.At.Float()
	}
	// The part that the arm has passed is drawn by sector.
	if to := math.Max(0, g.value()); to < hi {
		path("fig-track", "", g.arcPath(l, to, hi, g.radius), false)
	}
	if from := math.Min(0, g.value()); from > g.lo {
		path("fig-track", "", g.arcPath(l, g.lo, from, g.radius), false)
	}
	path("fig-zero", ` stroke-dasharray="2 4"`, spoke(0, 0, g.radius), false)
	if g.m.Other.Set && g.m.Other.At.Float() > hi {
		path("fig-reach", ` stroke-dasharray="2 5"`, g.arcPath(l, hi, g.m.Other.At.Float(), g.radius), false)
	}
	if g.m.Limit.Set {
		lim := g.m.Limit.At.Float()
		for d := lim + 4; d <= lim+beyond; d += 4 {
			path("fig-beyond", "", spoke(d, g.radius-3.5, g.radius+3.5), false)
		}
		path("fig-limit", "", spoke(lim, g.radius-7, g.radius+7), false)
	}
	if g.m.Now.Set && g.m.Error > 0 {
		now, se := g.m.Now.At.Float(), g.m.Error.Float()
		path("fig-error", "", g.arcPath(l, now-se, now+se, g.radius), false)
	}
	mark := func(a Angle, glyph func(flat) string) {
		if a.Set {
			b.WriteString(glyph(l.flat(g.point(a.At.Float(), g.radius))))
		}
	}
	mark(g.m.Other, diamond)
	mark(g.m.Last, triangle)
	mark(g.m.Aim, ring)
	mark(g.m.Now, dot)
	return b.String()
}

func dot(p flat) string {
	return `<circle class="fig-now" cx="` + num(p.x) + `" cy="` + num(p.y) + `" r="5.5"/>`
}

func ring(p flat) string {
	return `<circle class="fig-aim" cx="` + num(p.x) + `" cy="` + num(p.y) + `" r="7"/>`
}

func diamond(p flat) string {
	var d strings.Builder
	polyline(&d, []flat{{p.x, p.y - 6.5}, {p.x + 6.5, p.y}, {p.x, p.y + 6.5}, {p.x - 6.5, p.y}}, true)
	return `<path class="fig-other" d="` + d.String() + `"/>`
}

func triangle(p flat) string {
	var d strings.Builder
	polyline(&d, []flat{{p.x, p.y - 6.5}, {p.x + 6.5, p.y + 5}, {p.x - 6.5, p.y + 5}}, true)
	return `<path class="fig-other" d="` + d.String() + `"/>`
}

func bar(p flat) string {
	return `<path class="fig-limit" d="M` + xy(flat{p.x, p.y - 8}) + `L` + xy(flat{p.x, p.y + 8}) + `"/>`
}

// value prints an angle in whole degrees, or a level of the spine. What must
// not be passed is never rounded up.
func value(d rom.Degrees, motion rom.Motion, floor bool) string {
	if !motion.ByLevel() {
		n := d.Whole()
		if floor {
			n = d.Floor()
		}
		s := strconv.Itoa(n)
		return strings.Replace(s, "-", "\u2212", 1) + "\u00b0"
	}
	switch n := d.Whole(); {
	case n >= int(rom.LevelT1) && n <= int(rom.LevelT12):
		return "T" + strconv.Itoa(n)
	case n >= int(rom.LevelL1) && n <= int(rom.LevelL5):
		return "L" + strconv.Itoa(n-12)
	case n == int(rom.LevelSacrum):
		return "S1"
	}
	return "\u2013"
}

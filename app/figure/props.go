package figure

import "sort"

// prop is a thing in the room: a box, a rod between two points, a band of
// cloth, or a line on the floor.
type prop struct {
	kind  propKind
	class string
	a, b  Vec // box: two opposite corners; rod and cloth: the ends
	r     float64
	bias  float64
	fixed bool    // at depth deep whatever it is
	deep  float64 // depth of a fixed prop
	fit   bool    // must be inside the picture
}

type propKind int

const (
	boxProp propKind = iota
	rodProp
)

// parts of rods; boxes are painted by face.
func (q prop) rod() part {
	return part{class: q.class, hulls: [][]ball{{{q.a, q.r}, {q.b, q.r}}}, bias: q.bias, fixed: q.fixed, deep: q.deep}
}

// face is one visible side of a box.
type face struct {
	class   string
	corners []Vec
	depth   float64
}

// faces returns the sides of a box that the camera sees, farthest first.
func (q prop) faces(l lens) []face {
	lo, hi := q.a, q.b
	c := func(x, y, z int) Vec {
		p := lo
		if x == 1 {
			p.X = hi.X
		}
		if y == 1 {
			p.Y = hi.Y
		}
		if z == 1 {
			p.Z = hi.Z
		}
		return p
	}
	sides := []struct {
		normal  Vec
		class   string
		corners []Vec
	}{
		{up, "-top", []Vec{c(0, 1, 0), c(1, 1, 0), c(1, 1, 1), c(0, 1, 1)}},
		{up.Mul(-1), "-side", []Vec{c(0, 0, 0), c(1, 0, 0), c(1, 0, 1), c(0, 0, 1)}},
		{right, "-side", []Vec{c(1, 0, 0), c(1, 1, 0), c(1, 1, 1), c(1, 0, 1)}},
		{right.Mul(-1), "-side", []Vec{c(0, 0, 0), c(0, 1, 0), c(0, 1, 1), c(0, 0, 1)}},
		{forward, "-front", []Vec{c(0, 0, 1), c(1, 0, 1), c(1, 1, 1), c(0, 1, 1)}},
		{forward.Mul(-1), "-front", []Vec{c(0, 0, 0), c(1, 0, 0), c(1, 1, 0), c(0, 1, 0)}},
	}
	var out []face
	for _, s := range sides {
		if s.normal.Dot(l.t) <= 1e-6 {
			continue
		}
		f := face{class: q.class + s.class, corners: s.corners}
		for _, v := range s.corners {
			f.depth += l.depth(v) / 4
		}
		if q.fixed {
			f.depth = q.deep
		}
		f.depth += q.bias
		out = append(out, f)
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].depth < out[j].depth })
	return out
}

func boxOf(class string, a, b Vec) prop { return prop{kind: boxProp, class: class, a: a, b: b} }

// floor lies under a body whose feet are seen, between two corners.
func floor(x0, z0, x1, z1 float64) prop {
	return boxOf("fig-floor", Vec{x0, -2, z0}, Vec{x1, 0, z1}).behind()
}

func rodOf(class string, a, b Vec, r float64) prop {
	return prop{kind: rodProp, class: class, a: a, b: b, r: r}
}

// behind puts the prop behind everything else.
func (q prop) behind() prop          { q.fixed, q.deep = true, -1000; return q }
func (q prop) biased(b float64) prop { q.bias = b; return q }
func (q prop) framed() prop          { q.fit = true; return q }

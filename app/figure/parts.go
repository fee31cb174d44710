package figure

import "math"

// part is one shape of the picture: the union of hulls of balls in one class.
// Parts are painted from the farthest to the nearest; bias brings a part
// nearer by that many centimetres.
type part struct {
	class string
	hulls [][]ball
	bias  float64
	deep  float64 // if fixed, the depth itself
	fixed bool
}

func (q part) depth(l lens) float64 {
	if q.fixed {
		return q.deep + q.bias
	}
	sum, n := 0.0, 0.0
	for _, h := range q.hulls {
		for _, b := range h {
			sum += l.depth(b.at)
			n++
		}
	}
	return sum/n + q.bias
}

// bodyParts dresses a pose: shirt, trousers, skin, hair, and the operated arm
// in its own classes. Limbs behind the trunk take a darker class.
func bodyParts(p Pose, l lens) []part {
	t := p.Trunk
	at := func(x, y, z, r float64) ball { return ball{t.at(p.Pelvis, x, y, z), r} }
	both := func(x, y, z, r float64) []ball { return []ball{at(x, y, z, r), at(-x, y, z, r)} }
	join := func(bs ...[]ball) (all []ball) {
		for _, b := range bs {
			all = append(all, b...)
		}
		return all
	}
	chest := both(8, 33, 1, 9.8)
	waist := both(6.5, 15, 0.5, 8.7)
	hips := both(8, 2, -0.5, 9.2)
	// The shirt follows the shoulders, which move with the arms.
	yoke := []ball{
		{mix(p.Neck, p.Operated.Shoulder, 0.74).Add(t.Up.Mul(-2)), 5.6},
		{mix(p.Neck, p.Free.Shoulder, 0.74).Add(t.Up.Mul(-2)), 5.6},
		at(0, trunkLen+2.5, -0.5, 4.6),
	}
	shirt := part{class: "fig-shirt", hulls: [][]ball{join(yoke, chest), join(chest, waist), join(waist, both(7.4, 5, 0, 9))}}
	deep := shirt.depth(l)
	neck := part{class: "fig-skin", fixed: true, deep: deep + 0.2, hulls: [][]ball{
		{{t.at(p.Neck, 0, 1, -0.5), 5.2}, {p.HeadAxes.at(p.Head, 0, -7, -1), 4.7}}}}
	if l.t.Dot(t.Forward) < 0 {
		neck.deep = deep - 0.2 // the shirt reaches higher behind
	}
	parts := []part{
		shirt, neck,
		{class: "fig-trousers", fixed: true, deep: deep - 0.1, hulls: [][]ball{join(hips, both(7, 7, 0, 8.6))}},
	}
	parts = append(parts, headParts(p, l)...)
	for _, operated := range []bool{true, false} {
		arm, leg, other := p.Operated, p.Right, p.Left
		if !operated {
			arm, leg, other = p.Free, p.Left, p.Right
		}
		far := l.depth(p.Free.Shoulder) < l.depth(p.Operated.Shoulder)-9
		parts = append(parts, armParts(arm, p.Neck, operated, far, l)...)
		parts = append(parts, legParts(leg, l.depth(leg.Hip) < l.depth(other.Hip)-5)...)
	}
	return parts
}

func headParts(p Pose, l lens) []part {
	a := p.HeadAxes
	at := func(x, y, z, r float64) ball { return ball{a.at(p.Head, x, y, z), r} }
	face := [][]ball{
		{at(0, 1.2, 0, 8.6), at(0, -5.6, 3.2, 4.6), at(0, -2, 1.2, 7.2)},
		{at(0, -1.4, 8.2, 1.5), at(0, 1.8, 7.4, 0.9)}, // nose
	}
	fringe := []ball{at(4.6, 6.2, 3.4, 3), at(-4.6, 6.2, 3.4, 3), at(0, 7, 1, 4.4), at(3, 8, 0, 2.8), at(-3, 8, 0, 2.8)}
	hair := [][]ball{
		{at(0, 2.6, -1.8, 8.3), at(0, -1.5, -4.2, 6.1)},
		{at(3.4, 7.3, 2.9, 2.9), at(-3.4, 7.3, 2.9, 2.9), at(0, 5.4, -1, 6.2)},
	}
	parts := []part{
		{class: "fig-skin", hulls: face, bias: 1},
		{class: "fig-hair", hulls: hair, bias: 1.5},
	}
	facing := l.t.Dot(a.Forward)
	if facing > 0.5 {
		parts = append(parts, part{class: "fig-hair", hulls: [][]ball{fringe}, bias: 6})
	}
	if facing > 0.8 {
		parts = append(parts, part{class: "fig-eye", bias: 4, hulls: [][]ball{{at(3.1, 0.3, 7.4, 0.95)}, {at(-3.1, 0.3, 7.4, 0.95)}}})
	}
	for _, x := range []float64{8.3, -8.3} {
		ear := ball{a.at(p.Head, x, -0.6, -0.4), 1.9}
		if l.depth(ear.at) > l.depth(p.Head)+2 {
			parts = append(parts, part{class: "fig-ear", hulls: [][]ball{{ear}}, bias: 2})
		}
	}
	return parts
}

// armParts dresses an arm. The cuff goes over the skin from whatever side it
// is seen.
func armParts(a Arm, neck Vec, operated, far bool, l lens) []part {
	sleeve, skin := "fig-shirt", "fig-skin"
	if operated {
		sleeve, skin = "fig-sleeve", "fig-arm"
	} else if far {
		sleeve, skin = "fig-shirt-far", "fig-skin-far"
	}
	cuff := mix(a.Shoulder, a.Elbow, 0.62)
	upper := [][]ball{{{mix(a.Shoulder, a.Elbow, 0.3), 4.6}, {a.Elbow, 4}}}
	fore := [][]ball{
		{{a.Elbow, 4}, {mix(a.Elbow, a.Wrist, 0.25), 4.1}},
		{{mix(a.Elbow, a.Wrist, 0.25), 4.1}, {a.Wrist, 2.7}},
	}
	fore = append(fore, handHulls(a)...)
	cloth := part{class: sleeve, hulls: [][]ball{{{a.Shoulder, 5.7}, {mix(neck, a.Shoulder, 0.8), 4.6}, {cuff, 5}}}, bias: 3.2}
	bare := []part{{class: skin, hulls: append(upper, fore...), bias: 3.1}} // one shape without a seam at the elbow
	if angleBetween(a.Elbow.Sub(a.Shoulder), a.Wrist.Sub(a.Elbow)) >= 60 {
		bare = []part{{class: skin, hulls: upper, bias: 3}, {class: skin, hulls: fore, bias: 3.1}}
	}
	before := cloth.depth(l)
	cloth.deep, cloth.bias, cloth.fixed = math.Max(before, bare[0].depth(l)+0.05), 0, true
	if last := &bare[len(bare)-1]; len(bare) > 1 && last.depth(l) > before { // a forearm before the sleeve stays there
		last.deep, last.bias, last.fixed = math.Max(last.depth(l), cloth.deep+0.05), 0, true
	}
	return append([]part{cloth}, bare...)
}

// handHulls are the palm with closed fingers and the thumb.
func handHulls(a Arm) [][]ball {
	dir := a.Tip.Sub(a.Wrist).unit()
	at := func(along, across, r float64) ball {
		return ball{a.Wrist.Add(dir.Mul(along)).Add(a.Thumb.Mul(across)), r}
	}
	return [][]ball{
		{at(0, 0, 2.6), at(7, 2.3, 1.9), at(7, -2.3, 1.8)},
		{at(7, 2.3, 1.9), at(7, -2.3, 1.8), at(15.2, 1.1, 1.5), at(14.2, -1.6, 1.4)},
		{at(2, 1.6, 1.8), at(6, 4.6, 1.3), at(8.6, 4.9, 1.1)},
	}
}

func legParts(g Leg, far bool) []part {
	trousers, shoe := "fig-trousers", "fig-shoe"
	if far {
		trousers, shoe = "fig-trousers-far", "fig-shoe-far"
	}
	calf := mix(g.Knee, g.Ankle, 0.28)
	toe := g.Toe.Sub(g.Ankle).unit()
	sole := g.Ankle.Sub(g.Knee).unit()
	heel := g.Ankle.Add(sole.Mul(3)).Sub(toe.Mul(3.5))
	thigh := [][]ball{{{g.Hip, 8.9}, {g.Knee, 6.3}}}
	shank := [][]ball{{{g.Knee, 6.3}, {calf, 5.9}}, {{calf, 5.9}, {g.Ankle, 4.5}}}
	parts := []part{
		{class: shoe, hulls: [][]ball{
			{{g.Ankle, 4}, {heel, 3.2}},
			{{g.Ankle, 4}, {g.Toe, 3}, {g.Toe.Add(toe.Mul(3)), 2.6}, {heel, 3.2}},
		}, bias: -1},
	}
	if angleBetween(g.Knee.Sub(g.Hip), g.Ankle.Sub(g.Knee)) < 60 {
		return append(parts, part{class: trousers, hulls: append(thigh, shank...)})
	}
	return append(parts, part{class: trousers, hulls: thigh}, part{class: trousers, hulls: shank, bias: -0.5})
}

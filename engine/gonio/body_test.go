package gonio

import (
	"math"

	"unsling/engine/rom"
)

// A body in metres, to take pictures of. Axes: right of the body, front, up
// to the head. It knows nothing of package gonio but the names of landmarks.

type vec [3]float64

func (a vec) add(b vec) vec       { return vec{a[0] + b[0], a[1] + b[1], a[2] + b[2]} }
func (a vec) sub(b vec) vec       { return a.add(b.times(-1)) }
func (a vec) times(k float64) vec { return vec{a[0] * k, a[1] * k, a[2] * k} }
func (a vec) dot(b vec) float64   { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }
func (a vec) cross(b vec) vec {
	return vec{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
}
func (a vec) unit() vec { return a.times(1 / math.Sqrt(a.dot(a))) }
func (a vec) left() vec { return vec{-a[0], a[1], a[2]} }
func (a vec) turn(axis vec, angle float64) vec {
	s, c := math.Sincos(rad(angle))
	return a.times(c).add(axis.cross(a).times(s)).add(axis.times(axis.dot(a) * (1 - c)))
}

var (
	toRight = vec{1, 0, 0}
	toFront = vec{0, 1, 0}
	toHead  = vec{0, 0, 1}
)

// body returns the landmarks of a person whose arm is at angle theta of a
// motion, as rom.Motion defines it.
func body(m rom.Motion, side rom.Side, theta float64) map[Landmark]vec {
	shoulder, other := vec{.2, 0, 1.4}, vec{-.2, 0, 1.4}
	hang := vec{0, 0, -1}
	arm, forearm := hang, hang
	s, c := math.Sincos(rad(theta))
	fist := vec{}
	switch m {
	case rom.ForwardFlexion:
		arm = vec{0, s, -c}
	case rom.Extension:
		arm = vec{0, -s, -c}
	case rom.Abduction:
		arm = vec{s, 0, -c}
	case rom.Scaption: // 30 in front of the side
		arm = vec{s * math.Cos(rad(30)), s * math.Sin(rad(30)), -c}
	case rom.CrossBody:
		arm = vec{c, s, 0}
	case rom.ERSide, rom.ER20:
		forearm = vec{s, c, 0}
	case rom.IRSide:
		forearm = vec{-s, c, 0}
	case rom.ER90:
		arm, forearm = toRight, vec{0, c, s}
	case rom.IR90:
		arm, forearm = toRight, vec{0, c, -s}
	case rom.ElbowFlexion:
		forearm = vec{0, s, -c}
	case rom.ElbowExtension: // theta is negative short of straight
		forearm = vec{0, -s, -c}
	case rom.ForearmRotation:
		forearm, fist = toFront, vec{s, 0, c}
	}
	elbow := shoulder.add(arm.times(.31))
	wrist := elbow.add(forearm.times(.26))
	marks := map[Landmark]vec{
		Acromion: shoulder, OtherAcromion: other, Epicondyle: elbow, Olecranon: elbow, Styloid: wrist,
		MidAxillary: {.2, 0, .95}, Armpit: {.2, 0, 1.3}, SternumTop: {0, .1, 1.42}, SternumLine: {0, .1, 1.05},
		PencilLow: wrist.sub(fist.times(.09)), PencilHigh: wrist.add(fist.times(.09)),
	}
	if side == rom.Left {
		for k, v := range marks {
			marks[k] = v.left()
		}
	}
	return marks
}

// camera is a pinhole camera.
type camera struct{ at, forward, up vec }

// aim places a camera for a view, distance metres from the target, square to
// the plane of motion.
func aim(v View, m rom.Motion, side rom.Side, target vec, distance float64) camera {
	c := camera{}
	switch v {
	case FromSide:
		c = camera{forward: vec{-1, 0, 0}, up: toHead}
	case FromFront:
		c = camera{forward: vec{0, -1, 0}, up: toHead}
		if m == rom.Scaption { // square to the plane of the scapula
			c.forward = c.forward.turn(toHead, 30)
		}
	case FromAbove, FromHead:
		c = camera{forward: vec{0, 0, -1}, up: toFront}
	case FromFeet:
		c = camera{forward: vec{0, 0, 1}, up: toFront}
	}
	if m == rom.Abduction && v == FromAbove { // above a person lying on the back
		c = camera{forward: vec{0, -1, 0}, up: toHead}
	}
	if side == rom.Left {
		c.forward = c.forward.left()
	}
	c.at = target.sub(c.forward.times(distance))
	return c
}

// orbit turns the camera about the target: yaw about its own up, pitch about
// its right, then roll about the line of sight.
func (c camera) orbit(target vec, yaw, pitch, roll float64) camera {
	d := math.Sqrt(target.sub(c.at).dot(target.sub(c.at)))
	c.forward = c.forward.turn(c.up, yaw)
	right := c.forward.cross(c.up)
	c.forward, c.up = c.forward.turn(right, pitch), c.up.turn(right, pitch)
	c.at = target.sub(c.forward.times(d))
	c.up = c.up.turn(c.forward, roll)
	return c
}

// project returns where a point falls, in thousandths of the width.
func (c camera) project(p vec) (x, y float64) {
	d := p.sub(c.at)
	right := c.forward.cross(c.up)
	depth := d.dot(c.forward)
	const focus = 1250
	return 500 + focus*d.dot(right)/depth, 1000 - focus*d.dot(c.up)/depth
}

// gravity returns up in the phone's axes; up is the world's.
func (c camera) gravity(up vec) Gravity {
	return Gravity{x: up.dot(c.forward.cross(c.up)), y: up.dot(c.up), z: -up.dot(c.forward)}
}

// worldUp is where up is for a person in a position, in the body's axes.
func worldUp(p rom.Position) vec {
	switch p {
	case rom.Supine:
		return toFront
	case rom.Prone:
		return toFront.times(-1)
	}
	return toHead
}

// centre returns the middle of the marks of a way.
func centre(w Way, marks map[Landmark]vec) vec {
	sum := vec{}
	for _, l := range w.Landmarks {
		sum = sum.add(marks[l])
	}
	return sum.times(1 / float64(len(w.Landmarks)))
}

// shoot takes the picture; click displaces each mark.
func shoot(c camera, w Way, marks map[Landmark]vec, click func() float64) []rom.Point {
	var out []rom.Point
	for _, l := range w.Landmarks {
		x, y := c.project(marks[l])
		out = append(out, rom.Point{X: int(math.Round(x + click())), Y: int(math.Round(y + click()))})
	}
	return out
}

// photoWays lists every photographic way of every motion with angles.
func photoWays() (ways []Way, motions []rom.Motion) {
	for _, m := range rom.Motions {
		for _, w := range GuideFor(m).Ways {
			if w.Method == rom.Photo {
				ways, motions = append(ways, w), append(motions, m)
			}
		}
	}
	return ways, motions
}

package figure

import (
	"math"

	"unsling/engine/gonio"
	"unsling/engine/rom"
)

// scene is one picture for all t: how the body stands at an angle, what is
// in the room, and from where it is seen.
type scene struct {
	motion     rom.Motion
	start, end float64 // degrees (or levels) of the motion at t = 0 and 1
	cam        camera
	floor      float64        // parts below this height may be cut by the frame; 0: none
	keep       func(Vec) bool // further parts that may be cut are those it refuses
	include    []Vec          // points of the room that must be inside the picture
	pose       func(angle, t float64) Pose
	props      func(p Pose, t float64) []prop
	arc        func(p Pose) arcFrame // nil: that of the motion
	radius     float64               // of the arc; 0: that of the motion
	noArc      bool
	trails     []func(p Pose) Vec          // points whose path is shown
	press      func(p Pose) (at, dir Vec)  // an arrow of pressure that grows with t
	blades     bool                        // show the shoulder blades
	landmarks  []gonio.Landmark            // marked points of a measurement, in their order
	extra      func(p Pose, l lens) []part // further shapes: what is worn or laid on, another person
	numbered   []func(p Pose) Vec          // points with the numbers 1, 2, 3...
	zoom       float64                     // largest scale; 0: that of all pictures
}

// angle returns the angle at t.
func (s scene) angle(t float64) float64 { return lerp(s.start, s.end, t) }

func (s scene) at(t float64) Pose { return s.pose(s.angle(t), t) }

// cleanT brings t into 0..1.
func cleanT(t float64) float64 {
	if math.IsNaN(t) {
		return 0
	}
	return clamp(t, 0, 1)
}

// bound sets the end range to what the marks permit and keeps the start below
// it. lo and hi are what the scene can show.
func (s scene) bound(m Marks, lo, hi float64) scene {
	for _, a := range []Angle{m.Limit, m.Aim} {
		if a.Set {
			s.end = a.At.Float()
		}
	}
	if m.Aim.Set && m.Limit.Set {
		s.end = math.Min(m.Aim.At.Float(), m.Limit.At.Float())
	}
	s.end = clamp(s.end, lo, hi)
	if s.start > s.end-15 {
		s.start = math.Max(lo, s.end-25)
	}
	return s
}

// arcFrame is where an angle is read: from zero towards plus around centre,
// by the direction of line.
type arcFrame struct {
	centre, zero, plus, line Vec
}

// value is the angle of the line in degrees, from -180 to 180.
func (a arcFrame) value() float64 {
	return math.Atan2(a.line.Dot(a.plus), a.line.Dot(a.zero)) * 180 / math.Pi
}

func (a arcFrame) point(deg, radius float64) Vec {
	return a.centre.Add(turn(a.zero, a.plus, deg).Mul(radius))
}

// frame returns how the angle of a motion of the operated arm is read from a
// pose, by the zero positions of package rom.
func (p Pose) frame(m rom.Motion) arcFrame {
	t, a := p.Trunk, p.Operated
	upper := a.Elbow.Sub(a.Shoulder).unit()
	fore := a.Wrist.Sub(a.Elbow).unit()
	shoulder := func(zero, plus Vec) arcFrame { return arcFrame{a.Shoulder, zero, plus, upper} }
	elbow := func(zero, plus Vec) arcFrame {
		zero = zero.across(upper)
		plus = plus.across(upper)
		return arcFrame{a.Elbow, zero, plus.across(zero), fore}
	}
	down := t.Up.Mul(-1)
	switch m {
	case rom.ForwardFlexion:
		return shoulder(down, t.Forward)
	case rom.Scaption:
		return shoulder(down, turn(t.Right, t.Forward, 30))
	case rom.Abduction:
		return shoulder(down, t.Right)
	case rom.Extension:
		return shoulder(down, t.Forward.Mul(-1))
	case rom.CrossBody:
		return shoulder(t.Right, t.Forward)
	case rom.ERSide, rom.ER20:
		return elbow(t.Forward, t.Right)
	case rom.IRSide:
		return elbow(t.Forward, t.Right.Mul(-1))
	case rom.ER90:
		return elbow(t.Forward, t.Up)
	case rom.IR90:
		return elbow(t.Forward, down)
	case rom.ElbowFlexion, rom.ElbowExtension:
		return arcFrame{a.Elbow, upper, t.Forward.across(upper), fore}
	case rom.ForearmRotation:
		zero := t.Up.across(fore)
		return arcFrame{mix(a.Wrist, a.Tip, 0.3), zero, t.Right.across(fore).across(zero), a.Thumb}
	}
	return shoulder(down, t.Forward)
}

// Angle returns the angle of a motion of the operated arm in degrees, as a
// goniometer would read it from the joint centres. It means nothing for the
// hand behind the back.
func (p Pose) Angle(m rom.Motion) float64 { return p.frame(m).value() }

func arcRadius(m rom.Motion) float64 {
	switch {
	case m == rom.ForearmRotation:
		return 25
	case m.Rotation():
		return 48 // past the finger tips
	case m == rom.ElbowFlexion || m == rom.ElbowExtension:
		return 34
	}
	return 45
}

package gonio

import (
	"fmt"
	"math"

	"unsling/engine/rom"
)

// Sample is one reading of acceleration including gravity, in m/s^2, along
// the phone's own axes as the W3C's DeviceMotion draft has them: x to the
// right of the screen, y to its top, z out of it. A phone lying on a table
// with its screen up reads z = +9.8. Systems that report the opposite sign
// are turned round where they are read.
type Sample struct{ X, Y, Z float64 }

// Gravity is where up is, in the phone's axes, with its spread. The zero
// value is not usable: see Still.
type Gravity struct {
	x, y, z float64 // unit vector
	spread  float64 // degrees, of single samples about the mean
}

// Spread returns how far single samples strayed from the mean direction: the
// noise of the sensor and of the hand.
func (g Gravity) Spread() rom.Degrees {
	d, _ := rom.FromFloat(g.spread)
	return d
}

const (
	leastSamples = 10
	earth        = 9.81 // m/s^2
	earthSlack   = 0.7  // accelerometers of phones are off by some tenths (memory)
	stillSpread  = 2.0  // degrees
	stillForce   = 0.5  // m/s^2, standard deviation of the magnitude
	// sensorSE is the offset of an uncalibrated sensor (memory).
	sensorSE = 1.0
)

// Still returns the direction of gravity if the phone was held still. It
// refuses too few samples, numbers that are none, free fall and shaking.
func Still(samples []Sample) (Gravity, error) {
	if len(samples) < leastSamples {
		return Gravity{}, fmt.Errorf("read gravity from %d samples: %w", len(samples), ErrSamples)
	}
	n := float64(len(samples))
	var mx, my, mz, mean float64
	for _, s := range samples {
		f := math.Sqrt(float64(s.X*s.X) + float64(s.Y*s.Y) + float64(s.Z*s.Z))
		// A NaN fails this comparison, too.
		if !(f <= 10*earth) {
			return Gravity{}, fmt.Errorf("read gravity: %w", ErrNoGravity)
		}
		mx, my, mz, mean = mx+s.X/n, my+s.Y/n, mz+s.Z/n, mean+f/n
	}
	length := math.Sqrt(float64(mx*mx) + float64(my*my) + float64(mz*mz))
	if length < earth/2 && mean > earth-earthSlack {
		return Gravity{}, fmt.Errorf("read gravity: %w", ErrShaking)
	}
	if math.Abs(length-earth) > earthSlack {
		return Gravity{}, fmt.Errorf("read gravity: %w", ErrNoGravity)
	}
	g := Gravity{x: mx / length, y: my / length, z: mz / length}
	var turn, force float64
	for _, s := range samples {
		f := math.Sqrt(float64(s.X*s.X) + float64(s.Y*s.Y) + float64(s.Z*s.Z))
		a := g.angleTo(Gravity{x: s.X, y: s.Y, z: s.Z})
		turn += a * a / n
		force += (f - mean) * (f - mean) / n
	}
	g.spread = math.Sqrt(turn)
	if g.spread > stillSpread || math.Sqrt(force) > stillForce {
		return Gravity{}, fmt.Errorf("read gravity: %w", ErrShaking)
	}
	return g, nil
}

// angleTo returns the angle between two directions of any length, in
// degrees, well conditioned near 0 and 180.
func (g Gravity) angleTo(h Gravity) float64 {
	cx := float64(g.y*h.z) - float64(g.z*h.y)
	cy := float64(g.z*h.x) - float64(g.x*h.z)
	cz := float64(g.x*h.y) - float64(g.y*h.x)
	dot := float64(g.x*h.x) + float64(g.y*h.y) + float64(g.z*h.z)
	return deg(math.Atan2(math.Sqrt(float64(cx*cx)+float64(cy*cy)+float64(cz*cz)), dot))
}

func (g Gravity) valid() bool {
	return math.Abs(float64(g.x*g.x)+float64(g.y*g.y)+float64(g.z*g.z)-1) < 1e-6
}

// Laid is a measurement with the phone laid along the limb: its long edge
// along the bone and its top towards the hand. On a forearm it lies on the
// back of the hand's side, screen outwards. On the trunk its top points to
// the feet and its screen the same way as on the arm; for rotations it lies
// on the breastbone, screen up, top to the chin.
type Laid struct {
	Motion   rom.Motion
	Side     rom.Side
	Position rom.Position
	Arm      Gravity
	// Trunk is the first reading: on the trunk, or for the elbow on the
	// upper arm. With it, leaning does not enter the angle.
	Trunk *Gravity
	// Turned says that the phone's top pointed away from the hand. Two
	// readings with the phone the same way round need no such word.
	Turned bool
}

// MeasureTilt returns the angle that gravity shows. A motion about the
// vertical is refused with a *BlindError that says so.
func MeasureTilt(l Laid) (Measure, error) {
	m, err := l.measure()
	if err != nil {
		return Measure{}, fmt.Errorf("measure tilt: %w", err)
	}
	return m, nil
}

func (l Laid) measure() (Measure, error) {
	way, ok := WayFor(l.Motion, rom.Tilt, l.Position)
	switch {
	case !ok:
		return Measure{}, blind(rom.Tilt, l.Motion, l.Position)
	case !l.Side.Valid() || !l.Arm.valid() || (l.Trunk != nil && !l.Trunk.valid()):
		return Measure{}, ErrNoGravity
	}
	if l.Turned {
		l.Arm = l.Arm.turned()
		if l.Trunk != nil && way.Trunk {
			t := l.Trunk.turned()
			l.Trunk = &t
		}
	}
	noise := math.Hypot(l.Arm.spread, sensorSE)
	if l.Trunk != nil {
		noise = math.Hypot(noise, math.Hypot(l.Trunk.spread, sensorSE))
	}
	switch {
	case l.Motion.Rotation():
		return l.rotation(noise)
	case l.Motion == rom.ForearmRotation:
		return measured(l.Motion, l.Arm.angleTo(Gravity{y: 1}), noise, 0, nil)
	case l.Trunk != nil && (l.Position == rom.Supine || l.Position == rom.Prone):
		return l.lying(noise)
	case l.Trunk != nil:
		return l.twoReadings(noise)
	case l.Position == rom.Standing || l.Position == rom.Seated:
		if !l.Motion.Elevation() && l.Motion != rom.Extension {
			return Measure{}, ErrTrunk
		}
		// The trunk is taken for upright: its lean is in the angle.
		return measured(l.Motion, l.Arm.angleTo(Gravity{y: -1}), noise, 0, nil)
	}
	return Measure{}, ErrTrunk
}

// turned is the same direction in a phone turned end for end about its screen.
func (g Gravity) turned() Gravity {
	g.x, g.y = -g.x, -g.y
	return g
}

const (
	// acrossTrunk is how steep the phone's long edge may lie on a lying trunk:
	// beyond a head end raised by so many degrees it lies across (derived).
	acrossTrunk = 45
	// twistedFrom is the turn about the long edge between the two places from
	// which the side of the vertical that the arm is on is no longer sure.
	twistedFrom    = 50
	cosTwistedFrom = 0.6428
)

// lying returns the angle between the phone's long edge on the arm and on the
// trunk of a person lying down. Gravity is across the trunk then, so that a
// turn about the long edge, as between a flank and a round upper arm, would
// pass for movement if whole directions were compared. The long edge alone
// reads 20 and 160 alike; which it is shows in the other two axes, as long as
// the phone's screen faces the same way in both places, give or take twistedFrom.
func (l Laid) lying(noise float64) (Measure, error) {
	var warn []Warning
	t, a := *l.Trunk, l.Arm
	trunk, arm := t.fromDown(), a.fromDown()
	across := float64(t.x*a.x) + float64(t.z*a.z)
	if across < 0 {
		arm = -arm
	}
	angle := math.Abs(arm - trunk)
	if angle > 180 {
		angle = 360 - angle
	}
	both := float64(math.Hypot(t.x, t.z) * math.Hypot(a.x, a.z))
	// Near the vertical both sides read alike, and the sideways parts say nothing.
	twisted := both > 0.3 && math.Abs(across) < both*cosTwistedFrom
	if twisted || math.Abs(trunk-90) > acrossTrunk {
		warn = append(warn, WarnAcross)
	}
	return measured(l.Motion, angle, noise, 0, warn)
}

// fromDown returns the angle of the phone's long edge from straight down, 0 to 180 degrees.
func (g Gravity) fromDown() float64 { return deg(math.Atan2(math.Hypot(g.x, g.z), -g.y)) }

// twoReadings returns by how much gravity turned within the phone between
// the two places. The phone may be upside down and face either way, and the
// arm be either arm, as long as it lies alike in both.
func (l Laid) twoReadings(noise float64) (Measure, error) {
	var warn []Warning
	if (l.Position == rom.Standing || l.Position == rom.Seated) && l.Motion != rom.ElbowFlexion && l.Motion != rom.ElbowExtension {
		lean := l.Trunk.angleTo(Gravity{y: -1})
		if lean > 90 {
			lean = 180 - lean
			warn = append(warn, WarnUpsideDown)
		}
		if lean > 20 {
			warn = append(warn, WarnLean)
		}
	}
	angle := l.Trunk.angleTo(l.Arm)
	if l.Motion == rom.ElbowExtension {
		angle = -angle
	}
	return measured(l.Motion, angle, noise, 0, warn)
}

// rotation returns a rotation of the shoulder of a person lying on the back:
// the forearm against the vertical, less the turn of the trunk if it was read.
func (l Laid) rotation(noise float64) (Measure, error) {
	var warn []Warning
	g := l.Arm
	// A hand this far below the elbow is a phone with its top at the elbow,
	// not a rotation of 105 and more, or 125 and more at 90 of abduction.
	below := -0.26
	if l.Motion == rom.ER90 || l.Motion == rom.IR90 {
		below = -0.57
	}
	if g.y < below {
		g = g.turned()
		warn = append(warn, WarnUpsideDown)
	}
	angle := deg(math.Atan2(-g.z, g.y))
	out := deg(math.Asin(math.Min(1, math.Abs(g.x))))
	if out >= planeWarn {
		warn = append(warn, WarnPlane)
	}
	if l.Trunk != nil {
		lean, err := l.trunkTurn()
		if err != nil {
			return Measure{}, err
		}
		if math.Abs(lean) > 10 {
			warn = append(warn, WarnLean)
		}
		angle -= lean
	}
	se := math.Hypot(noise, yawError(math.Abs(angle), out))
	if l.Motion == rom.IRSide || l.Motion == rom.IR90 {
		angle = -angle
	}
	if angle < -15 {
		warn = append(warn, WarnDirection)
	}
	return measured(l.Motion, angle, se, out, warn)
}

// trunkTurn returns how far the front of the trunk is turned in the
// direction of external rotation.
func (l Laid) trunkTurn() (float64, error) {
	t := l.Trunk
	if t.z < 0.5 { // more than 60 degrees from lying on the back
		return 0, ErrTrunk
	}
	if l.Motion == rom.ER90 || l.Motion == rom.IR90 {
		// External rotation goes towards the head; a raised head end turns
		// the front towards the feet.
		return -deg(math.Atan2(t.y, t.z)), nil
	}
	roll := deg(math.Atan2(t.x, t.z)) // towards the right: x points to the left of the body
	if l.Side == rom.Left {
		roll = -roll
	}
	return roll, nil
}

package gonio

import (
	"errors"

	"unsling/engine/rom"
)

// The reasons why nothing could be measured. Returned errors wrap one of them.
var (
	ErrMarks       = errors.New("the marks do not fit the motion")
	ErrShort       = errors.New("two marks of one line lie too close together")
	ErrImplausible = errors.New("no joint reaches this angle: a mark is wrong, the picture mirrored or of the other arm, or the phone lay the other way")
	ErrVague       = errors.New("the error is too large to call this a measurement")
	ErrSamples     = errors.New("too few readings of the sensor")
	ErrShaking     = errors.New("the phone was not held still")
	ErrNoGravity   = errors.New("the sensor did not show gravity; the phone was falling, swung or its sensor is broken")
	ErrTrunk       = errors.New("a first reading on the trunk is needed")
	ErrNoWay       = errors.New("this motion is not measured this way")
	ErrTrials      = errors.New("no usable trials")
	ErrLevel       = errors.New("not a vertebral level")
)

// BlindError says that a method cannot see a motion in a position, and why.
// It wraps ErrNoWay.
type BlindError struct {
	Method   rom.Method
	Motion   rom.Motion
	Position rom.Position
	Why      Reason
}

func (e *BlindError) Error() string {
	return "measure " + string(e.Motion) + " by " + string(e.Method) + " while " + string(e.Position) + ": " + ErrNoWay.Error()
}

// Unwrap returns ErrNoWay.
func (e *BlindError) Unwrap() error { return ErrNoWay }

// blind returns the error for a way that does not exist.
func blind(method rom.Method, m rom.Motion, p rom.Position) error {
	e := &BlindError{Method: method, Motion: m, Position: p, Why: ReasonNotOffered}
	for _, c := range guides[m].Cannot {
		if c.Method == method && c.Position == p {
			e.Why = c.Why
		}
	}
	return e
}

// Warning is something to ask or tell the person about one trial; a key of
// app/words. A warning never changes the angle.
type Warning string

// The warnings.
const (
	WarnPlane      Warning = "measure.out-of-plane" // camera or arm out of the plane of motion
	WarnMirrored   Warning = "measure.mirrored"     // mirrored picture, other arm, or marks swapped
	WarnLean       Warning = "measure.trunk-leans"
	WarnUpsideDown Warning = "measure.upside-down" // noticed and allowed for
	WarnDirection  Warning = "measure.direction"   // turned the other way, or the phone lay on the other face
	WarnAcross     Warning = "measure.across"      // the phone's long edge may not have lain along the limb
	WarnShort      Warning = "measure.small"       // short lines: go nearer, or use a larger picture
)

// Measure is one trial.
type Measure struct {
	Angle rom.Degrees
	// SE is the standard error of this trial from its own marks or samples
	// and from what is known of the plane. It has no floor: see Combine.
	SE         rom.Degrees
	OutOfPlane rom.Degrees
	Warnings   []Warning
}

// Trial returns m as it is recorded, with the marks it came from, if any.
func (m Measure) Trial(marks []rom.Point) rom.Trial {
	return rom.Trial{Angle: m.Angle, SE: m.SE, OutOfPlane: m.OutOfPlane, Landmarks: marks}
}

// mostSE is the standard error beyond which there is no measurement (derived).
const mostSE = 45

// measured rounds a trial and refuses what anatomy refuses, and what says
// nothing.
func measured(m rom.Motion, angle, se, out float64, warn []Warning) (Measure, error) {
	if !(se <= mostSE) {
		return Measure{}, ErrVague
	}
	a, ok := rom.FromFloat(angle)
	s, ok2 := rom.FromFloat(se)
	o, ok3 := rom.FromFloat(out)
	if !ok || !ok2 || !ok3 || a > m.AnatomicalMax() || a < rom.Deg(-60) {
		return Measure{}, ErrImplausible
	}
	return Measure{Angle: a, SE: s, OutOfPlane: o, Warnings: warn}, nil
}

//go:build js && wasm

package device

import (
	"context"
	"math"
	"syscall/js"
	"time"

	"unsling/wasm/internal/jsrun"
)

// Sample is one reading of gravity in the phone's own axes: X to the right of the upright screen, Y to its top, Z out of
// it, in m/s2. It points away from the earth: a phone on its back reads about (0, 0, 9.8).
type Sample struct {
	At      int64 // Mono, milliseconds
	X, Y, Z float64
}

const (
	gravity     = 9.80665 // m/s2, ISO 80000-3
	firstSample = 3 * time.Second
)

// tilt is one stream of samples. Its fields belong to the page's thread.
type tilt struct {
	f     func(Sample)
	sign  float64 // of the accelerometer against the convention above; 0 while not known
	up    [3]float64
	upSet bool
	seen  int
	first chan struct{}
	ended bool
}

// Tilt asks for permission, which must begin inside a tap, and then sends samples to f until stop is called. It waits for
// the first sample; ErrRefused or ErrAbsent say that there will be none.
//
// The sign of the accelerometer differs between browsers, so it is settled by the orientation angles, whose sense does not
// (W3C Device Orientation and Motion, section 4: alpha, beta, gamma are intrinsic turns about Z, X', Y”). Without them the
// maker's habit counts. Without an accelerometer the angles alone give the direction.
func Tilt(ctx context.Context, f func(Sample)) (stop func(), err error) {
	if err := askForMotion(ctx); err != nil {
		return nil, err
	}
	t := &tilt{f: f, first: make(chan struct{})}
	offTurn := jsrun.Listen(window(), "deviceorientation", t.turned)
	offMove := jsrun.Listen(window(), "devicemotion", t.moved)
	stop = func() { t.ended = true; offTurn(); offMove() }
	limit := time.NewTimer(firstSample)
	defer limit.Stop()
	select {
	case <-t.first:
		return stop, nil
	case <-limit.C:
		stop()
		return nil, ErrAbsent
	case <-ctx.Done():
		stop()
		return nil, ctx.Err()
	}
}

// askForMotion asks where the browser wants to be asked. Both questions start before either is waited for: the second would
// be outside of the tap.
func askForMotion(ctx context.Context) error {
	var asked []js.Value
	for _, class := range []string{"DeviceMotionEvent", "DeviceOrientationEvent"} {
		v := window().Get(class)
		if !jsrun.Has(v, "requestPermission") {
			continue
		}
		p, err := jsrun.Call(v, "requestPermission")
		if err != nil {
			return refusal(err)
		}
		ignore(p) // a refusal of the other one is told, this one's must not be an error nobody takes
		asked = append(asked, p)
	}
	for _, p := range asked {
		answer, err := jsrun.Await(ctx, p)
		if err != nil {
			return refusal(err)
		}
		if answer.Type() == js.TypeString && answer.String() != "granted" {
			return ErrRefused
		}
	}
	return nil
}

func (t *tilt) turned(e js.Value) {
	beta, ok1 := number(e, "beta")
	gamma, ok2 := number(e, "gamma")
	if !ok1 || !ok2 {
		return
	}
	t.up, t.upSet = upOf(beta, gamma), true
	if t.sign == 0 && t.seen > 2 { // angles, but no accelerometer
		t.send(gravity*t.up[0], gravity*t.up[1], gravity*t.up[2])
	}
	t.seen++
}

// upOf is the direction away from the earth in the phone's axes, from beta and gamma in degrees: the third row of the turn
// Z(alpha) X(beta) Y(gamma).
func upOf(beta, gamma float64) [3]float64 {
	sb, cb := math.Sincos(beta * math.Pi / 180)
	sg, cg := math.Sincos(gamma * math.Pi / 180)
	return [3]float64{-cb * sg, sb, cb * cg}
}

func (t *tilt) moved(e js.Value) {
	a := e.Get("accelerationIncludingGravity")
	x, ok1 := number(a, "x")
	y, ok2 := number(a, "y")
	z, ok3 := number(a, "z")
	if !ok1 || !ok2 || !ok3 {
		return
	}
	t.seen++
	if t.sign == 0 {
		switch {
		case t.upSet:
			t.sign = math.Copysign(1, float64(x*t.up[0])+float64(y*t.up[1])+float64(z*t.up[2]))
		case t.seen < 4:
			return // the angles may still come
		case KindOfPhone() == Apple:
			t.sign = -1
		default:
			t.sign = 1
		}
	}
	t.send(t.sign*x, t.sign*y, t.sign*z)
}

func (t *tilt) send(x, y, z float64) {
	if t.ended {
		return
	}
	select {
	case <-t.first:
	default:
		close(t.first)
	}
	t.f(Sample{At: Mono(), X: x, Y: y, Z: z})
}

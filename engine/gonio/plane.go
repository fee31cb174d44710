package gonio

import "math"

// planeWarn is from how many degrees out of plane the person is told. The
// error at 15 stays below one degree, at 20 it nears two, at 30 it passes
// four (orthographic projection, derived).
const planeWarn = 15

// handYaw is the yaw that is reckoned with in any picture taken by hand. A
// hand is taken to stray by 10 degrees (standard deviation; derived); since
// the error grows with the square of the yaw, its root mean square is that of
// 10 * 3^(1/4).
const handYaw = 13.2

func rad(deg float64) float64 { return deg * (math.Pi / 180) }
func deg(rad float64) float64 { return rad * (180 / math.Pi) }

// wrap brings an angle in degrees into (-180, 180].
func wrap(a float64) float64 {
	a = math.Mod(a, 360)
	switch {
	case a > 180:
		return a - 360
	case a <= -180:
		return a + 360
	}
	return a
}

// yawError returns how much an angle theta from the vertical changes in a
// picture when the arm or the camera is turned by psi about the vertical, in
// degrees, under orthographic projection.
func yawError(theta, psi float64) float64 {
	s, c := math.Sincos(rad(theta))
	return deg(math.Atan2(s*math.Cos(rad(psi)), c)) - theta
}

// pitchError is the same for a camera that looks up or down by p.
func pitchError(theta, p float64) float64 {
	s, c := math.Sincos(rad(theta))
	return deg(math.Atan2(s, c*math.Cos(rad(p)))) - theta
}

// skewError bounds, without sign, how much an angle theta between two lines
// of a plane changes when that plane is seen from psi out of square, whatever
// the direction: it is largest when the tilt is about the bisector.
func skewError(theta, psi float64) float64 {
	half := rad(theta) / 2
	c := math.Cos(rad(psi))
	narrow := theta - deg(2*math.Atan2(float64(c*math.Sin(half)), math.Cos(half)))
	wide := deg(2*math.Atan2(math.Sin(half), float64(c*math.Cos(half)))) - theta
	return math.Max(math.Abs(narrow), math.Abs(wide))
}

package figure

import "math"

// Vec is a point or direction in space: centimetres to the right, up and
// forward of a body that stands upright and faces forward.
type Vec struct{ X, Y, Z float64 }

var (
	right   = Vec{1, 0, 0}
	up      = Vec{0, 1, 0}
	forward = Vec{0, 0, 1}
)

// Add returns a+b.
func (a Vec) Add(b Vec) Vec { return Vec{a.X + b.X, a.Y + b.Y, a.Z + b.Z} }

// Sub returns a-b.
func (a Vec) Sub(b Vec) Vec { return Vec{a.X - b.X, a.Y - b.Y, a.Z - b.Z} }

// Mul returns a scaled by k.
func (a Vec) Mul(k float64) Vec { return Vec{a.X * k, a.Y * k, a.Z * k} }

// Dot returns the scalar product.
func (a Vec) Dot(b Vec) float64 { return a.X*b.X + a.Y*b.Y + a.Z*b.Z }

// Len returns the length.
func (a Vec) Len() float64 { return math.Sqrt(a.Dot(a)) }

func (a Vec) unit() Vec {
	if l := a.Len(); l > 1e-9 {
		return a.Mul(1 / l)
	}
	return a
}

// across returns the unit part of a that is at right angles to the unit
// vector n, or any such vector if a is parallel to n.
func (a Vec) across(n Vec) Vec {
	p := a.Sub(n.Mul(a.Dot(n)))
	if p.Len() < 1e-6 {
		p = Vec{n.Y, n.Z, n.X}
		p = p.Sub(n.Mul(p.Dot(n)))
	}
	return p.unit()
}

// turn rotates the unit vector a by deg degrees towards b, which is at right
// angles to it.
func turn(a, b Vec, deg float64) Vec {
	s, c := sincos(deg)
	return a.Mul(c).Add(b.Mul(s))
}

func sincos(deg float64) (s, c float64) { return math.Sincos(deg * math.Pi / 180) }

func lerp(a, b, t float64) float64 { return a + float64((b-a)*t) }

func mix(a, b Vec, t float64) Vec { return a.Add(b.Sub(a).Mul(t)) }

func clamp(x, lo, hi float64) float64 { return math.Max(lo, math.Min(hi, x)) }

// smooth rises from 0 at lo to 1 at hi without corners.
func smooth(x, lo, hi float64) float64 {
	t := clamp((x-lo)/(hi-lo), 0, 1)
	return t * t * (3 - 2*t)
}

// solve finds x in lo..hi with f(x) = 0 for a function that changes sign
// there; without a change of sign it returns the end nearer to zero.
func solve(lo, hi float64, f func(float64) float64) float64 {
	a, b := f(lo), f(hi)
	if a*b > 0 {
		if math.Abs(a) < math.Abs(b) {
			return lo
		}
		return hi
	}
	for range 50 {
		mid := (lo + hi) / 2
		if m := f(mid); m*a > 0 {
			lo, a = mid, m
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// Axes are the directions of a body part: its right, its upper end, its front.
type Axes struct{ Right, Up, Forward Vec }

var upright = Axes{right, up, forward}

// lean tips forward, side tips to the right, yaw turns to the left.
func (a Axes) lean(deg float64) Axes {
	return Axes{a.Right, turn(a.Up, a.Forward, deg), turn(a.Forward, a.Up, -deg)}
}

func (a Axes) side(deg float64) Axes {
	return Axes{turn(a.Right, a.Up, -deg), turn(a.Up, a.Right, deg), a.Forward}
}

func (a Axes) yaw(deg float64) Axes {
	return Axes{turn(a.Right, a.Forward, deg), a.Up, turn(a.Forward, a.Right, -deg)}
}

// at returns the point with the given coordinates in a around origin.
func (a Axes) at(origin Vec, x, y, z float64) Vec {
	return origin.Add(a.Right.Mul(x)).Add(a.Up.Mul(y)).Add(a.Forward.Mul(z))
}

package figure

import "math"

// camera looks at the scene without perspective, so that lengths along one
// direction stay comparable. azimuth 0 sees the front of an upright body, 90
// the operated side, 180 the back; height is the elevation of the camera.
type camera struct{ azimuth, height float64 }

type flat struct{ x, y float64 }

// axes returns the directions of the picture's right, its top, and towards
// the viewer.
func (c camera) axes() (r, u, t Vec) {
	sa, ca := sincos(c.azimuth)
	sh, ch := sincos(c.height)
	level := forward.Mul(ca).Add(right.Mul(sa))
	r = right.Mul(-ca).Add(forward.Mul(sa))
	return r, up.Mul(ch).Sub(level.Mul(sh)), level.Mul(ch).Add(up.Mul(sh))
}

// lens turns points in space into points of one picture.
type lens struct {
	r, u, t Vec
	scale   float64
	origin  flat // picture coordinates of the space's origin
}

func (l lens) flat(v Vec) flat {
	return flat{l.origin.x + float64(v.Dot(l.r)*l.scale), l.origin.y - float64(v.Dot(l.u)*l.scale)}
}

func (l lens) depth(v Vec) float64 { return v.Dot(l.t) }

// box is a rectangle in picture coordinates.
type box struct{ x0, y0, x1, y1 float64 }

func emptyBox() box { return box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)} }

func (b *box) add(p flat, r float64) {
	b.x0, b.y0 = math.Min(b.x0, p.x-r), math.Min(b.y0, p.y-r)
	b.x1, b.y1 = math.Max(b.x1, p.x+r), math.Max(b.y1, p.y+r)
}

// fit returns the lens that shows b, which was measured by a lens of scale 1
// around the origin, in the middle of the area.
func (c camera) fit(b, area box, maxScale float64) lens {
	r, u, t := c.axes()
	k := math.Min((area.x1-area.x0)/(b.x1-b.x0), (area.y1-area.y0)/(b.y1-b.y0))
	k = math.Min(k, maxScale)
	return lens{r: r, u: u, t: t, scale: k, origin: flat{
		x: (area.x0+area.x1)/2 - float64((b.x0+b.x1)/2*k),
		y: (area.y0+area.y1)/2 - float64((b.y0+b.y1)/2*k),
	}}
}

package figure

import "unsling/engine/rom"

// Spot is where the phone lies on the body for a reading of tilt.
type Spot string

// The spots.
const (
	OnTrunk    Spot = "trunk"     // along the side of the body
	OnUpperArm Spot = "upper-arm" // along the upper arm, on its outside
	OnForearm  Spot = "forearm"   // along the forearm, near the wrist
	InFist     Spot = "fist"      // held along the thumb
)

// Strapped returns the picture of the phone on the body while a motion is
// measured by tilt in a position: the body as in MeasureIn, the phone where
// it goes, and no landmarks, since none is marked.
func Strapped(motion rom.Motion, position rom.Position, spot Spot, side rom.Side, m Marks, w Words) string {
	return draw(strappedScene(motion, position, spot, m), side, 1, m, w)
}

func strappedScene(motion rom.Motion, position rom.Position, spot Spot, m Marks) scene {
	if spot == OnTrunk {
		m = Marks{Now: At(rom.Deg(30))} // the arm leaves the side in view
	}
	s := measureScene(motion, position, m)
	s.landmarks = nil
	if spot == OnTrunk {
		s.noArc = true
	}
	if position == rom.Supine && !motion.Elevation() {
		s.cam = camera{azimuth: 62, height: 26}
	}
	if motion == rom.ForearmRotation {
		s.props = func(Pose, float64) []prop { return stool() }
	}
	s.extra = func(p Pose, l lens) []part { return p.phone(spot, l) }
	return s
}

// rest returns the middle of the phone, the direction of its long edge and
// the radius of what it lies on.
func (p Pose) rest(spot Spot) (at, along Vec, radius float64) {
	a := p.Operated
	switch spot {
	case OnTrunk:
		return p.Trunk.at(p.Pelvis, 12, 22, 1), p.Trunk.Up, 5
	case OnUpperArm:
		return mix(a.Shoulder, a.Elbow, 0.55), a.Elbow.Sub(a.Shoulder).unit(), 4.6
	case InFist:
		return a.fist().Add(a.Thumb.Mul(3)), a.Thumb, 2
	}
	return mix(a.Elbow, a.Wrist, 0.62), a.Wrist.Sub(a.Elbow).unit(), 3.4
}

// phone is a phone on the body, 15 by 7.5 cm, its screen to the viewer, with
// the straps that hold it.
func (p Pose) phone(spot Spot, l lens) []part {
	at, along, radius := p.rest(spot)
	out := l.t.across(along)
	broad := Vec{
		along.Y*out.Z - along.Z*out.Y, along.Z*out.X - along.X*out.Z, along.X*out.Y - along.Y*out.X,
	}
	mid := at.Add(out.Mul(radius + 0.5))
	plate := func(class string, length, width, r, bias float64) part {
		var h []ball
		for _, x := range []float64{-1, 1} {
			for _, y := range []float64{-1, 1} {
				h = append(h, ball{mid.Add(along.Mul(x * length)).Add(broad.Mul(y * width)), r})
			}
		}
		return part{class: class, hulls: [][]ball{h}, bias: bias}
	}
	over := 20.0
	if spot != OnTrunk {
		over = 60 // the arm under it hides nothing of it
	}
	parts := []part{plate("fig-phone", 6.6, 2.9, 0.9, over), plate("fig-glass", 5.7, 2.6, 0.5, over+1)}
	if spot == OnUpperArm || spot == OnForearm {
		for _, x := range []float64{-3.6, 3.6} {
			c := at.Add(along.Mul(x))
			parts = append(parts, part{class: "fig-strap", bias: over + 2, hulls: [][]ball{{
				{c.Add(broad.Mul(4.6)).Add(out.Mul(radius)), 0.9}, {c.Sub(broad.Mul(4.6)).Add(out.Mul(radius)), 0.9},
			}}})
		}
	}
	return parts
}

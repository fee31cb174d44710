package figure

import (
	"strconv"
	"strings"

	"unsling/engine/gonio"
	"unsling/engine/rom"
)

// usualAngles are what a measuring picture shows without a reading.
var usualAngles = map[rom.Motion]float64{
	rom.ForwardFlexion: 110, rom.Scaption: 100, rom.Abduction: 90, rom.ERSide: 35, rom.ER20: 35, rom.ER90: 50,
	rom.IRSide: 40, rom.IR90: 40, rom.Extension: 30, rom.CrossBody: 115, rom.HandBehindBack: 15,
	rom.ElbowFlexion: 110, rom.ElbowExtension: 8, rom.ForearmRotation: 60,
}

// way picks the photograph of a motion in a position, else the first way.
func way(m rom.Motion, position rom.Position) gonio.Way {
	var first gonio.Way
	for _, w := range gonio.GuideFor(m).Ways {
		if len(w.Landmarks) == 0 {
			continue
		}
		if w.Position == position {
			return w
		}
		if first.Position == "" {
			first = w
		}
	}
	return first
}

func measureScene(m rom.Motion, position rom.Position, marks Marks) scene {
	if !m.Valid() {
		return standScene()
	}
	w := way(m, position)
	if position == "" || (w.Position != position && !tilted(m, position)) {
		position = w.Position
	}
	angle := usualAngles[m]
	if marks.Now.Set {
		angle = marks.Now.At.Float()
	}
	s := scene{
		motion: m, start: angle, end: angle, cam: measureCamera(m, position, w.View), floor: 62,
		landmarks: w.Landmarks,
		pose:      func(a, _ float64) Pose { return measured(m, position, a) },
	}
	switch position {
	case rom.Supine:
		s.floor = 0
		s.props = func(Pose, float64) []prop { return bed() }
	case rom.Prone:
		s.floor = 0
		s.props = func(Pose, float64) []prop { return []prop{mattress()} }
	case rom.Seated:
		s.floor = 36
		s.props = func(Pose, float64) []prop { return stool() }
	}
	if m == rom.ForearmRotation {
		seat := s.props
		s.props = func(p Pose, t float64) []prop { return append(seat(p, t), pencil(p)) }
	}
	return s
}

// tilted reports whether the motion is measured there by tilt alone.
func tilted(m rom.Motion, position rom.Position) bool {
	for _, w := range gonio.GuideFor(m).Ways {
		if w.Position == position {
			return true
		}
	}
	return false
}

// measureCamera stands where the photograph is taken from, drawn a little to
// the side of it where the strict view would hide the arm.
func measureCamera(m rom.Motion, position rom.Position, v gonio.View) camera {
	switch v {
	case gonio.FromFront:
		if m == rom.Scaption {
			return camera{azimuth: -30, height: 8}
		}
		if m == rom.ForearmRotation {
			return camera{azimuth: 24, height: 26}
		}
		return fromFront
	case gonio.FromAbove:
		if position == rom.Supine {
			return camera{azimuth: 0, height: 84}
		}
		if m == rom.CrossBody {
			return camera{azimuth: 32, height: 50}
		}
		return camera{azimuth: -30, height: 58}
	case gonio.FromFeet, gonio.FromHead:
		return camera{azimuth: 150, height: 34}
	case gonio.FromBehind:
		return camera{azimuth: 180, height: 4}
	}
	if position == rom.Supine || position == rom.Prone {
		return camera{azimuth: 76, height: 16}
	}
	return fromSide
}

// measured places a body for a measurement.
func measured(m rom.Motion, position rom.Position, angle float64) Pose {
	var p Pose
	switch position {
	case rom.Supine:
		p = supine()
	case rom.Prone:
		p = prone()
	case rom.Seated:
		p = seated(0, 0)
	default:
		p = standing()
	}
	t := p.Trunk
	down := t.Up.Mul(-1)
	raise := func(plane Vec, thumb Vec) { p.arm(true, turn(down, plane, angle), plane, 3, thumb) }
	switch m {
	case rom.ForwardFlexion:
		raise(t.Forward, turn(t.Forward, t.Up, angle))
	case rom.Scaption:
		raise(turn(t.Right, t.Forward, 30), t.Forward)
	case rom.Abduction:
		raise(t.Right, turn(t.Right, t.Up, angle))
	case rom.Extension:
		raise(t.Forward.Mul(-1), t.Forward)
	case rom.CrossBody:
		across := turn(t.Right, t.Forward, angle)
		p.arm(true, turn(down, across, 89), turn(t.Right, t.Forward, angle+90), 25, t.Up)
	case rom.ERSide:
		p.elbowAtSide(angle)
	case rom.IRSide:
		p.elbowAtSide(-angle)
	case rom.ER20:
		d := turn(down, t.Right, 20)
		out := t.Right.across(d)
		p.arm(true, d, turn(t.Forward, out, angle), 90, t.Up)
	case rom.ER90:
		p.arm(true, t.Right, turn(t.Forward, t.Up, angle), 90, t.Right.Mul(-1))
	case rom.IR90:
		p.arm(true, t.Right, turn(t.Forward, down, angle), 90, t.Right.Mul(-1))
	case rom.ElbowFlexion, rom.ElbowExtension:
		p.arm(true, turn(down, t.Right, 6), t.Forward, angle, t.Right)
	case rom.ForearmRotation:
		p.elbowAtSide(0)
		a := p.Operated
		dir := a.Wrist.Sub(a.Elbow).unit()
		zero := t.Up.across(dir)
		a.setHand(dir, turn(zero, t.Right.across(dir).across(zero), angle))
		p.Operated = a
	case rom.HandBehindBack:
		p.handBehindBack(angle)
	}
	return p
}

// prone lies face down, head to positive Z.
func prone() Pose {
	var p Pose
	p.place(Vec{0, bedUp + 11, 0}, Axes{right, forward, up.Mul(-1)}, 0)
	p.Head = p.HeadAxes.at(p.Neck, 0, headUp, 1)
	for _, operated := range []bool{true, false} {
		out := right
		if !operated {
			out = right.Mul(-1)
		}
		l := Leg{Hip: p.Pelvis.Add(out.Mul(hipHalf))}
		l.Knee = l.Hip.Add(turn(forward.Mul(-1), up, -4).Mul(thighLen))
		l.Ankle = l.Knee.Add(turn(forward.Mul(-1), up, 2).Mul(shankLen))
		l.Toe = l.Ankle.Add(turn(forward.Mul(-1), up, -20).Mul(footLen))
		if operated {
			p.Right = l
		} else {
			p.Left = l
		}
	}
	p.arm(false, turn(forward.Mul(-1), right.Mul(-1), 12), up.Mul(-1), 6, up.Mul(-1))
	return p
}

// pencil is held in the fist along the thumb.
func pencil(p Pose) prop {
	mid := p.Operated.fist()
	return rodOf("fig-stick", mid.Sub(p.Operated.Thumb.Mul(pencilLow)), mid.Add(p.Operated.Thumb.Mul(pencilHigh)), 1.3).biased(2)
}

const pencilLow, pencilHigh = 10.0, 15.0

func (a Arm) fist() Vec { return mix(a.Wrist, a.Tip, 0.42) }

// landmark is where a landmark of package gonio lies on a pose.
func (p Pose) landmark(k gonio.Landmark) Vec {
	t, a := p.Trunk, p.Operated
	on := func(x, y, z float64) Vec { return t.at(p.Pelvis, x, y, z) }
	switch k {
	case gonio.Acromion:
		return a.Shoulder.Add(t.Up.Mul(3))
	case gonio.OtherAcromion:
		return p.Free.Shoulder.Add(t.Up.Mul(3))
	case gonio.Epicondyle, gonio.Olecranon:
		return a.Elbow
	case gonio.Styloid:
		return a.Wrist
	case gonio.MidAxillary:
		return on(12, 6, 0)
	case gonio.Armpit:
		return on(15, 38, 0)
	case gonio.SternumTop:
		return on(0, 46, 8)
	case gonio.SternumLine:
		return on(0, 17, 9)
	case gonio.PencilLow:
		return a.fist().Sub(a.Thumb.Mul(pencilLow))
	case gonio.PencilHigh:
		return a.fist().Add(a.Thumb.Mul(pencilHigh))
	case gonio.SpineC7:
		return on(0, 51, -7)
	case gonio.SpinePSIS:
		return on(0, 3, -9)
	case gonio.ThumbTip:
		return a.Wrist.Add(a.Tip.Sub(a.Wrist).unit().Mul(8.6)).Add(a.Thumb.Mul(4.9))
	}
	return a.Shoulder
}

// points are the points of a pose that carry numbers, in their order.
func (s scene) points(p Pose) []Vec {
	var out []Vec
	for _, k := range s.landmarks {
		out = append(out, p.landmark(k))
	}
	for _, f := range s.numbered {
		out = append(out, f(p))
	}
	return out
}

// joins draws the points that are marked.
func joins(points []Vec, l lens) string {
	var b strings.Builder
	for _, v := range points {
		q := l.flat(v)
		b.WriteString(`<circle class="fig-point" cx="` + num(q.x) + `" cy="` + num(q.y) + `" r="8.5"/>`)
	}
	return b.String()
}

// numbers writes the order of the points; it is not mirrored.
func numbers(b *strings.Builder, points []Vec, l lens, side rom.Side) {
	for i, v := range points {
		q := l.flat(v)
		if side == rom.Left {
			q.x = viewWidth - q.x
		}
		b.WriteString(`<text class="fig-text" text-anchor="middle" font-size="13" x="` + num(q.x) + `" y="` +
			num(q.y+4.6) + `">` + strconv.Itoa(i+1) + `</text>`)
	}
}

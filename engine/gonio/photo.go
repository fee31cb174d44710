package gonio

import (
	"fmt"
	"math"

	"unsling/engine/rom"
)

// Marks are in thousandths of the picture's width; so is a click.
const (
	// DefaultClick is how far one mark is taken to stray: 1 % of the width,
	// about the breadth of a finger tip on a picture as wide as the screen
	// (derived). ClickSpread gives a person's own.
	DefaultClick = 10
	leastClick   = 3
	leastLine    = 40  // shorter lines are refused
	shortLine    = 120 // shorter ones are warned of: 10 at each end is 6.8 degrees
	maxMarkY     = 4000
)

// Picture is a photograph with its marks.
type Picture struct {
	Motion   rom.Motion
	Side     rom.Side // the measured arm
	Position rom.Position
	View     View // empty takes the first view of the guide
	// Marks are in the order of the guide's landmarks.
	Marks []rom.Point
	// Mirrored says that the picture is a mirror image, as some front
	// cameras save it.
	Mirrored bool
	// Click is the spread of one mark; 0 takes DefaultClick.
	Click int
	// Held is gravity in the phone when the picture was taken; nil when it
	// is not known.
	Held *Gravity
	// Other are the marks of another picture of the same arm in the same
	// way, such as one at rest, for foreshortening; nil when there is none.
	Other []rom.Point
}

// photoRule says which lines make the angle. The signed angle runs from the
// reference line to the moving line as the picture shows it, clockwise
// positive, for a right arm that is not mirrored.
type photoRule struct {
	ref, mov [2]int // indexes of marks, from and to
	zero     float64
	dir      float64 // +1 or -1: multiplies the signed angle
	out      float64 // +1 or -1: multiplies the result
	fold     bool    // the sign only serves to check the side
	upright  bool    // the reference line is along the trunk
}

var photoRules = map[rom.Motion]photoRule{
	rom.ForwardFlexion:  {ref: [2]int{1, 0}, mov: [2]int{1, 2}, dir: -1, out: 1, fold: true, upright: true},
	rom.Extension:       {ref: [2]int{1, 0}, mov: [2]int{1, 2}, dir: 1, out: 1, fold: true, upright: true},
	rom.Scaption:        {ref: [2]int{0, 1}, mov: [2]int{2, 3}, dir: 1, out: 1, fold: true, upright: true},
	rom.Abduction:       {ref: [2]int{0, 1}, mov: [2]int{2, 3}, dir: 1, out: 1, fold: true, upright: true},
	rom.CrossBody:       {ref: [2]int{0, 1}, mov: [2]int{1, 2}, dir: -1, out: 1, fold: true},
	rom.ERSide:          {ref: [2]int{0, 1}, mov: [2]int{2, 3}, zero: 90, dir: 1, out: 1},
	rom.ER20:            {ref: [2]int{0, 1}, mov: [2]int{2, 3}, zero: 90, dir: 1, out: 1},
	rom.IRSide:          {ref: [2]int{0, 1}, mov: [2]int{2, 3}, zero: 90, dir: 1, out: -1},
	rom.ER90:            {ref: [2]int{0, 1}, mov: [2]int{2, 3}, zero: 90, dir: -1, out: 1},
	rom.IR90:            {ref: [2]int{0, 1}, mov: [2]int{2, 3}, zero: 90, dir: -1, out: -1},
	rom.ElbowFlexion:    {ref: [2]int{0, 1}, mov: [2]int{1, 2}, dir: -1, out: 1, fold: true},
	rom.ElbowExtension:  {ref: [2]int{0, 1}, mov: [2]int{1, 2}, dir: -1, out: -1, fold: true},
	rom.ForearmRotation: {ref: [2]int{0, 1}, mov: [2]int{2, 3}, dir: -1, out: 1},
}

// MeasurePhoto returns the angle that the marks of p show. Past the vertical
// an elevated arm reads as its mirror below 180.
func MeasurePhoto(p Picture) (Measure, error) {
	rule, view, err := p.rule()
	if err != nil {
		return Measure{}, fmt.Errorf("measure picture: %w", err)
	}
	ref, err := line(p.Marks, rule.ref)
	if err != nil {
		return Measure{}, fmt.Errorf("measure picture: %w", err)
	}
	mov, err := line(p.Marks, rule.mov)
	if err != nil {
		return Measure{}, fmt.Errorf("measure picture: %w", err)
	}
	s := rule.dir
	if (p.Side == rom.Left) != p.Mirrored {
		s = -s
	}
	if view == FromFeet {
		s = -s
	}
	signed := s * wrap(mov.angle-ref.angle)
	value := wrap(rule.zero + signed)
	var warn []Warning
	switch {
	case rule.fold:
		if value < -15 && value > -165 {
			warn = append(warn, WarnMirrored)
		}
		value = math.Abs(value)
	case math.Abs(value) > 90:
		warn = append(warn, WarnMirrored)
	}
	between := math.Abs(signed)
	out := p.outOfPlane(view, rule)
	if out >= planeWarn {
		warn = append(warn, WarnPlane)
	}
	if math.Min(ref.length, mov.length) < shortLine {
		warn = append(warn, WarnShort)
	}
	se := math.Hypot(p.clickSE(rule, ref, mov), planeSE(rule, between, p.pitch(view), math.Max(handYaw, out)))
	m, err := measured(p.Motion, rule.out*value, se, out, warn)
	if err != nil {
		return Measure{}, fmt.Errorf("measure picture: %w", err)
	}
	return m, nil
}

// rule checks p and returns the rule and the view.
func (p Picture) rule() (photoRule, View, error) {
	rule, ok := photoRules[p.Motion]
	if !ok {
		return rule, "", blind(rom.Photo, p.Motion, p.Position)
	}
	var way Way
	for _, w := range guides[p.Motion].Ways {
		if w.Method == rom.Photo && w.Position == p.Position && (p.View == "" || p.View == w.View) {
			way = w
			break
		}
	}
	switch {
	case way.Method == "":
		return rule, "", blind(rom.Photo, p.Motion, p.Position)
	case !p.Side.Valid(), len(p.Marks) != len(way.Landmarks), p.Click < 0, p.Click > 200:
		return rule, "", ErrMarks
	case p.Other != nil && len(p.Other) != len(way.Landmarks):
		return rule, "", ErrMarks
	}
	for _, set := range [][]rom.Point{p.Marks, p.Other} {
		for _, q := range set {
			if q.X < 0 || q.X > 1000 || q.Y < 0 || q.Y > maxMarkY {
				return rule, "", ErrMarks
			}
		}
	}
	return rule, way.View, nil
}

func (p Picture) click() float64 {
	if p.Click == 0 {
		return DefaultClick
	}
	return math.Max(leastClick, float64(p.Click))
}

// segment is a line of a picture: from, to, its direction clockwise from the
// picture's x axis in degrees, its length.
type segment struct {
	from, to      int
	angle, length float64
	dx, dy        float64
}

func line(marks []rom.Point, ends [2]int) (segment, error) {
	a, b := marks[ends[0]], marks[ends[1]]
	s := segment{from: ends[0], to: ends[1], dx: float64(b.X - a.X), dy: float64(b.Y - a.Y)}
	s.length = math.Hypot(s.dx, s.dy)
	if s.length < leastLine {
		return s, ErrShort
	}
	s.angle = deg(math.Atan2(s.dy, s.dx))
	return s, nil
}

// clickSE carries the click of every mark through to the angle. A mark that
// serves both lines counts with its true, joint effect. For one line of
// length L it is sqrt(2)*click/L in radians.
func (p Picture) clickSE(rule photoRule, ref, mov segment) float64 {
	sum := 0.0
	for i := range p.Marks {
		gx, gy := 0.0, 0.0
		add := func(s segment, sign float64) {
			f := 0.0
			switch i {
			case s.to:
				f = sign
			case s.from:
				f = -sign
			}
			f /= s.length * s.length
			gx -= float64(f * s.dy)
			gy += float64(f * s.dx)
		}
		add(mov, 1)
		add(ref, -1)
		sum += float64(gx*gx) + float64(gy*gy)
	}
	return deg(p.click() * math.Sqrt(sum))
}

// pitch returns how far the camera looked up or down from its due direction,
// in degrees; 0 when it is not known. Roll does not enter.
func (p Picture) pitch(view View) float64 {
	if p.Held == nil {
		return 0
	}
	along := math.Abs(p.Held.z) // the line of sight is the phone's z axis
	if view == FromAbove {
		return deg(math.Acos(math.Min(1, along)))
	}
	return deg(math.Asin(math.Min(1, along)))
}

// outOfPlane returns the larger of pitch and what foreshortening against the
// other picture betrays beyond the noise of the marks.
func (p Picture) outOfPlane(view View, rule photoRule) float64 {
	return math.Max(p.pitch(view), p.foreshortening(rule))
}

func (p Picture) foreshortening(rule photoRule) float64 {
	if p.Other == nil {
		return 0
	}
	var l [4]segment
	for i, set := range [][]rom.Point{p.Marks, p.Other} {
		for j, ends := range [][2]int{rule.mov, rule.ref} {
			s, err := line(set, ends)
			if err != nil {
				return 0
			}
			l[2*i+j] = s
		}
	}
	// The ratio of two body parts does not depend on how far the camera was.
	r := (l[0].length / l[1].length) / (l[2].length / l[3].length)
	if r > 1 {
		r = 1 / r
	}
	noise := 0.0 // relative variance of r: two ends for each line
	for _, s := range l {
		e := p.click() / s.length
		noise += 2 * e * e
	}
	return deg(math.Acos(math.Min(1, r*(1+2*math.Sqrt(noise)))))
}

// planeSE is what the plane may have changed of an angle between two lines.
func planeSE(rule photoRule, between, pitch, yaw float64) float64 {
	if rule.upright {
		return math.Hypot(yawError(between, yaw), pitchError(between, pitch))
	}
	return skewError(between, math.Hypot(yaw, pitch))
}

// ClickSpread returns a person's own click from marks of one picture set
// several times, for Picture.Click. It needs at least two settings of the
// same marks; it is never below the finest that a finger can do.
func ClickSpread(settings [][]rom.Point) (int, error) {
	if len(settings) < 2 || len(settings[0]) == 0 {
		return 0, fmt.Errorf("spread of marks: %w", ErrMarks)
	}
	n, ss := len(settings[0]), 0.0
	for i := range n {
		mx, my := 0.0, 0.0
		for _, set := range settings {
			if len(set) != n {
				return 0, fmt.Errorf("spread of marks: %w", ErrMarks)
			}
			mx += float64(set[i].X) / float64(len(settings))
			my += float64(set[i].Y) / float64(len(settings))
		}
		for _, set := range settings {
			dx, dy := float64(set[i].X)-mx, float64(set[i].Y)-my
			ss += float64(dx*dx) + float64(dy*dy)
		}
	}
	sd := math.Sqrt(ss / float64(2*n*(len(settings)-1)))
	return int(math.Min(200, math.Max(leastClick, math.Ceil(sd)))), nil
}

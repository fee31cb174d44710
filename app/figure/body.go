package figure

import "math"

// The body, in centimetres: an adult of 168 cm. Lengths are between centres
// of joints. They are constant over every picture.
const (
	trunkLen    = 48.0 // middle of the hips to the middle of the shoulder line
	claviclLen  = 17.0 // middle of the shoulder line to the shoulder
	upperLen    = 29.0
	forearmLen  = 25.0
	handLen     = 17.0
	hipHalf     = 9.0
	thighLen    = 42.0
	shankLen    = 41.0
	footLen     = 19.0 // ankle to ball of the foot
	headUp      = 19.5 // shoulder line to the middle of the head
	ankleUp     = 7.0
	standingHip = ankleUp + shankLen + thighLen
)

// Arm is one arm: joint centres, the tip of the middle finger, and the
// direction in which the thumb lies across the hand.
type Arm struct {
	Shoulder, Elbow, Wrist, Tip Vec
	Thumb                       Vec
}

// Leg is one leg; Toe is the ball of the foot.
type Leg struct{ Hip, Knee, Ankle, Toe Vec }

// Pose is a body in space. The right arm is the operated one: a left arm is
// drawn as the mirror image.
type Pose struct {
	Trunk          Axes
	Pelvis         Vec // middle of the hips
	Neck           Vec // middle of the shoulder line
	Head           Vec
	HeadAxes       Axes
	Operated, Free Arm
	Right, Left    Leg
	blades         float64 // degrees by which the shoulders are drawn back
}

// lateral is the direction away from the middle of the body on one side.
func (p *Pose) lateral(operated bool) Vec {
	if operated {
		return p.Trunk.Right
	}
	return p.Trunk.Right.Mul(-1)
}

// place puts the trunk; the head looks along the trunk's front, raised by
// headUp degrees.
func (p *Pose) place(pelvis Vec, trunk Axes, raise float64) {
	p.Pelvis, p.Trunk = pelvis, trunk
	p.Neck = pelvis.Add(trunk.Up.Mul(trunkLen))
	p.HeadAxes = trunk.lean(-raise)
	base := trunk.at(p.Neck, 0, 5, 0)
	p.Head = p.HeadAxes.at(base, 0, headUp-5, 1.5)
}

// shoulder returns the joint for an arm in direction d: the collar bone rises
// as the arm does, and swings back when the shoulder blades are set.
func (p *Pose) shoulder(operated bool, d Vec) Vec {
	elevation := angleBetween(d, p.Trunk.Up.Mul(-1))
	out := turn(p.lateral(operated), p.Trunk.Up, 20*smooth(elevation, 40, 180))
	out = turn(out, p.Trunk.Forward.across(out), -p.blades)
	return p.Neck.Add(out.Mul(claviclLen))
}

// arm places an arm by direction: d of the upper arm, bend the direction at
// right angles to it into which the elbow bends by flex degrees. The hand
// goes on straight.
func (p *Pose) arm(operated bool, d, bend Vec, flex float64, thumb Vec) {
	d = d.unit()
	f := turn(d, bend.across(d), flex)
	a := Arm{Shoulder: p.shoulder(operated, d)}
	a.Elbow = a.Shoulder.Add(d.Mul(upperLen))
	a.Wrist = a.Elbow.Add(f.Mul(forearmLen))
	a.setHand(f, thumb)
	p.set(operated, a)
}

// reach places an arm by where the wrist must be; the elbow gives way towards
// pole. Beyond its length the arm is straight and the wrist stays short of the
// target.
func (p *Pose) reach(operated bool, target, pole, hand, thumb Vec) {
	a := Arm{Shoulder: p.shoulder(operated, target.Sub(p.Neck).unit())}
	for range 6 { // the shoulder follows the upper arm a little
		line := target.Sub(a.Shoulder)
		dist := clamp(line.Len(), upperLen-forearmLen+1, upperLen+forearmLen-0.05)
		n := line.unit()
		along := (upperLen*upperLen - forearmLen*forearmLen + dist*dist) / (2 * dist)
		out := math.Sqrt(math.Max(0, upperLen*upperLen-along*along))
		a.Elbow = a.Shoulder.Add(n.Mul(along)).Add(pole.across(n).Mul(out))
		a.Wrist = a.Shoulder.Add(n.Mul(dist))
		next := p.shoulder(operated, a.Elbow.Sub(a.Shoulder).unit())
		shift := next.Sub(a.Shoulder)
		if shift.Len() < 1e-6 {
			break
		}
		a.Shoulder = next
		a.Elbow, a.Wrist = a.Elbow.Add(shift), a.Wrist.Add(shift)
	}
	a.setHand(hand, thumb)
	p.set(operated, a)
}

func (a *Arm) setHand(dir, thumb Vec) {
	dir = dir.unit()
	a.Tip = a.Wrist.Add(dir.Mul(handLen))
	a.Thumb = thumb.across(dir)
}

func (p *Pose) set(operated bool, a Arm) {
	if operated {
		p.Operated = a
	} else {
		p.Free = a
	}
}

// hang lets an arm hang at the side, a little bent.
func (p *Pose) hang(operated bool) {
	out := p.lateral(operated)
	d := turn(turn(up.Mul(-1), out, 7), forward, 0)
	p.arm(operated, d, p.Trunk.Forward, 12, p.Trunk.Forward)
}

// legs places both legs: thigh and shank as degrees forward of straight down
// in the sagittal plane of the axes, spread to the side.
func (p *Pose) legs(a Axes, thigh, shank, spread float64) {
	for _, operated := range []bool{true, false} {
		p.leg(operated, a, thigh, shank, spread)
	}
}

func (p *Pose) leg(operated bool, a Axes, thigh, shank, spread float64) {
	out := a.Right
	if !operated {
		out = out.Mul(-1)
	}
	down := a.Up.Mul(-1)
	l := Leg{Hip: p.Pelvis.Add(out.Mul(hipHalf))}
	l.Knee = l.Hip.Add(turn(turn(down, a.Forward, thigh), out, spread).unit().Mul(thighLen))
	l.Ankle = l.Knee.Add(turn(turn(down, a.Forward, shank), out, spread/2).unit().Mul(shankLen))
	toe := turn(turn(a.Forward, a.Up, shank-14), out, 10)
	l.Toe = l.Ankle.Add(toe.unit().Mul(footLen))
	if operated {
		p.Right = l
	} else {
		p.Left = l
	}
}

func angleBetween(a, b Vec) float64 {
	c := a.Dot(b) / (a.Len() * b.Len())
	return math.Acos(clamp(c, -1, 1)) * 180 / math.Pi
}

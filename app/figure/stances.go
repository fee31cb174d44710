package figure

// The ways in which a body stands, sits or lies.

const (
	seatUp  = 43.0 // top of the seat
	seatHip = seatUp + 9
	tableUp = 74.0
	bedUp   = 45.0
)

// standing is upright with both arms hanging.
func standing() Pose {
	var p Pose
	p.place(Vec{0, standingHip, 0}, upright, 0)
	p.legs(upright, 2, -2, 4)
	p.hang(true)
	p.hang(false)
	return p
}

// seated sits upright on a stool with the free hand on the thigh.
func seated(lean, side float64) Pose {
	p := seatedTrunk(lean, side)
	p.legs(upright, 84, -4, 10)
	p.hang(true)
	p.restOnThigh()
	return p
}

// seatedTrunk is a seated body without limbs, for finding a lean.
func seatedTrunk(lean, side float64) (p Pose) {
	p.place(Vec{0, seatHip, 0}, upright.lean(lean).side(side), lean*0.6)
	return p
}

// restOnThigh lays the free hand on its thigh.
func (p *Pose) restOnThigh() {
	knee := p.Left.Knee
	target := mix(p.Left.Hip, knee, 0.62).Add(up.Mul(9))
	p.reach(false, target, p.Trunk.Right.Mul(-0.5).Add(up.Mul(-0.5)).Add(forward.Mul(-0.9)),
		turn(forward, up, -12), right)
}

// stool is what a seated body sits on.
func stool() []prop {
	s := []prop{boxOf("fig-prop", Vec{-21, seatUp - 4, -20}, Vec{21, seatUp, 20}).biased(-12)}
	for _, x := range []float64{-18, 18} {
		for _, z := range []float64{-17, 17} {
			s = append(s, rodOf("fig-prop-leg", Vec{x, 0, z}, Vec{x, seatUp - 4, z}, 1.5).biased(-14))
		}
	}
	return s
}

// supine lies on the back, head to negative Z, knees bent.
func supine() Pose {
	var p Pose
	lying := Axes{right, forward.Mul(-1), up}
	p.place(Vec{0, bedUp + 10, 0}, lying, 0)
	p.Head = p.HeadAxes.at(p.Neck, 0, headUp, 3)
	for _, operated := range []bool{true, false} {
		out := right
		if !operated {
			out = right.Mul(-1)
		}
		l := Leg{Hip: p.Pelvis.Add(out.Mul(hipHalf))}
		l.Knee = l.Hip.Add(turn(forward, up, 47).Mul(thighLen))
		l.Ankle = l.Knee.Add(turn(forward, up, -51).Mul(shankLen))
		l.Toe = l.Ankle.Add(forward.Mul(footLen))
		if operated {
			p.Right = l
		} else {
			p.Left = l
		}
	}
	p.arm(true, turn(forward, up, 0), up, 4, up)
	p.arm(false, turn(turn(forward, up, -4), right.Mul(-1), 10), up, 6, up)
	return p
}

// bed lies under a supine body.
func bed() []prop {
	return []prop{
		mattress(),
		rodOf("fig-pillow", Vec{-16, bedUp + 2.5, -69}, Vec{16, bedUp + 2.5, -69}, 4.5).biased(-30),
	}
}

func mattress() prop {
	return boxOf("fig-bed", Vec{-38, bedUp - 12, -92}, Vec{38, bedUp, 88}).behind()
}

// sideLying lies on the operated side with bent hips and knees, the face to
// the viewer and the head to the viewer's left.
func sideLying() Pose {
	var p Pose
	lying := Axes{up.Mul(-1), right, forward}
	p.place(Vec{0, bedUp + 20, 0}, lying.side(-3), 0)
	p.Head = p.HeadAxes.at(p.Neck, 0, headUp, 2)
	for _, operated := range []bool{true, false} {
		out, bend := p.Trunk.Right, 34.0
		if !operated {
			out, bend = out.Mul(-1), 40
		}
		l := Leg{Hip: p.Pelvis.Add(out.Mul(hipHalf - 1))}
		l.Knee = l.Hip.Add(turn(right.Mul(-1), forward, bend).Mul(thighLen))
		l.Ankle = l.Knee.Add(turn(right.Mul(-1), forward, bend-62).Mul(shankLen))
		l.Toe = l.Ankle.Add(turn(right.Mul(-1), forward, bend+5).Mul(footLen))
		if operated {
			p.Right = l
		} else {
			p.Left = l
		}
	}
	return p
}

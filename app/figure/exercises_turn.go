package figure

import (
	"math"

	"unsling/engine/rom"
)

// elbowAtSide places the operated arm with the elbow at the side, bent 90,
// and the given external rotation.
func (p *Pose) elbowAtSide(rotation float64) {
	t := p.Trunk
	down := t.Up.Mul(-1)
	d := turn(turn(down, t.Right, 6), t.Forward, 2)
	bend := turn(t.Forward.across(d), t.Right.across(d).across(t.Forward.across(d)), rotation)
	p.arm(true, d, bend, 90, t.Up)
}

// towelRoll is the small roll between elbow and body.
func towelRoll(p Pose) prop {
	a := mix(p.Operated.Shoulder, p.Operated.Elbow, 0.86).Sub(p.Trunk.Right.Mul(5.5))
	return rodOf("fig-cloth", a.Add(p.Trunk.Forward.Mul(5)), a.Sub(p.Trunk.Forward.Mul(5)), 3).biased(2)
}

// stickER: seated, the free hand pushes the operated one outward with a
// stick; the elbow stays at the side on a towel roll.
func stickER() scene {
	const length = 60
	hands := func(rotation float64) (p Pose, from, to Vec) {
		p = seated(0, 0)
		p.elbowAtSide(rotation)
		a := p.Operated
		a.setHand(a.Wrist.Sub(a.Elbow), up)
		p.Operated = a
		to = mix(a.Wrist, a.Tip, 0.42)
		from = Vec{0, to.Y - 1, 29}
		dz := to.Z - from.Z
		from.X = to.X - math.Sqrt(math.Max(0, length*length-dz*dz-1))
		dir := from.Sub(Vec{-26, to.Y, 0}).unit()
		p.reach(false, from.Sub(dir.Mul(7)), right.Mul(-0.25).Add(up.Mul(-1)).Add(forward.Mul(-0.6)), dir, up)
		return p, from, to
	}
	return scene{
		motion: rom.ERSide, start: 0, end: 40, cam: fromAbove, floor: 45,
		pose: func(rotation, _ float64) Pose { p, _, _ := hands(rotation); return p },
		props: func(p Pose, t float64) []prop {
			_, from, to := hands(p.Angle(rom.ERSide))
			along := to.Sub(from).unit()
			return append(stool(), towelRoll(p),
				rodOf("fig-stick", from.Sub(along.Mul(9)), to.Add(along.Mul(9)), 1.6).biased(3))
		},
		trails: trails(handTip),
	}
}

// doorwayER: the hand stays on the door frame with the elbow at the side; the
// body turns away from it.
func doorwayER() scene {
	return scene{
		motion: rom.ERSide, start: 0, end: 45, cam: camera{azimuth: 152, height: 38}, floor: 62,
		include: []Vec{{66, 120, 0}},
		pose: func(rotation, _ float64) Pose {
			var p Pose
			turned := upright.yaw(rotation)
			p.place(Vec{0, standingHip, 0}, turned, 0)
			p.elbowAtSide(rotation)
			// Stand so that the palm lies on the frame.
			palm := p.Operated.palm()
			shift := Vec{2.2, palm.Y, 6}.Sub(palm)
			shift.Y = 0
			p.place(Vec{0, standingHip, 0}.Add(shift), turned, 0)
			p.elbowAtSide(rotation)
			p.legs(turned, 2, -2, 4)
			p.hang(false)
			return p
		},
		props: func(Pose, float64) []prop {
			return []prop{
				boxOf("fig-wall", Vec{-70, 0, 0}, Vec{0, 230, 12}).behind(),
				boxOf("fig-frame", Vec{-7, 0, -1}, Vec{0, 232, 13}).behind().biased(1),
				boxOf("fig-wall", Vec{54, 0, 0}, Vec{130, 230, 12}).behind(),
				boxOf("fig-frame", Vec{54, 0, -1}, Vec{61, 232, 13}).behind().biased(1),
			}
		},
		trails: trails(func(p Pose) Vec { return p.Free.Shoulder }),
	}
}

// palm is the middle of the hand.
func (a Arm) palm() Vec { return mix(a.Wrist, a.Tip, 0.5) }

// sideLyingIR: on the operated side with right angles at trunk, shoulder and
// elbow; the free hand presses the forearm towards the bed and the feet.
func sideLyingIR() scene {
	return scene{
		motion: rom.IR90, start: 0, end: 50, cam: camera{azimuth: 0, height: 30},
		keep: func(v Vec) bool { return v.X > -48 },
		pose: func(rotation, _ float64) Pose {
			p := sideLying()
			t := p.Trunk
			ceiling, feet := t.Right.Mul(-1), t.Up.Mul(-1)
			p.arm(true, t.Forward, turn(ceiling, feet, rotation), 90, t.Up)
			a := p.Operated
			push := turn(ceiling, feet, rotation+90) // the way in which the hand moves
			grip := mix(a.Elbow, a.Wrist, 0.95).Sub(push.Mul(6)).Sub(t.Forward.Mul(8))
			p.reach(false, grip, ceiling.Add(feet.Mul(0.35)).Add(t.Forward.Mul(0.2)), push.Add(t.Forward.Mul(0.9)), a.Wrist.Sub(a.Elbow).unit())
			return p
		},
		arc: func(p Pose) arcFrame {
			a := p.Operated
			return arcFrame{a.Elbow, p.Trunk.Right.Mul(-1), p.Trunk.Up.Mul(-1), a.Wrist.Sub(a.Elbow).unit()}
		},
		props: func(Pose, float64) []prop {
			return []prop{
				boxOf("fig-bed", Vec{-92, bedUp - 12, -34}, Vec{88, bedUp, 58}).behind(),
				rodOf("fig-pillow", Vec{66, bedUp + 6, -6}, Vec{66, bedUp + 6, 14}, 9).biased(-40),
			}
		},
		extra:  helpingHand,
		trails: trails(handTip),
	}
}

// isometricRotation: the back of the hand presses against a wall at the
// side, nothing moves.
func isometricRotation() scene {
	return scene{
		motion: rom.ERSide, noArc: true, cam: fromAbove, floor: 70,
		pose: func(_, _ float64) Pose {
			p := standing()
			p.elbowAtSide(0)
			return p
		},
		props: func(p Pose, t float64) []prop {
			x := p.Operated.palm().X + 3
			return []prop{
				boxOf("fig-wall", Vec{x, 0, -6}, Vec{x + 9, 142, 150}).behind(),
				towelRoll(p),
			}
		},
		press: func(p Pose) (Vec, Vec) { return p.Operated.palm().Add(up.Mul(7)), right },
	}
}

// bandRotation: a band from a door handle on the free side, pulled outward.
func bandRotation() scene {
	anchor := Vec{-72, 0, 34}
	return scene{
		motion: rom.ERSide, start: -25, end: 35, cam: fromAbove, floor: 70,
		pose: func(rotation, _ float64) Pose {
			p := standing()
			p.elbowAtSide(rotation)
			return p
		},
		props: func(p Pose, _ float64) []prop {
			hand := p.Operated.palm()
			from := Vec{anchor.X, hand.Y, anchor.Z}
			return []prop{
				boxOf("fig-wall", Vec{anchor.X - 10, 40, 4}, Vec{anchor.X - 2, 125, 64}).behind(),
				rodOf("fig-band", from, hand, 1).biased(6).framed(),
				rodOf("fig-stick", from.Add(right.Mul(-2)), from, 2.4),
				towelRoll(p),
			}
		},
		trails: trails(handTip),
	}
}

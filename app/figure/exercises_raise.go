package figure

import "unsling/engine/rom"

// wallClimbFlexion: facing a wall, the fingers walk up it; the body steps
// closer as the arm rises.
func wallClimbFlexion() scene {
	return scene{
		motion: rom.ForwardFlexion, start: 70, end: 145, cam: camera{azimuth: 80, height: 5}, floor: 55,
		pose: func(flexion, _ float64) Pose {
			return wallClimb(forward, flexion, lerp(70, 12, clamp((flexion-60)/90, 0, 1)))
		},
		props: func(p Pose, _ float64) []prop {
			return []prop{boxOf("fig-wall", Vec{-34, 0, 0}, Vec{44, 232, 10}).biased(-60)}
		},
		trails: trails(handTip),
	}
}

// wallClimbAbduction: the operated side to the wall.
func wallClimbAbduction() scene {
	return scene{
		motion: rom.Abduction, start: 60, end: 120, cam: camera{azimuth: -6, height: 5}, floor: 55,
		pose: func(abduction, _ float64) Pose {
			return wallClimb(right, abduction, lerp(34, 10, clamp((abduction-60)/90, 0, 1)))
		},
		props: func(p Pose, _ float64) []prop {
			return []prop{boxOf("fig-wall", Vec{0, 0, -34}, Vec{10, 232, 40}).biased(-60)}
		},
		trails: trails(handTip),
	}
}

// wallClimb stands so that the fingers touch the wall whose surface is the
// plane through the origin, towards which the arm rises.
func wallClimb(towards Vec, elevation, flex float64) Pose {
	build := func(at Vec) Pose {
		p := standing()
		p.place(Vec{0, standingHip, 0}.Add(at), upright, 10*smooth(elevation, 60, 150))
		p.legs(upright, 2, -2, 4)
		p.hang(false)
		down := up.Mul(-1)
		d := turn(down, towards, elevation)
		p.arm(true, d, turn(towards, down, -elevation), flex, right.Mul(-1))
		a := p.Operated
		side := right.Mul(-1)
		if towards == right {
			side = forward
		}
		a.setHand(up.Add(towards.Mul(0.16)), side)
		p.Operated = a
		return p
	}
	p := build(Vec{})
	gap := p.Operated.Tip.Dot(towards) + 2
	return build(towards.Mul(-gap))
}

// levelUp is the height over the hips of a vertebral level along the trunk.
func levelUp(level float64) float64 { return 50 - (level-1)*48/17 }

// towelBehindBack: the free hand above pulls a towel, the operated hand below
// follows it up the spine. The angle is a level: it falls as the hand rises.
func towelBehindBack(m Marks) scene {
	s := scene{
		motion: rom.HandBehindBack, start: 18, end: 13, cam: camera{azimuth: 180, height: 4}, floor: 66,
		pose: func(level, _ float64) Pose {
			p := standing()
			t := p.Trunk
			p.handBehindBack(level)
			p.reach(false, t.at(p.Pelvis, -5, 46+(18-level)*1.3, -12), up.Add(right.Mul(-0.55)), up.Mul(-1).Add(right.Mul(0.25)), right)
			return p
		},
		props: func(p Pose, _ float64) []prop {
			return []prop{rodOf("fig-cloth", p.Free.palm(), p.Operated.palm(), 1.7).biased(3)}
		},
		trails: trails(handTip),
	}
	for _, a := range []Angle{m.Limit, m.Aim} {
		if a.Set {
			s.end = max(s.end, clamp(a.At.Float(), 4, 20))
		}
	}
	if s.start < s.end+1 {
		s.start = min(20, s.end+3)
	}
	return s
}

// handBehindBack lays the operated hand on the back with the thumb near a
// level of the spine.
func (p *Pose) handBehindBack(level float64) {
	t := p.Trunk
	p.reach(true, t.at(p.Pelvis, 7, levelUp(level)-6, -12.5), t.Right.Add(t.Forward.Mul(-0.8)),
		t.Right.Mul(-1).Add(t.Up.Mul(0.55)), t.Up)
}

// crossBody: the free hand draws the operated elbow across the chest.
func crossBody() scene {
	return scene{
		motion: rom.CrossBody, start: 85, end: 120, cam: camera{azimuth: 32, height: 36}, floor: 78, radius: 38,
		pose: func(adduction, _ float64) Pose {
			p := standing()
			t := p.Trunk
			across := turn(t.Right, t.Forward, adduction)
			d := turn(t.Up.Mul(-1), across, 88)
			p.arm(true, d, turn(t.Right, t.Forward, adduction+90), 35, up)
			a := p.Operated
			grip := a.Elbow.Add(d.Mul(-3)).Add(t.Forward.Mul(5)).Add(up.Mul(-6))
			p.reach(false, grip.Add(t.Right.Mul(-3)), up.Mul(-1).Add(right.Mul(-1)), up.Add(right.Mul(0.7)).Add(forward.Mul(-0.3)), right)
			return p
		},
		extra:  helpingHand,
		trails: trails(handTip),
	}
}

// helpingHand paints the free hand once more, over the arm that it holds.
func helpingHand(p Pose, _ lens) []part {
	return []part{{class: "fig-skin", hulls: handHulls(p.Free), bias: 60}}
}

// elbowBend: the upper arm hangs, the elbow bends.
func elbowBend() scene {
	return scene{
		motion: rom.ElbowFlexion, start: 8, end: 130, cam: fromSide, floor: 82,
		pose: func(flexion, _ float64) Pose {
			p := standing()
			p.arm(true, turn(up.Mul(-1), right, 6), forward, flexion, right)
			return p
		},
		trails: trails(handTip),
	}
}

// forearmTurn: elbow at the side, bent 90, the palm turns up.
func forearmTurn() scene {
	return scene{
		motion: rom.ForearmRotation, start: 0, end: 80, cam: camera{azimuth: 24, height: 26}, floor: 86,
		pose: func(turned, _ float64) Pose {
			p := standing()
			p.elbowAtSide(0)
			a := p.Operated
			dir := a.Wrist.Sub(a.Elbow).unit()
			zero := up.across(dir)
			a.setHand(dir, turn(zero, right.across(dir).across(zero), turned))
			p.Operated = a
			return p
		},
		props: func(p Pose, _ float64) []prop {
			return []prop{pencil(p)}
		},
		trails: trails(func(p Pose) Vec {
			return mix(p.Operated.Wrist, p.Operated.Tip, 0.4).Add(p.Operated.Thumb.Mul(19))
		}),
	}
}

// wristHand: the forearm level, the wrist bends up and down.
func wristHand() scene {
	return scene{
		start: -50, end: 50, cam: camera{azimuth: 66, height: 14}, floor: 86,
		pose: func(bend, _ float64) Pose {
			p := standing()
			p.elbowAtSide(0)
			a := p.Operated
			a.setHand(turn(a.Wrist.Sub(a.Elbow).unit(), up, bend), right.Mul(-1))
			p.Operated = a
			return p
		},
		trails: trails(handTip),
	}
}

// scapularSetting: the shoulder blades are drawn back and down.
func scapularSetting() scene {
	return scene{
		start: -8, end: 20, cam: camera{azimuth: 172, height: 14}, floor: 68, blades: true,
		pose: func(back, _ float64) Pose {
			p := standing()
			p.blades = back
			p.hang(true)
			p.hang(false)
			return p
		},
		trails: trails(
			func(p Pose) Vec { return p.blade(true)[2].at.Add(p.Trunk.Forward.Mul(-4)) },
			func(p Pose) Vec { return p.blade(false)[2].at.Add(p.Trunk.Forward.Mul(-4)) },
		),
	}
}

// blade returns the shoulder blade of one side: inner top, outer top, lower
// tip.
func (p Pose) blade(operated bool) [3]ball {
	side := 1.0
	if !operated {
		side = -1
	}
	in := p.blades / 20 * 3.4
	at := func(x, y float64) ball { return ball{p.Trunk.at(p.Pelvis, side*x, y-in*0.5, -9.5), 1.3} }
	return [3]ball{at(7.5-in, 44), at(14.5-in*0.6, 43), at(8.5-in, 29)}
}

func bladeParts(p Pose) []part {
	var out []part
	for _, operated := range []bool{true, false} {
		class := "fig-blade"
		if operated {
			class = "fig-blade-op"
		}
		b := p.blade(operated)
		out = append(out, part{class: class, hulls: [][]ball{b[:]}, bias: 3})
	}
	return out
}

// activeElevation: the arm rises by itself, thumb first.
func activeElevation() scene {
	return scene{
		motion: rom.ForwardFlexion, start: 8, end: 140, cam: camera{azimuth: 80, height: 6}, floor: 62,
		pose: func(flexion, _ float64) Pose {
			p := standing()
			p.arm(true, turn(up.Mul(-1), forward, flexion), up, 4, turn(forward, up, flexion))
			return p
		},
		trails: trails(handTip),
	}
}

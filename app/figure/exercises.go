package figure

import "unsling/engine/rom"

// Cameras in common: the operated side almost in profile, the front, and
// from above for rotations about the vertical.
var (
	fromSide  = camera{azimuth: 78, height: 8}
	fromFront = camera{azimuth: 0, height: 8}
	fromAbove = camera{azimuth: -34, height: 44}
)

func handTip(p Pose) Vec { return p.Operated.Tip }
func headTop(p Pose) Vec { return p.HeadAxes.at(p.Head, 0, 9, 0) }

func trails(f ...func(Pose) Vec) []func(Pose) Vec { return f }

// exerciseScene returns the scene of an exercise within the marks.
func exerciseScene(id rom.ExerciseID, m Marks) scene {
	switch id {
	case rom.TableSlideFlexion:
		return tableSlideFlexion().bound(m, 5, 145)
	case rom.TableSlideAbduction:
		return tableSlideAbduction().bound(m, 10, 120)
	case rom.SupineElevation:
		return supineElevation().bound(m, 5, 175)
	case rom.Pendulum:
		return pendulum()
	case rom.StickER:
		return stickER().bound(m, -40, 70)
	case rom.DoorwayER:
		return doorwayER().bound(m, -40, 80)
	case rom.WallClimbFlexion:
		return wallClimbFlexion().bound(m, 20, 165)
	case rom.WallClimbAbduction:
		return wallClimbAbduction().bound(m, 20, 165)
	case rom.TowelBehindBack:
		return towelBehindBack(m)
	case rom.SideLyingIR:
		return sideLyingIR().bound(m, 0, 85)
	case rom.CrossBodyStretch:
		return crossBody().bound(m, 40, 130)
	case rom.ElbowBend:
		return elbowBend().bound(m, 0, 145)
	case rom.ForearmTurn:
		return forearmTurn().bound(m, -80, 90)
	case rom.WristHand:
		return wristHand()
	case rom.ScapularSetting:
		return scapularSetting()
	case rom.ActiveElevation:
		return activeElevation().bound(m, 0, 175)
	case rom.IsometricRotation:
		return isometricRotation()
	case rom.BandRotation:
		return bandRotation().bound(m, -45, 70)
	}
	return standScene()
}

// standScene is the body at rest, for the choice of a side.
func standScene() scene {
	return scene{
		cam: fromFront, floor: 52,
		pose: func(_, _ float64) Pose { return standing() },
	}
}

// tableSlideFlexion: seated at a table, the forearm lies on it; the trunk
// leans and the arm slides along. The lean follows from the angle, because
// the forearm stays on the table.
func tableSlideFlexion() scene {
	const rest = tableUp + 4.2 // axis of a forearm that lies on the table
	return scene{
		motion: rom.ForwardFlexion, start: 42, end: 120, cam: fromSide,
		pose: func(flexion, _ float64) Pose {
			elbowOver := func(lean float64) float64 {
				p := seatedTrunk(lean, 0)
				d := turn(p.Trunk.Up.Mul(-1), p.Trunk.Forward, flexion)
				return p.shoulder(true, d).Add(d.Mul(upperLen)).Y - rest
			}
			lean := 0.0
			if elbowOver(0) > 0 {
				lean = solve(0, 75, elbowOver)
			}
			p := seated(lean, 0)
			down := p.Trunk.Up.Mul(-1)
			d := turn(down, p.Trunk.Forward, flexion)
			bend := turn(p.Trunk.Forward, down, -flexion)
			elbow := p.shoulder(true, d).Add(d.Mul(upperLen))
			flex := solve(0, 130, func(x float64) float64 {
				return elbow.Add(turn(d, bend, x).Mul(forearmLen)).Y - rest
			})
			p.arm(true, d, bend, flex, right.Mul(-1))
			a := p.Operated
			a.setHand(forward.Add(up.Mul(-0.02)), right.Mul(-1))
			p.Operated = a
			return p
		},
		props: func(p Pose, _ float64) []prop {
			return append(append(stool(), table(Vec{-30, 0, 33}, Vec{52, 0, 118})...), floor(-48, -36, 56, 122))
		},
		trails: trails(handTip, headTop),
	}
}

// table has its top at tableUp between two corners.
func table(a, b Vec) []prop {
	a.Y, b.Y = tableUp-3.5, tableUp
	s := []prop{boxOf("fig-prop", a, b).biased(-22).framed()}
	for _, x := range []float64{a.X + 4, b.X - 4} {
		for _, z := range []float64{a.Z + 4, b.Z - 4} {
			s = append(s, rodOf("fig-prop-leg", Vec{x, 0, z}, Vec{x, tableUp - 3.5, z}, 2).biased(-26))
		}
	}
	return s
}

// tableSlideAbduction: seated with the operated side to the table.
func tableSlideAbduction() scene {
	const rest = tableUp + 3.2
	return scene{
		motion: rom.Abduction, start: 45, end: 90, cam: camera{azimuth: -6, height: 12},
		pose: func(abduction, _ float64) Pose {
			// The forearm lies a little in front of the frontal plane.
			place := func(lean, flex float64) (Pose, float64) {
				p := seatedTrunk(0, lean)
				down := p.Trunk.Up.Mul(-1)
				d := turn(down, p.Trunk.Right, abduction)
				outward := turn(p.Trunk.Right, down, -abduction)
				p.arm(true, d, turn(p.Trunk.Forward, outward, 35), flex, p.Trunk.Forward)
				return p, p.Operated.Wrist.Y - rest
			}
			over := func(lean float64) float64 { _, y := place(lean, 14); return y }
			lean, flex := 0.0, 14.0
			if over(0) > 0 {
				lean = solve(0, 60, over)
			} else {
				flex = solve(14, 140, func(x float64) float64 { _, y := place(0, x); return y })
			}
			reached, _ := place(lean, flex)
			p := seated(0, lean)
			a := reached.Operated
			level := a.Wrist.Sub(a.Elbow)
			level.Y = 0
			a.setHand(level, forward)
			p.Operated = a
			p.HeadAxes = upright.side(lean * 0.5)
			p.Head = p.HeadAxes.at(p.Trunk.at(p.Neck, 0, 5, 0), 0, headUp-5, 1.5)
			return p
		},
		props: func(p Pose, _ float64) []prop {
			return append(append(stool(), table(Vec{31, 0, -24}, Vec{112, 0, 40})...), floor(-42, -40, 124, 70))
		},
		trails: trails(handTip, headTop),
	}
}

// supineElevation: on the back, the free hand holds the operated wrist and
// lifts the arm.
func supineElevation() scene {
	return scene{
		motion: rom.ForwardFlexion, start: 25, end: 125, cam: camera{azimuth: 66, height: 18},
		pose: func(flexion, _ float64) Pose {
			p := supine()
			d := turn(p.Trunk.Up.Mul(-1), p.Trunk.Forward, flexion)
			inward := p.Trunk.Right.Mul(-1)
			p.arm(true, d, inward, 34, turn(p.Trunk.Forward, p.Trunk.Up, flexion))
			a := p.Operated
			fore := a.Wrist.Sub(a.Elbow).unit()
			grip := mix(a.Elbow, a.Wrist, 0.78).Add(inward.Mul(6)).Sub(fore.Mul(4))
			p.reach(false, grip, inward.Add(p.Trunk.Up.Mul(-0.2)), fore.Mul(0.5).Add(right), fore)
			return p
		},
		props:  func(Pose, float64) []prop { return bed() },
		extra:  helpingHand,
		trails: trails(handTip),
	}
}

// pendulum: bent forward with the free hand on a table, the arm hangs and
// swings by itself.
func pendulum() scene {
	return scene{
		start: -16, end: 18, cam: fromSide,
		pose: func(swing, _ float64) Pose {
			var p Pose
			p.place(Vec{0, standingHip - 1.2, -12}, upright.lean(62), 25)
			p.legs(upright, 14, -10, 5)
			d := turn(up.Mul(-1), forward, swing)
			p.arm(true, d, forward, 4, forward)
			p.reach(false, Vec{-16, tableUp + 10, 48}, right.Mul(-1).Add(up.Mul(-0.5)), forward.Add(up.Mul(-0.3)), right)
			return p
		},
		props: func(Pose, float64) []prop {
			return append(table(Vec{-62, 0, 40}, Vec{-4, 0, 92}), floor(-76, -36, 36, 104))
		},
		trails: trails(handTip),
	}
}

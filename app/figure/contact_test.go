package figure_test

import (
	"math"
	"testing"

	"unsling/app/figure"
	"unsling/engine/rom"
)

// along calls f with poses from start to end.
func along(id rom.ExerciseID, f func(p figure.Pose)) {
	for i := range 21 {
		f(figure.PoseOf(id, float64(i)/20, figure.Marks{}))
	}
}

func TestHandRestsOnTheTable(t *testing.T) {
	for _, id := range []rom.ExerciseID{rom.TableSlideFlexion, rom.TableSlideAbduction} {
		first := figure.PoseOf(id, 0, figure.Marks{})
		along(id, func(p figure.Pose) {
			// Table top 74 cm, half a wrist above it.
			if y := p.Operated.Wrist.Y; y < 76 || y > 79 {
				t.Errorf("%s: wrist at %.1f cm", id, y)
			}
			if p.Operated.Tip.Y < 74 || p.Operated.Elbow.Y < 71 {
				t.Errorf("%s: the arm sinks into the table", id)
			}
		})
		// The body leans: that is what moves the arm.
		last := figure.PoseOf(id, 1, figure.Marks{})
		if first.Neck.Y-last.Neck.Y < 2 {
			t.Errorf("%s: the body does not lean", id)
		}
	}
}

func TestFingersTouchTheWall(t *testing.T) {
	along(rom.WallClimbFlexion, func(p figure.Pose) {
		if z := p.Operated.Tip.Z; z > 0 || z < -3 {
			t.Errorf("finger tips %.1f cm from the wall", -z)
		}
		if p.Head.Z > -9 {
			t.Errorf("the head is in the wall")
		}
	})
	along(rom.WallClimbAbduction, func(p figure.Pose) {
		if x := p.Operated.Tip.X; x > 0 || x < -3 {
			t.Errorf("finger tips %.1f cm from the wall", -x)
		}
	})
}

// In the doorway the hand stays where it is, the elbow stays at the side, and
// the body turns.
func TestDoorwayTurnsTheBody(t *testing.T) {
	first := figure.PoseOf(rom.DoorwayER, 0, figure.Marks{})
	palm := func(p figure.Pose) figure.Vec { return p.Operated.Wrist.Add(p.Operated.Tip).Mul(0.5) }
	along(rom.DoorwayER, func(p figure.Pose) {
		if m := palm(p); math.Abs(m.X-2.2) > 0.01 || math.Abs(m.Z-6) > 0.01 {
			t.Errorf("the palm is not on the frame: %v", m)
		}
		if d := palm(p).Sub(palm(first)).Len(); d > 2.5 { // it may slide up a little
			t.Errorf("the hand leaves the frame by %.2f cm", d)
		}
		out := p.Operated.Elbow.Sub(p.Operated.Shoulder)
		if a := math.Acos(-out.Y/out.Len()) * 180 / math.Pi; a > 12 {
			t.Errorf("the elbow leaves the side by %.0f degrees", a)
		}
	})
	last := figure.PoseOf(rom.DoorwayER, 1, figure.Marks{})
	turned := math.Acos(first.Trunk.Forward.Dot(last.Trunk.Forward)) * 180 / math.Pi
	if math.Abs(turned-45) > 0.5 {
		t.Errorf("the body turns by %.1f, the shoulder by 45", turned)
	}
}

// Right angles at trunk, shoulder and elbow (common practice, no source).
func TestSideLyingHasRightAngles(t *testing.T) {
	along(rom.SideLyingIR, func(p figure.Pose) {
		upper := p.Operated.Elbow.Sub(p.Operated.Shoulder)
		fore := p.Operated.Wrist.Sub(p.Operated.Elbow)
		for name, cos := range map[string]float64{
			"shoulder": upper.Dot(p.Trunk.Up) / upper.Len(),
			"elbow":    upper.Dot(fore) / upper.Len() / fore.Len(),
		} {
			if math.Abs(cos) > 0.02 {
				t.Errorf("no right angle at the %s", name)
			}
		}
		if p.Operated.Elbow.Y < 45 || p.Operated.Wrist.Y < 45 {
			t.Error("the arm is in the bed")
		}
	})
}

// Where the other arm helps, its hand is at the operated arm.
func TestFreeHandHelps(t *testing.T) {
	for _, id := range []rom.ExerciseID{rom.SupineElevation, rom.SideLyingIR, rom.CrossBodyStretch} {
		along(id, func(p figure.Pose) {
			best := math.Inf(1)
			for i := range 21 {
				s := float64(i) / 20
				on := p.Operated.Elbow.Add(p.Operated.Wrist.Sub(p.Operated.Elbow).Mul(s))
				for _, h := range []figure.Vec{p.Free.Wrist, p.Free.Tip, p.Free.Wrist.Add(p.Free.Tip).Mul(0.5)} {
					best = math.Min(best, h.Sub(on).Len())
				}
			}
			if best > 7 { // half a forearm and half a hand are 7 thick
				t.Errorf("%s: the free hand is %.1f cm away", id, best)
			}
		})
	}
}

// The stick is one stick: its two hands stay as far apart, and the elbow stays
// at the side (common practice, no source), as in every exercise of rotation
// at the side.
func TestStickAndElbow(t *testing.T) {
	grip := func(a figure.Arm) figure.Vec { return a.Wrist.Add(a.Tip.Sub(a.Wrist).Mul(0.42)) }
	first := figure.PoseOf(rom.StickER, 0, figure.Marks{})
	long := grip(first.Operated).Sub(grip(first.Free)).Len()
	along(rom.StickER, func(p figure.Pose) {
		if d := grip(p.Operated).Sub(grip(p.Free)).Len(); math.Abs(d-long) > 1 {
			t.Errorf("the stick is %.1f cm long, %.1f before", d, long)
		}
	})
	for _, id := range []rom.ExerciseID{rom.StickER, rom.BandRotation, rom.IsometricRotation, rom.ForearmTurn} {
		along(id, func(p figure.Pose) {
			u := p.Operated.Elbow.Sub(p.Operated.Shoulder)
			if a := math.Acos(-u.Dot(p.Trunk.Up)/u.Len()) * 180 / math.Pi; a > 12 {
				t.Errorf("%s: the elbow leaves the side by %.0f degrees", id, a)
			}
		})
	}
}

// The towel hangs between the hands behind the back: the free hand above, the
// operated one below, both behind the trunk.
func TestTowelIsBehindTheBack(t *testing.T) {
	along(rom.TowelBehindBack, func(p figure.Pose) {
		up := p.Free.Wrist.Sub(p.Operated.Wrist).Dot(p.Trunk.Up)
		if up < 5 {
			t.Errorf("the free hand is %.0f cm above the other", up)
		}
		for _, a := range []figure.Arm{p.Operated, p.Free} {
			if a.Wrist.Sub(p.Pelvis).Dot(p.Trunk.Forward) > -5 {
				t.Error("a hand is not behind the back")
			}
		}
	})
}

// Nobody sinks into the floor, and who stands has both feet on it. Whoever
// lies lies on the bed (45 cm).
func TestFeetOnTheFloor(t *testing.T) {
	standing := map[rom.ExerciseID]bool{
		rom.WallClimbFlexion: true, rom.WallClimbAbduction: true, rom.DoorwayER: true, rom.TowelBehindBack: true, rom.CrossBodyStretch: true,
		rom.ElbowBend: true, rom.ForearmTurn: true, rom.WristHand: true, rom.ScapularSetting: true, rom.ActiveElevation: true,
		rom.IsometricRotation: true, rom.BandRotation: true, rom.Pendulum: true,
	}
	lying := map[rom.ExerciseID]bool{rom.SupineElevation: true, rom.SideLyingIR: true}
	for _, id := range rom.Exercises {
		along(id, func(p figure.Pose) {
			lowest := math.Inf(1)
			for _, leg := range []figure.Leg{p.Right, p.Left} {
				for _, v := range []figure.Vec{leg.Knee, leg.Ankle, leg.Toe} {
					lowest = math.Min(lowest, v.Y)
				}
			}
			switch {
			case lying[id]:
				if p.Pelvis.Y < 45 || p.Neck.Y < 45 || p.Head.Y < 45 || lowest < 40 {
					t.Errorf("%s: the body sinks into the bed", id)
				}
			case standing[id]:
				if lowest < 0 || lowest > 9 {
					t.Errorf("%s: the lowest point of the feet is %.1f cm over the floor", id, lowest)
				}
			case lowest < -1:
				t.Errorf("%s: the feet are %.1f cm in the floor", id, -lowest)
			}
		})
	}
}

// A pendulum hangs: whatever the swing, the arm stays within 20 degrees of the
// plumb line, since only the body moves it.
func TestPendulumHangs(t *testing.T) {
	along(rom.Pendulum, func(p figure.Pose) {
		d := p.Operated.Wrist.Sub(p.Operated.Shoulder)
		if a := math.Acos(-d.Y/d.Len()) * 180 / math.Pi; a > 20 {
			t.Errorf("the arm swings by %.0f degrees", a)
		}
	})
}

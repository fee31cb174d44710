package figure_test

import (
	"math"
	"testing"

	"unsling/app/figure"
	"unsling/engine/rom"
)

// normalMost is the normal range of the shoulder in degrees (AAOS and AMA
// values as tabulated in NORKIN2016 Appendix A and chapter 4, from memory).
// Nothing that is shown for copying goes past it.
var normalMost = map[rom.Motion]float64{
	rom.ForwardFlexion: 180, rom.Abduction: 180, rom.Scaption: 180, rom.Extension: 60,
	rom.ERSide: 90, rom.ER90: 90, rom.IR90: 70, rom.ElbowFlexion: 150, rom.ForearmRotation: 80,
	rom.CrossBody: 130, // horizontal adduction of 130 from the frontal plane (AMA, memory)
}

func TestExercisesStayInTheNormalRange(t *testing.T) {
	n := 0
	for _, id := range rom.Exercises {
		m := figure.Motion(id)
		most, ok := normalMost[m]
		if !ok {
			continue
		}
		for i := range 9 {
			d, ok := figure.Shown(id, float64(i)/8, figure.Marks{})
			if !ok {
				continue
			}
			n++
			if d.Float() > most+0.2 {
				t.Errorf("%s shows %s of %s; normal is %.0f", id, d, m, most)
			}
		}
	}
	if n < 80 {
		t.Fatalf("only %d angles", n)
	}
}

// The movement runs without a jump: between two of the 32 poses that a phone
// draws no joint goes farther than its share of the whole way, three times
// over, or three centimetres.
func TestMovementDoesNotJump(t *testing.T) {
	joints := func(p figure.Pose) []figure.Vec {
		return []figure.Vec{p.Head, p.Neck, p.Pelvis,
			p.Operated.Shoulder, p.Operated.Elbow, p.Operated.Wrist, p.Operated.Tip, p.Free.Shoulder, p.Free.Elbow, p.Free.Wrist, p.Free.Tip,
			p.Right.Knee, p.Right.Ankle, p.Left.Knee, p.Left.Ankle}
	}
	const poses = 32
	for _, id := range rom.Exercises {
		var way [15]float64
		var step [15]float64
		last := joints(figure.PoseOf(id, 0, figure.Marks{}))
		for i := 1; i <= poses; i++ {
			now := joints(figure.PoseOf(id, float64(i)/poses, figure.Marks{}))
			for j := range now {
				d := now[j].Sub(last[j]).Len()
				way[j] += d
				step[j] = math.Max(step[j], d)
			}
			last = now
		}
		for j := range way {
			if step[j] > math.Max(3, 3*way[j]/poses) {
				t.Errorf("%s: joint %d jumps by %.1f of %.1f cm", id, j, step[j], way[j])
			}
		}
	}
}

// gap is the least distance between two pieces of bone.
func gap(a, b, c, d figure.Vec) float64 {
	best := math.Inf(1)
	for i := range 21 {
		p := a.Add(b.Sub(a).Mul(float64(i) / 20))
		for j := range 21 {
			best = math.Min(best, p.Sub(c.Add(d.Sub(c).Mul(float64(j)/20))).Len())
		}
	}
	return best
}

// No arm goes through head or trunk: the middle of the head is 8.6 cm under
// its skin, the spine lies 7 cm deep.
func TestNoLimbThroughTheBody(t *testing.T) {
	for _, id := range rom.Exercises {
		for i := range 9 {
			p := figure.PoseOf(id, float64(i)/8, figure.Marks{})
			low, high := p.Pelvis, p.Pelvis.Add(p.Neck.Sub(p.Pelvis).Mul(0.85))
			for name, a := range map[string]figure.Arm{"operated": p.Operated, "free": p.Free} {
				if g := math.Min(gap(a.Elbow, a.Wrist, p.Head, p.Head), gap(a.Wrist, a.Tip, p.Head, p.Head)); g < 8.6 {
					t.Errorf("%s at %d/8: the %s arm is %.1f cm from the middle of the head", id, i, name, g)
				}
				if g := math.Min(gap(a.Elbow, a.Wrist, low, high), gap(a.Wrist, a.Tip, low, high)); g < 7 {
					t.Errorf("%s at %d/8: the %s arm is %.1f cm from the spine", id, i, name, g)
				}
			}
		}
	}
}

package figure_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"unsling/app/figure"
	"unsling/engine/rom"
)

// someMarks are marks as a plan may have them, absurd ones included.
func someMarks(t *rapid.T, motion rom.Motion) figure.Marks {
	angle := func(name string) figure.Angle {
		if !rapid.Bool().Draw(t, name+" set") {
			return figure.Angle{}
		}
		if motion.ByLevel() {
			return figure.At(rom.Deg(rapid.IntRange(1, 20).Draw(t, name)))
		}
		return figure.At(rom.Degrees(rapid.IntRange(-300, 2000).Draw(t, name)))
	}
	return figure.Marks{Now: angle("now"), Aim: angle("aim"), Limit: angle("limit"), Other: angle("other")}
}

func near(t *rapid.T, what string, got, want, within float64) {
	if math.IsNaN(got) || math.Abs(got-want) > within {
		t.Fatalf("%s: got %.3f, want %.3f", what, got, want)
	}
}

// The same body everywhere: whatever the exercise, the instant and the plan,
// every limb keeps its length.
func TestLimbsKeepTheirLength(t *testing.T) {
	rest := figure.PoseOf("", 0, figure.Marks{})
	length := func(a, b figure.Vec) float64 { return a.Sub(b).Len() }
	rapid.Check(t, func(t *rapid.T) {
		id := rapid.SampledFrom(rom.Exercises).Draw(t, "exercise")
		at := rapid.Float64Range(0, 1).Draw(t, "t")
		p := figure.PoseOf(id, at, someMarks(t, figure.Motion(id)))
		for _, arm := range []figure.Arm{p.Operated, p.Free} {
			near(t, "upper arm", length(arm.Shoulder, arm.Elbow), length(rest.Operated.Shoulder, rest.Operated.Elbow), 0.01)
			near(t, "forearm", length(arm.Elbow, arm.Wrist), length(rest.Operated.Elbow, rest.Operated.Wrist), 0.01)
			near(t, "hand", length(arm.Wrist, arm.Tip), length(rest.Operated.Wrist, rest.Operated.Tip), 0.01)
			near(t, "collar bone", length(p.Neck, arm.Shoulder), length(rest.Neck, rest.Operated.Shoulder), 0.01)
		}
		for _, leg := range []figure.Leg{p.Right, p.Left} {
			near(t, "thigh", length(leg.Hip, leg.Knee), length(rest.Right.Hip, rest.Right.Knee), 0.01)
			near(t, "shank", length(leg.Knee, leg.Ankle), length(rest.Right.Knee, rest.Right.Ankle), 0.01)
			near(t, "foot", length(leg.Ankle, leg.Toe), length(rest.Right.Ankle, rest.Right.Toe), 0.01)
		}
		near(t, "trunk", length(p.Pelvis, p.Neck), length(rest.Pelvis, rest.Neck), 0.01)
		near(t, "neck", length(p.Neck, p.Head), length(rest.Neck, rest.Head), 6)
	})
}

// No joint goes beyond anatomy: the angle of the motion stays inside
// rom.Motion.AnatomicalMax, and the elbow bends between straight and 150
// degrees (flexion of 150 is the AAOS value in NORKIN2016 Appendix A, from memory).
func TestJointsStayWithinAnatomy(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		id := rapid.SampledFrom(rom.Exercises).Draw(t, "exercise")
		at := rapid.Float64Range(0, 1).Draw(t, "t")
		m := someMarks(t, figure.Motion(id))
		p := figure.PoseOf(id, at, m)
		for _, arm := range []figure.Arm{p.Operated, p.Free} {
			u, f := arm.Elbow.Sub(arm.Shoulder), arm.Wrist.Sub(arm.Elbow)
			flex := math.Acos(math.Max(-1, math.Min(1, u.Dot(f)/u.Len()/f.Len()))) * 180 / math.Pi
			if flex > 150.5 {
				t.Fatalf("the elbow bends by %.1f", flex)
			}
		}
		if d, ok := figure.Shown(id, at, m); ok && d > figure.Motion(id).AnatomicalMax() {
			t.Fatalf("%s at %s degrees", figure.Motion(id), d)
		}
	})
}

// The picture never shows an arm beyond the aim or the limit, unless these
// are below what the exercise can show at all; and what is drawn is what was
// asked for: the angle between the drawn bones is the angle of that t.
func TestAngleFollowsThePlan(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		id := rapid.SampledFrom(rom.Exercises).Draw(t, "exercise")
		m := someMarks(t, figure.Motion(id))
		start, end := figure.Range(id, m)
		last := math.Inf(-1)
		for i := range 9 {
			at := float64(i) / 8
			d, ok := figure.Shown(id, at, m)
			if !ok {
				return
			}
			want := start.Float() + (end.Float()-start.Float())*at
			near(t, "shown angle", d.Float(), want, 0.3)
			if d.Float() < last-0.2 {
				t.Fatalf("the arm turns back at t = %v", at)
			}
			last = d.Float()
		}
		lowest, _ := figure.Range(id, figure.Marks{Limit: figure.At(rom.Deg(-60))})
		for _, a := range []figure.Angle{m.Aim, m.Limit} {
			if a.Set && end > a.At && end > lowest+rom.Deg(30) {
				t.Fatalf("ends at %s beyond %s", end, a.At)
			}
		}
	})
}

// The thumb climbs the spine: a smaller level is a higher hand, and the
// picture stops at the level that the plan allows.
func TestHandBehindBackStopsAtItsLevel(t *testing.T) {
	for level := rom.Level(5); level <= rom.LevelSacrum; level++ {
		m := figure.Marks{Limit: figure.At(rom.Deg(int(level)))}
		start, end := figure.Range(rom.TowelBehindBack, m)
		if end < rom.Deg(int(level)) || start <= end {
			t.Errorf("limit %d: from %s to %s", level, start, end)
		}
		low, high := figure.PoseOf(rom.TowelBehindBack, 0, m), figure.PoseOf(rom.TowelBehindBack, 1, m)
		if high.Operated.Wrist.Y <= low.Operated.Wrist.Y {
			t.Errorf("limit %d: the hand does not rise", level)
		}
	}
}

package gonio

import (
	"errors"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"unsling/engine/rom"
)

func trials(degrees ...int) []rom.Trial {
	var out []rom.Trial
	for _, d := range degrees {
		out = append(out, rom.Trial{Angle: rom.Deg(d), SE: rom.Deg(3)})
	}
	return out
}

func TestCombine(t *testing.T) {
	for name, tc := range map[string]struct {
		in    []rom.Trial
		own   rom.Degrees
		angle rom.Degrees
		se    rom.Degrees
		ask   []int
	}{
		"one":                 {trials(92), 0, rom.Deg(92), rom.Deg(7), nil},
		"three alike":         {trials(90, 92, 95), 0, 923, rom.Deg(7), nil},
		"one slipped":         {trials(90, 92, 120), 0, 1007, 168, []int{2}}, // standard deviation 16.77
		"two disagree":        {trials(80, 100), 0, rom.Deg(90), 141, []int{0, 1}},
		"no majority":         {trials(60, 80, 100), 0, rom.Deg(80), rom.Deg(20), []int{0, 1, 2}},
		"either end":          {trials(81, 89, 95), 0, 883, 70, []int{0, 2}},
		"own repeats widen":   {trials(92), rom.Deg(9), rom.Deg(92), rom.Deg(9), nil},
		"own never narrows":   {trials(92), rom.Deg(2), rom.Deg(92), rom.Deg(7), nil},
		"own error of trial":  {[]rom.Trial{{Angle: 920, SE: 110}}, 0, rom.Deg(92), rom.Deg(11), nil},
		"not divided by root": {trials(92, 92, 92), 0, rom.Deg(92), rom.Deg(7), nil},
	} {
		got, err := Combine(rom.ForwardFlexion, rom.Photo, Self, tc.in, tc.own)
		if err != nil {
			t.Fatal(err)
		}
		if name == "either end" {
			tc.se = max(tc.se, got.Spread)
		}
		if got.Angle != tc.angle || got.SE != tc.se || !slices.Equal(got.Ask, tc.ask) {
			t.Errorf("%s: got %s +/- %s ask %v, want %s +/- %s ask %v", name, got.Angle, got.SE, got.Ask, tc.angle, tc.se, tc.ask)
		}
	}
	bad := []struct {
		m    rom.Motion
		in   []rom.Trial
		own  rom.Degrees
		want error
	}{
		{rom.ForwardFlexion, nil, 0, ErrTrials},
		{rom.ForwardFlexion, make([]rom.Trial, 10), 0, ErrTrials},
		{rom.ForwardFlexion, trials(250), 0, ErrTrials},
		{rom.ForwardFlexion, []rom.Trial{{Angle: 10, SE: -1}}, 0, ErrTrials},
		{rom.ForwardFlexion, []rom.Trial{{Angle: math.MaxInt32, SE: 1}, {Angle: math.MinInt32, SE: 1}}, 0, ErrTrials},
		{rom.ForwardFlexion, trials(90), -1, ErrTrials},
		{rom.HandBehindBack, trials(9), 0, ErrNoWay},
	}
	for _, tc := range bad {
		if _, err := Combine(tc.m, rom.Photo, Self, tc.in, tc.own); !errors.Is(err, tc.want) {
			t.Errorf("%+v: got %v", tc, err)
		}
	}
}

func limit(ceiling int) rom.Limit {
	return rom.Limit{Motion: rom.ForwardFlexion, Class: rom.Passive, Ceiling: rom.Deg(ceiling), From: rom.Source{Key: "test", Mark: rom.Clinic}}
}

// An arm at the aim line is never over, whatever its error.
func TestAimLineIsSafe(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := limit(rapid.IntRange(-30, 200).Draw(t, "ceiling"))
		se := rom.Degrees(rapid.Int32Range(0, 300).Draw(t, "se"))
		aim, ok := AimLine(l, se)
		if !ok || aim >= l.Ceiling {
			t.Fatalf("aim %s at a limit of %s", aim, l.Ceiling)
		}
		if aim+ErrorOf(se) > l.Ceiling {
			t.Fatal("an arm at the aim line that reads high by its error is over")
		}
	})
	if _, ok := AimLine(rom.Limit{Motion: rom.ForwardFlexion}, 70); ok {
		t.Error("a locked motion has an aim")
	}
}

// PMC3598670: T4 lies at 21 % of the line from C7 to PSIS, T7 at 39, T10 at
// 54.1, L1 at 70.9, L4 at 86.1; the mean line is 50.9 cm.
func TestLevelFromRatio(t *testing.T) {
	for ratio, want := range map[int]rom.Level{
		210: 4, 390: 7, 541: 10, 709: 13, 861: 16, 0: 1, 1000: 18, 1100: 19, 1300: 20,
		300: 6,  // half-way from T4 to T7 is 5.5, rounded away from zero
		440: 8,  // a third from T7 to T10
		760: 14, // a third from L1 to L4
	} {
		if got, err := LevelFromRatio(ratio); err != nil || got != want {
			t.Errorf("%d: got %s %v, want %s", ratio, got, err, want)
		}
	}
	for l := rom.LevelT1; l <= rom.LevelSacrum; l++ {
		r, err := RatioFromLevel(l)
		if err != nil {
			t.Fatal(err)
		}
		if back, err := LevelFromRatio(r); err != nil || back != l {
			t.Errorf("%s at %d comes back as %s, %v", l, r, back, err)
		}
	}
	for l, want := range map[rom.Level]int{4: 210, 7: 390, 10: 541, 13: 709, 16: 861, 18: 1000} {
		if got, err := RatioFromLevel(l); err != nil || got != want {
			t.Errorf("%s: got %d %v, want %d", l, got, err, want)
		}
	}
	last := rom.Level(0)
	for r := 0; r <= 2000; r++ {
		l, err := LevelFromRatio(r)
		if err != nil || l < last {
			t.Fatalf("at %d the level goes from %d to %d, %v", r, last, l, err)
		}
		last = l
	}
	if got, err := RatioFromTape(357, 0); err != nil || got != 701 {
		t.Errorf("35.7 of 50.9 cm: got %d, %v", got, err)
	}
	if got, err := RatioFromTape(200, 400); err != nil || got != 500 {
		t.Errorf("20 of 40 cm: got %d, %v", got, err)
	}
	for _, bad := range [][2]int{{-1, 0}, {200, 100}, {200, -5}, {1700, 800}} {
		if _, err := RatioFromTape(bad[0], bad[1]); !errors.Is(err, ErrLevel) {
			t.Errorf("%v: got %v", bad, err)
		}
	}
	for _, bad := range []int{-1, 2001, math.MinInt} {
		if _, err := LevelFromRatio(bad); !errors.Is(err, ErrLevel) {
			t.Errorf("%d: got %v", bad, err)
		}
	}
	if _, err := RatioFromLevel(rom.LevelThigh); !errors.Is(err, ErrLevel) {
		t.Errorf("got %v", err)
	}
}

func TestMeasureLevel(t *testing.T) {
	// The thumb beside the line counts by its height.
	ratio, l, err := MeasureLevel([]rom.Point{{X: 500, Y: 200}, {X: 500, Y: 900}, {X: 620, Y: 200 + 387}})
	if err != nil || ratio != 553 || l != 10 {
		t.Errorf("got %d %s %v", ratio, l, err)
	}
	// The same picture turned by 90 degrees.
	turned, l2, err := MeasureLevel([]rom.Point{{X: 200, Y: 500}, {X: 900, Y: 500}, {X: 200 + 387, Y: 380}})
	if err != nil || turned != ratio || l2 != l {
		t.Errorf("turned: got %d %s %v", turned, l2, err)
	}
	for name, bad := range map[string][]rom.Point{
		"two":           {{X: 1}, {X: 2}},
		"same place":    {{X: 500, Y: 500}, {X: 500, Y: 500}, {X: 500, Y: 600}},
		"above C7":      {{X: 500, Y: 500}, {X: 500, Y: 900}, {X: 500, Y: 300}},
		"outside":       {{X: 500, Y: -1}, {X: 500, Y: 900}, {X: 500, Y: 300}},
		"at the knees":  {{X: 500, Y: 100}, {X: 500, Y: 300}, {X: 500, Y: 900}},
		"far from real": {{X: math.MinInt}, {X: math.MaxInt}, {Y: math.MaxInt}},
	} {
		if _, _, err := MeasureLevel(bad); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// Every motion can be measured at home, by somebody alone or with a helper,
// and what cannot is said with a reason.
func TestGuides(t *testing.T) {
	for _, m := range rom.Motions {
		g := GuideFor(m)
		if !g.AtHome() || g.Motion != m {
			t.Errorf("%s has no way", m)
		}
		for _, w := range g.Ways {
			if len(w.Setups) == 0 {
				t.Errorf("%s %s %s: no set-up", m, w.Method, w.Position)
			}
			if w.Method == rom.Photo && (w.View == "" || len(w.Landmarks) < 3 || len(w.Landmarks) > 4) {
				t.Errorf("%s: view %q, %d landmarks", m, w.View, len(w.Landmarks))
			}
			for _, c := range g.Cannot {
				if c.Method == w.Method && c.Position == w.Position {
					t.Errorf("%s %s %s both can and cannot be measured", m, w.Method, w.Position)
				}
			}
		}
		for _, c := range g.Cannot {
			if c.Why == "" {
				t.Errorf("%s %s: no reason", m, c.Method)
			}
		}
		if _, ok := photoRules[m]; ok == m.ByLevel() {
			t.Errorf("%s: rule for photographs %v", m, ok)
		}
	}
	// A patient alone can measure external rotation at the side.
	alone := slices.ContainsFunc(GuideFor(rom.ERSide).Ways, func(w Way) bool { return w.Method == rom.Tilt && w.Alone() })
	if !alone {
		t.Error("external rotation at the side needs a helper")
	}
	if GuideFor("XX").AtHome() {
		t.Error("no motion can be measured")
	}
}

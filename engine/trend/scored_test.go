package trend

import (
	"errors"
	"testing"

	"unsling/engine/rom"
)

func constant(forward, lateral int, positions []int, l rom.Level) rom.Score {
	f, s := rom.Deg(forward), rom.Deg(lateral)
	return rom.Score{Episode: "e1", On: surgery, By: "t1", Form: rom.ConstantMotionPart, Forward: &f, Lateral: &s, Positions: positions, Internal: l}
}

func asesOf(pain, sum int) rom.Score {
	items := make([]int, 10)
	for i := range items {
		items[i] = min(sum, 3)
		sum -= items[i]
	}
	return rom.Score{Episode: "e1", On: surgery, By: "t1", Form: rom.ASESScore, Pain: &pain, Items: items}
}

// Constant-Murley, motion part: bands of elevation 0-30, 31-60, 61-90, 91-120,
// 121-150, 151-180; two points a position; thigh 0, buttock 2, lumbosacral 4, L3
// 6, T12 8, T7 10 (CONSTANT1987, points from a second text; sum of positions
// CONSTANT2008, memory). ASES: 0/30 is 100, 10/0 is 0, 3/21 is 70, 5/15 is 50
// (RICHARDS1994, formula from a second text).
func TestScoreOf(t *testing.T) {
	for _, x := range []struct {
		s    rom.Score
		want string
	}{
		{constant(0, 30, nil, rom.LevelThigh), "0"},
		{constant(31, 60, nil, rom.LevelButtock), "6"},
		{constant(61, 90, []int{0}, rom.LevelSacrum), "14"},
		{constant(91, 120, []int{0, 4}, rom.LevelL3), "22"},
		{constant(121, 150, []int{4, 3, 2}, rom.LevelT12), "30"},
		{constant(151, 180, []int{0, 1, 2, 3, 4}, rom.LevelT7), "40"},
		{constant(90, 121, []int{0, 1}, 16), "20"}, // L4 earns what is below it
		{asesOf(0, 30), "100"}, {asesOf(10, 0), "0"}, {asesOf(3, 21), "70"}, {asesOf(5, 15), "50"}, {asesOf(4, 10), "46.7"}, {asesOf(10, 1), "1.7"},
	} {
		got, err := ScoreOf(x.s)
		if err != nil || got.Points() != x.want || got.Tenths > 10*got.Most || len(got.Parts) < 2 || got.Caveat == "" {
			t.Errorf("%+v: %s, want %s (%v)", x.s, got.Points(), x.want, err)
		}
		for _, k := range []string{"CONSTANT1987", "CONSTANT2008", "RICHARDS1994"} {
			if _, ok := Citation(k); !ok {
				t.Errorf("no citation of %s", k)
			}
		}
	}
}

// A score with a gap, or with what no form can hold, is none.
func TestScoreWithGaps(t *testing.T) {
	pain := 3
	for name, change := range map[string]func(*rom.Score){
		"no forward elevation": func(s *rom.Score) { s.Forward = nil },
		"beyond anatomy":       func(s *rom.Score) { a := rom.Deg(240); s.Lateral = &a },
		"negative elevation":   func(s *rom.Score) { a := rom.Deg(-1); s.Lateral = &a },
		"a position twice":     func(s *rom.Score) { s.Positions = []int{1, 1} },
		"a sixth position":     func(s *rom.Score) { s.Positions = []int{5} },
		"no level":             func(s *rom.Score) { s.Internal = 0 },
		"pain of another form": func(s *rom.Score) { s.Pain = &pain },
		"another form":         func(s *rom.Score) { s.Form = "sane" },
		"nobody":               func(s *rom.Score) { s.By = "" },
		"no day":               func(s *rom.Score) { s.On = 0 },
		"no episode":           func(s *rom.Score) { s.Episode = "" },
		"nine items":           func(s *rom.Score) { *s = asesOf(3, 20); s.Items = s.Items[:9] },
		"an item of 4":         func(s *rom.Score) { *s = asesOf(3, 20); s.Items[2] = 4 },
		"pain of 11":           func(s *rom.Score) { *s = asesOf(11, 20) },
		"no pain":              func(s *rom.Score) { *s = asesOf(1, 20); s.Pain = nil },
		"motions in ASES":      func(s *rom.Score) { *s = asesOf(1, 20); s.Internal = 5 },
	} {
		s := constant(120, 110, []int{1, 2}, rom.LevelL3)
		change(&s)
		var bad *rom.InvalidError
		if got, err := ScoreOf(s); !errors.As(err, &bad) {
			t.Errorf("%s: %s (%v)", name, got.Points(), err)
		}
	}
}

package trend

import (
	"fmt"

	"unsling/engine/rom"
)

// Scored is a score with the way to it.
type Scored struct {
	Form   rom.ScoreForm
	Tenths int // of a point
	Most   int // points
	Parts  []ScorePart
	Source rom.Source
	// Caveat says in one sentence what the number does not say.
	Caveat string
}

// Points prints "31" or "71.7", rounded to a tenth.
func (s Scored) Points() string {
	if s.Tenths%10 == 0 {
		return fmt.Sprint(s.Tenths / 10)
	}
	return fmt.Sprintf("%d.%d", s.Tenths/10, s.Tenths%10)
}

// ScorePart is one row of the arithmetic.
type ScorePart struct {
	Name  string // such as "forward elevation"
	Value string // as entered
	Gives string // points
}

// ConstantPositions are the five positions of external rotation, in the order
// of rom.Score.Positions (CONSTANT1987, from a second text).
var ConstantPositions = [5]string{
	"hand behind head, elbow forward", "hand behind head, elbow back", "hand on top of head, elbow forward", "hand on top of head, elbow back", "full elevation from the top of the head",
}

// ScoreOf computes a score. The errors are a *rom.InvalidError of what was
// entered, or ErrScore.
func ScoreOf(s rom.Score) (Scored, error) {
	if err := s.Validate(); err != nil {
		return Scored{}, err
	}
	if s.Form == rom.ASESScore {
		return ases(s)
	}
	return constantMotion(s)
}

func constantMotion(s rom.Score) (Scored, error) {
	out := Scored{Form: s.Form, Most: 40, Source: rom.Source{Key: "CONSTANT1987+CONSTANT2008", Mark: rom.Memory},
		Caveat: "Forty of the hundred points of the whole score; pain, daily activity and strength are not in it. Points read in a second text; that the five positions are summed is from memory."}
	points := 0
	add := func(name, value string, p int) {
		points += p
		out.Parts = append(out.Parts, ScorePart{name, value, fmt.Sprint(p)})
	}
	for _, x := range []struct {
		name  string
		angle rom.Degrees
	}{{"forward elevation", *s.Forward}, {"lateral elevation", *s.Lateral}} {
		p, err := ConstantElevation(x.angle)
		if err != nil {
			return Scored{}, err
		}
		add(x.name, fmt.Sprintf("%d°", x.angle.Whole()), p)
	}
	var reached [5]bool
	for _, p := range s.Positions {
		reached[p] = true
	}
	add("external rotation", fmt.Sprintf("%d of 5 positions", len(s.Positions)), ConstantExternal(reached))
	p, err := ConstantInternal(s.Internal)
	if err != nil {
		return Scored{}, err
	}
	add("internal rotation", s.Internal.String(), p)
	out.Tenths = 10 * points
	return out, nil
}

func ases(s rom.Score) (Scored, error) {
	sum := 0
	for _, i := range s.Items {
		sum += i
	}
	tenths, err := ASES(*s.Pain, [10]int(s.Items))
	if err != nil {
		return Scored{}, err
	}
	pain := (10 - *s.Pain) * 5
	rest := Scored{Tenths: tenths - 10*pain}
	return Scored{Form: s.Form, Tenths: tenths, Most: 100, Source: rom.Source{Key: "RICHARDS1994", Mark: rom.Memory},
		Caveat: "The formula was read in a second text. Published values of the smallest change that matters after cuff repair disagree: 11.1 (CVETANOVICH2019), 21.0 (KIM2020), 27.1 (TASHJIAN2020).",
		Parts: []ScorePart{
			{"pain", fmt.Sprintf("%d of 10", *s.Pain), fmt.Sprintf("(10 - %d) x 5 = %d", *s.Pain, pain)},
			{"ten items", fmt.Sprintf("sum %d of 30", sum), fmt.Sprintf("5/3 x %d = %s", sum, rest.Points())},
		}}, nil
}

package trend

import (
	"errors"

	"unsling/engine/rom"
)

// ErrScore is returned for values that no score form can hold.
var ErrScore = errors.New("not a value of this score")

// ConstantElevation returns the points of CONSTANT1987 for pain-free active
// forward or lateral elevation in whole degrees: 0 to 30 none, then two more
// for every 30. (Points from a second text.)
func ConstantElevation(a rom.Degrees) (int, error) {
	w := a.Whole()
	if w < 0 || w > 200 {
		return 0, ErrScore
	}
	return min(max((w-1)/30, 0)*2, 10), nil
}

// ConstantExternal returns two points for each of the five positions that is
// reached without pain; the positions are summed (CONSTANT2008, from memory).
func ConstantExternal(reached [5]bool) int {
	n := 0
	for _, r := range reached {
		if r {
			n += 2
		}
	}
	return n
}

// ConstantInternal returns the points of CONSTANT1987 for how high the back of
// the hand reaches: lateral thigh 0, buttock 2, lumbosacral junction 4, waist
// (L3) 6, T12 8, between the shoulder blades (T7) 10. A level between two of
// them earns the lower.
func ConstantInternal(l rom.Level) (int, error) {
	switch {
	case l < rom.LevelT1 || l > rom.LevelThigh:
		return 0, ErrScore
	case l <= rom.LevelT7:
		return 10, nil
	case l <= rom.LevelT12:
		return 8, nil
	case l <= rom.LevelL3:
		return 6, nil
	case l <= rom.LevelSacrum:
		return 4, nil
	case l == rom.LevelButtock:
		return 2, nil
	}
	return 0, nil
}

// ConstantMotion is the motion part of the Constant-Murley score, 40 points.
// Elevations must be active, pain-free, seated and entered by a clinician:
// passive readings from home cannot fill it.
type ConstantMotion struct {
	Forward, Lateral rom.Reading
	External         [5]bool
	Internal         rom.Level
}

// Points returns the sum, or ErrScore when a reading is not active, painful,
// the patient's own or of another motion.
func (c ConstantMotion) Points() (int, error) {
	sum := ConstantExternal(c.External)
	for _, x := range []struct {
		r rom.Reading
		m rom.Motion
	}{{c.Forward, rom.ForwardFlexion}, {c.Lateral, rom.Abduction}} {
		if x.r.Motion != x.m || x.r.Class != rom.Active || x.r.Self() || (x.r.Pain != nil && *x.r.Pain > 0) {
			return 0, ErrScore
		}
		p, err := ConstantElevation(x.r.Angle)
		if err != nil {
			return 0, err
		}
		sum += p
	}
	p, err := ConstantInternal(c.Internal)
	return sum + p, err
}

// ASES returns the score of RICHARDS1994 in tenths of a point, 0 to 1000:
// (10 - pain) * 5 + 5/3 of the sum of ten items scored 0 to 3. The wording of
// the items is not part of this program.
func ASES(pain int, items [10]int) (tenthPoints int, err error) {
	if pain < 0 || pain > 10 {
		return 0, ErrScore
	}
	sum := 0
	for _, i := range items {
		if i < 0 || i > 3 {
			return 0, ErrScore
		}
		sum += i
	}
	return (10-pain)*50 + (sum*50+1)/3, nil
}

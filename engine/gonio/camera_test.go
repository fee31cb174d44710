package gonio

import (
	"math"
	"testing"

	"unsling/engine/rom"
)

// The axes are those of W3C Device Orientation and Motion: a phone on its back
// reads +9.8 along z. From there every pose follows by turning it.
func TestCameraTilt(t *testing.T) {
	at := func(x, y, z float64) []Sample {
		return []Sample{{9.81 * x, 9.81 * y, 9.81 * z}, {9.81 * x, 9.81 * y, 9.81 * z}}
	}
	s10, c10 := math.Sincos(rad(10))
	for _, c := range []struct {
		name        string
		samples     []Sample
		view        View
		roll, pitch int
	}{
		{"upright", at(0, 1, 0), FromSide, 0, 0},
		{"on its left side", at(1, 0, 0), FromFront, 0, 0},
		{"upside down", at(0, -1, 0), FromSide, 0, 0},
		{"looks down by 10", at(0, c10, s10), FromSide, 0, 10},
		{"looks up by 10", at(0, c10, -s10), FromSide, 0, -10},
		{"top leans right by 10", at(-s10, c10, 0), FromSide, 10, 0},
		{"top leans left by 10", at(s10, c10, 0), FromSide, -10, 0},
		{"straight down", at(0, 0, 1), FromAbove, 0, 0},
		{"ten short of down", at(0, s10, c10), FromAbove, 0, 10},
	} {
		roll, pitch, ok := CameraTilt(c.samples, c.view)
		if !ok || roll != rom.Deg(c.roll) || pitch != rom.Deg(c.pitch) {
			t.Errorf("%s: roll %v, pitch %v, %v", c.name, roll, pitch, ok)
		}
	}
	for name, bad := range map[string][]Sample{
		"none": nil, "falling": at(0, 0.1, 0), "no numbers": {{math.NaN(), 0, 0}}, "endless": {{math.Inf(1), 0, 0}},
	} {
		if _, _, ok := CameraTilt(bad, FromSide); ok {
			t.Errorf("%s: taken for gravity", name)
		}
	}
}

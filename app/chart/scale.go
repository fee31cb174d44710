package chart

import (
	"math"
	"strconv"

	"unsling/engine/rom"
)

// scale maps values to picture coordinates along one axis, linearly.
type scale struct{ v0, v1, p0, p1 float64 }

// at returns the coordinate of v; the ends of the scale map to the ends of the
// plot exactly.
func (s scale) at(v float64) float64 {
	if s.v1 == s.v0 {
		return (s.p0 + s.p1) / 2
	}
	return s.p0 + float64((v-s.v0)/(s.v1-s.v0)*(s.p1-s.p0))
}

// holds reports whether v lies on the scale.
func (s scale) holds(v float64) bool {
	return v >= math.Min(s.v0, s.v1) && v <= math.Max(s.v0, s.v1)
}

// clip brings v onto the scale.
func (s scale) clip(v float64) float64 {
	return math.Max(math.Min(s.v0, s.v1), math.Min(math.Max(s.v0, s.v1), v))
}

// span collects the values that an axis must show.
type span struct {
	lo, hi float64
	any    bool
}

func (s *span) add(v float64) {
	if !s.any {
		s.lo, s.hi, s.any = v, v, true
		return
	}
	s.lo, s.hi = math.Min(s.lo, v), math.Max(s.hi, v)
}

// round widens the span to multiples of the first step that needs no more
// than most ticks, at its lower end to half of one, and returns the ticks.
func (s *span) round(steps []float64, most int) (ticks []float64) {
	for _, step := range steps {
		lo, hi := math.Floor(s.lo/step)*step, math.Ceil(s.hi/step)*step
		if hi == lo {
			hi = lo + step
		}
		n := int(math.Round((hi-lo)/step)) + 1
		if n > most && step != steps[len(steps)-1] {
			continue
		}
		for i := range n {
			ticks = append(ticks, lo+float64(float64(i)*step))
		}
		if s.lo >= lo+step/2 && n > 2 {
			lo, ticks = lo+step/2, ticks[1:] // half a step is enough below
		}
		s.lo, s.hi = lo, hi
		return ticks
	}
	return nil
}

// The steps of the axes.
var (
	degreeSteps = []float64{5, 10, 20, 30, 45, 60, 90}
	minuteSteps = []float64{1, 2, 5, 10, 15, 30, 60, 120, 240, 480}
	shareSteps  = []float64{10, 20, 25, 50, 100}
)

// levelTicks are the levels worth naming: T1, T4, T7, T10, T12, L3, sacrum,
// thigh.
func levelTicks(s span) (ticks []float64) {
	for _, l := range []rom.Level{rom.LevelT1, 4, rom.LevelT7, 10, rom.LevelT12, rom.LevelL3, rom.LevelSacrum, rom.LevelThigh} {
		if float64(l) >= s.lo && float64(l) <= s.hi {
			ticks = append(ticks, float64(l))
		}
	}
	return ticks
}

// plottable refuses values that no arm can have; they are left out of the
// picture and stay in the table.
func plottable(d rom.Degrees) bool { return d >= rom.Deg(-180) && d <= rom.Deg(360) }

// plottableDay refuses days that were not given or are absurd.
func plottableDay(d rom.Date) bool {
	return d > rom.MakeDate(1900, 1, 1) && d < rom.MakeDate(2200, 1, 1) && d != 0
}

// num prints a coordinate with one decimal at most.
func num(x float64) string {
	x = math.Round(x*10) / 10
	if x == 0 {
		x = 0 // no negative zero
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

// degrees prints an angle in whole degrees with a true minus sign.
func degrees(d rom.Degrees) string {
	n := d.Whole()
	if n < 0 {
		return "\u2212" + strconv.Itoa(-n) + "\u00b0"
	}
	return strconv.Itoa(n) + "\u00b0"
}

// level prints a vertebral level.
func (w Words) level(n int) string {
	switch {
	case n < 1 || n >= len(w.Levels):
		return "\u2013"
	case w.Levels[n] != "":
		return w.Levels[n]
	case n <= int(rom.LevelT12):
		return "T" + strconv.Itoa(n)
	case n <= int(rom.LevelL5):
		return "L" + strconv.Itoa(n-int(rom.LevelT12))
	case n == int(rom.LevelSacrum):
		return "S"
	}
	return "<S" // below the sacrum
}

// value prints a value of a motion: degrees, or a level.
func (w Words) value(m rom.Motion, d rom.Degrees) string {
	if m.ByLevel() {
		return w.level(d.Whole())
	}
	return degrees(d)
}

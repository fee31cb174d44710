package gonio

import (
	"fmt"
	"math"

	"unsling/engine/rom"
)

// The scale of thousandths of the line from C7 to the line of the posterior
// superior iliac spines (PSIS); smaller is better (HBB2022).
const (
	// MDCRatioActive and MDCRatioPassive are its published smallest
	// detectable changes (HBB2022), in thousandths.
	MDCRatioActive  = 53
	MDCRatioPassive = 36
	// MeanLine is the mean length of the line, 50.9 cm (PMC3598670),
	// in millimetres; only for readings by tape of which nobody measured the
	// line itself.
	MeanLine = 509
)

// stations are the published places of levels on the line (PMC3598670), in
// thousandths, between its two ends, which are such by definition: C7 lies
// one above T1 and the PSIS line crosses the sacrum.
var stations = []struct {
	level rom.Level
	at    float64
}{
	{0, 0}, {4, 210}, {rom.LevelT7, 390}, {10, 541}, {rom.LevelL1, 709}, {16, 861}, {rom.LevelSacrum, 1000},
}

// LevelFromRatio returns the approximate level of the thumb at ratio
// thousandths of the line from C7 to PSIS, interpolated between the published
// stations (derived). Below the line it is the buttock down to a quarter of
// the line, then the thigh (our own continuation).
func LevelFromRatio(ratio int) (rom.Level, error) {
	switch {
	case ratio < 0 || ratio > 2000:
		return 0, fmt.Errorf("level of a ratio: %w", ErrLevel)
	case ratio > 1250:
		return rom.LevelThigh, nil
	case ratio > 1000+28: // half a level below the sacrum's station
		return rom.LevelButtock, nil
	}
	x := math.Min(1000, float64(ratio))
	for i := 1; i < len(stations); i++ {
		a, b := stations[i-1], stations[i]
		if x <= b.at {
			l := float64(a.level) + float64(b.level-a.level)*(x-a.at)/(b.at-a.at)
			return max(rom.LevelT1, rom.Level(math.Round(l))), nil
		}
	}
	return rom.LevelSacrum, nil
}

// RatioFromLevel returns where a level lies on the line, in thousandths; it
// knows T1 to sacrum only.
func RatioFromLevel(l rom.Level) (int, error) {
	if l < rom.LevelT1 || l > rom.LevelSacrum {
		return 0, fmt.Errorf("ratio of a level: %w", ErrLevel)
	}
	for i := 1; i < len(stations); i++ {
		a, b := stations[i-1], stations[i]
		if l <= b.level {
			return int(math.Round(a.at + (b.at-a.at)*float64(l-a.level)/float64(b.level-a.level))), nil
		}
	}
	return 1000, nil
}

// RatioFromTape returns the ratio of a thumb measured by tape below C7, in
// millimetres; line is the length of the person's own C7-PSIS line, or 0 to
// take the published mean.
func RatioFromTape(belowC7, line int) (int, error) {
	if line == 0 {
		line = MeanLine
	}
	if line < 250 || line > 800 || belowC7 < 0 || belowC7 > 2*line {
		return 0, fmt.Errorf("ratio of a tape reading: %w", ErrLevel)
	}
	return int(math.Round(1000 * float64(belowC7) / float64(line))), nil
}

// MeasureLevel returns the ratio and the level that a picture of the back
// shows, from marks in the order C7, PSIS, thumb tip. The thumb counts by its
// height along the line, not by its distance from it.
func MeasureLevel(marks []rom.Point) (ratio int, l rom.Level, err error) {
	if len(marks) != 3 {
		return 0, 0, fmt.Errorf("measure level: %w", ErrMarks)
	}
	for _, q := range marks {
		if q.X < 0 || q.X > 1000 || q.Y < 0 || q.Y > maxMarkY {
			return 0, 0, fmt.Errorf("measure level: %w", ErrMarks)
		}
	}
	s, err := line(marks, [2]int{0, 1})
	if err != nil || s.length < 2*leastLine {
		return 0, 0, fmt.Errorf("measure level: %w", ErrShort)
	}
	tx, ty := float64(marks[2].X-marks[0].X), float64(marks[2].Y-marks[0].Y)
	along := (float64(tx*s.dx) + float64(ty*s.dy)) / (s.length * s.length)
	if along < 0 || along > 2 {
		return 0, 0, fmt.Errorf("measure level: %w", ErrLevel)
	}
	ratio = int(math.Round(1000 * along))
	l, err = LevelFromRatio(ratio)
	return ratio, l, err
}

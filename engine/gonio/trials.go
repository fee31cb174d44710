package gonio

import (
	"fmt"
	"math"

	"unsling/engine/rom"
)

// askBeyond is how far a trial may lie from the others before the person is
// asked about it: the standard deviation of the difference of two readings
// with an error of 7, which is 9.9 (derived).
const askBeyond = 10

// Result is a reading made of the trials of one set-up.
type Result struct {
	Angle rom.Degrees // mean of all trials
	SE    rom.Degrees
	// Spread is the standard deviation of the trials; 0 for one trial.
	Spread rom.Degrees
	// Ask are the indexes of trials to ask about: one that lies far from the
	// others, or all when nobody can say which is right. None is dropped:
	// only the person knows whether the arm or the mark had slipped.
	Ask []int
	// Floor is the method's error, which SE never falls below.
	Floor SEM
}

// Combine makes the result of one to nine trials. The trials of one sitting
// share their set-up, so neither their own errors nor their spread is divided
// by their number. own is the person's own standard error from repeats on
// different days, 0 if there is none; it can raise the floor, not lower it.
func Combine(m rom.Motion, method rom.Method, r Rater, trials []rom.Trial, own rom.Degrees) (Result, error) {
	floor, ok := SEMFor(method, m, r)
	if !ok {
		return Result{}, fmt.Errorf("combine trials: %w", ErrNoWay)
	}
	if len(trials) < 1 || len(trials) > 9 || own < 0 || own > rom.Deg(90) {
		return Result{}, fmt.Errorf("combine %d trials: %w", len(trials), ErrTrials)
	}
	n := len(trials)
	var sum int64
	single := 0.0
	for _, t := range trials {
		if t.SE < 0 || t.SE > rom.Deg(90) || t.Angle < rom.Deg(-60) || t.Angle > m.AnatomicalMax() {
			return Result{}, fmt.Errorf("combine trials: %w", ErrTrials)
		}
		sum += int64(t.Angle)
		single += t.SE.Float() * t.SE.Float() / float64(n)
	}
	mean := float64(sum) / float64(n) // tenths
	ss := 0.0
	for _, t := range trials {
		d := (float64(t.Angle) - mean) / 10
		ss += d * d
	}
	spread := 0.0
	if n > 1 {
		spread = math.Sqrt(ss / float64(n-1))
	}
	res := Result{Floor: floor, Ask: ask(trials)}
	res.Angle = rom.Degrees(math.Round(mean))
	res.Spread, _ = rom.FromFloat(spread)
	own1, _ := rom.FromFloat(math.Max(math.Sqrt(single), spread))
	res.SE = min(rom.Deg(90), max(floor.SEM, own, own1))
	return res, nil
}

// ask returns the trials whose removal would leave the others in agreement,
// or every trial when no single one is to blame; none when all agree.
func ask(trials []rom.Trial) []int {
	if width(trials, -1) <= rom.Deg(askBeyond) {
		return nil
	}
	var odd, all []int
	for i := range trials {
		all = append(all, i)
		if len(trials) > 2 && width(trials, i) <= rom.Deg(askBeyond) {
			odd = append(odd, i)
		}
	}
	if odd != nil {
		return odd
	}
	return all
}

// width returns the range of all trials but one; but may be -1.
func width(trials []rom.Trial, but int) rom.Degrees {
	lo, hi := rom.Degrees(math.MaxInt32), rom.Degrees(math.MinInt32)
	for i, t := range trials {
		if i != but {
			lo, hi = min(lo, t.Angle), max(hi, t.Angle)
		}
	}
	return hi - lo
}

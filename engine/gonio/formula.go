package gonio

import (
	"errors"
	"fmt"
	"math"

	"unsling/engine/rom"
)

// ErrStatistic is wrapped by the formulas when an argument cannot be one.
var ErrStatistic = errors.New("not a valid statistic")

// SEMFromICC returns SD * sqrt(1-ICC) in degrees, where sd is the standard
// deviation between the subjects of the test sample (formula F1).
func SEMFromICC(sd, icc float64) (float64, error) {
	if !(sd >= 0) || math.IsInf(sd, 0) || !(icc >= -1 && icc <= 1) {
		return 0, fmt.Errorf("standard error from reliability: %w", ErrStatistic)
	}
	return sd * math.Sqrt(1-icc), nil
}

// SEMFromDifferences returns sdDiff / sqrt(2), where sdDiff is the standard
// deviation of test-retest differences (formula F2, PMC6558857 Table 1).
func SEMFromDifferences(sdDiff float64) (float64, error) {
	if !(sdDiff >= 0) || math.IsInf(sdDiff, 0) {
		return 0, fmt.Errorf("standard error from differences: %w", ErrStatistic)
	}
	return sdDiff / math.Sqrt2, nil
}

// MDC95 returns 1.96 * sqrt(2) * sem, the smallest change that exceeds
// measurement error with 95 % confidence (formula F3, PMC6558857 Table 1).
func MDC95(sem float64) float64 { return 1.96 * math.Sqrt2 * sem }

// MDC90 returns 1.645 * sqrt(2) * sem (formula F4).
func MDC90(sem float64) float64 { return 1.645 * math.Sqrt2 * sem }

// AgreementHalfWidth returns 1.96 * sdDiff, half the width of the limits of
// agreement; it equals MDC95 of the same differences (formula F5).
func AgreementHalfWidth(sdDiff float64) float64 { return 1.96 * sdDiff }

// SEMOfMean returns sem / sqrt(k) for the mean of k trials of different
// set-ups (formula F6). It holds for the random part only: trials of one
// sitting share their set-up, and their error is not divided.
func SEMOfMean(sem float64, k int) (float64, error) {
	if !(sem >= 0) || math.IsInf(sem, 0) || k < 1 {
		return 0, fmt.Errorf("standard error of a mean of %d trials: %w", k, ErrStatistic)
	}
	return sem / math.Sqrt(float64(k)), nil
}

// SDDifferences returns the standard deviation of the differences between
// repeats (x[i], y[i]) of the same thing, for SEMFromDifferences. It needs at
// least two pairs.
func SDDifferences(x, y []rom.Degrees) (float64, error) {
	if len(x) != len(y) || len(x) < 2 {
		return 0, fmt.Errorf("differences of %d and %d repeats: %w", len(x), len(y), ErrStatistic)
	}
	mean := 0.0
	for i := range x {
		mean += (y[i].Float() - x[i].Float()) / float64(len(x))
	}
	ss := 0.0
	for i := range x {
		d := y[i].Float() - x[i].Float() - mean
		ss += d * d
	}
	return math.Sqrt(ss / float64(len(x)-1)), nil
}

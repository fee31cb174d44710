package trend

import (
	"math"

	"unsling/engine/rom"
)

// Pair is one own reading and the clinic's of the same series within a day of
// each other.
type Pair struct {
	Day         rom.Date // of the clinic's
	Own, Clinic rom.Degrees
}

// Agreement is the analysis of Bland and Altman 1986 (Lancet 1:307-10, from
// memory): the mean difference own less clinic, its standard deviation, the
// limits mean ± 1.96 SD, and 95 % confidence of all three by t on n-1 degrees
// of freedom, with the standard error of a limit as sqrt(3 SD²/n).
type Agreement struct {
	Known        bool // three pairs or more
	Pairs        []Pair
	Bias         Range
	SD           rom.Degrees
	Lower, Upper Range // limits of agreement
}

// Pairs returns the pairs of s up to day: every clinic reading with the own
// reading of the same day, else of the day before or after. No own reading is
// used twice.
func (s Series) Pairs(day rom.Date, o Options) []Pair {
	ob := observe(s.Key.Motion, s.after(day), o)
	used := make([]bool, len(ob))
	var out []Pair
	for _, c := range ob {
		if c.self {
			continue
		}
		best := -1
		for i, x := range ob {
			if !x.self || used[i] || x.day.Sub(c.day) > 1 || c.day.Sub(x.day) > 1 {
				continue
			}
			if best < 0 || (x.day == c.day && ob[best].day != c.day) {
				best = i
			}
		}
		if best >= 0 {
			used[best] = true
			out = append(out, Pair{Day: c.day, Own: tenths(ob[best].y), Clinic: tenths(c.y)})
		}
	}
	return out
}

// A patient's own error is taken from enoughPairs or more, and only when the
// differences scatter clearly more than the defaults would have it, since an
// SD of few pairs is uncertain itself. Derived.
const (
	enoughPairs = 5
	clearly     = 1.5
)

// ownSEM is the standard error of the patient's own readings as their pairs
// with the clinic's tell it: the SD of the differences less the clinic's share.
// It is 0 with too few pairs or good agreement; it only ever raises the default.
func (s Series) ownSEM(day rom.Date, o Options) rom.Degrees {
	if s.Key.Motion.ByLevel() {
		return 0
	}
	pairs := s.Pairs(day, o)
	if len(pairs) < enoughPairs {
		return 0
	}
	d := make([]float64, len(pairs))
	for i, p := range pairs {
		d[i] = (p.Own - p.Clinic).Float()
	}
	b, _ := blandAltman(d)
	clinic := max(o.ClinicSEM, rom.Deg(4)).Float()
	if b.sd < clearly*hypot(7, clinic) {
		return 0
	}
	return tenths(math.Sqrt(max(float64(b.sd*b.sd)-float64(clinic*clinic), 0)))
}

// Agree analyses pairs of one series.
func Agree(pairs []Pair) Agreement {
	out := Agreement{Pairs: pairs}
	d := make([]float64, len(pairs))
	for i, p := range pairs {
		d[i] = (p.Own - p.Clinic).Float()
	}
	b, ok := blandAltman(d)
	if !ok {
		return out
	}
	out.Known = true
	out.SD = tenths(b.sd)
	out.Bias = around(b.mean, b.t*b.seMean)
	out.Lower = around(b.mean-float64(z95*b.sd), b.t*b.seLimit)
	out.Upper = around(b.mean+float64(z95*b.sd), b.t*b.seLimit)
	return out
}

func around(mid, half float64) Range {
	return Range{tenths(mid - half), tenths(mid), tenths(mid + half)}
}

type blandAltmanResult struct{ mean, sd, seMean, seLimit, t float64 }

func blandAltman(d []float64) (b blandAltmanResult, ok bool) {
	n := float64(len(d))
	if len(d) < 3 {
		return b, false
	}
	for _, x := range d {
		b.mean += x / n
	}
	ss := 0.0
	for _, x := range d {
		ss += float64((x - b.mean) * (x - b.mean))
	}
	b.sd = math.Sqrt(ss / (n - 1))
	b.seMean = b.sd / math.Sqrt(n)
	b.seLimit = math.Sqrt(float64(3*b.sd*b.sd) / n)
	b.t = student(len(d) - 1)
	return b, true
}

// student returns the two-sided 95 % point of t. Up to 30 degrees of freedom
// from the printed tables; beyond, by the usual expansion about the normal.
func student(df int) float64 {
	table := [...]float64{
		0, 12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228,
		2.201, 2.179, 2.160, 2.145, 2.131, 2.120, 2.110, 2.101, 2.093, 2.086,
		2.080, 2.074, 2.069, 2.064, 2.060, 2.056, 2.052, 2.048, 2.045, 2.042,
	}
	if df < len(table) {
		return table[df]
	}
	const z = 1.959964
	n := float64(df)
	return z + (z*z*z+z)/(4*n) + (5*z*z*z*z*z+16*z*z*z+3*z)/(96*n*n)
}

package review

import (
	"math"
	"math/rand"

	"unsling/engine/rom"
)

// heldOutSeed keeps the seeds of the second part apart from all those that
// the rules were tuned on.
const heldOutSeed = 900_000_000

const heldOutHead = `PART 2, held out: curves, errors and seeds that no rule was tuned on
Ends of the two arms of ARNDT2012 (read: elevation 172.4 and 163.3, rotation 58.7 and
49.1), SDs assumed as in HA2021; the way there is a curve x(t) = a + b(1 - exp(-t/tau)), tau
45 to 90 days, instead of straight lines. Each person's own SEM lies between 5 and 9, the
bias has an SD of 4, one reading in thirty is a slip (SD 20), sets of one hold share 30 %.

`

// approach rises from what is there at week 2 towards an end.
func approach(from, to, tau float64) func(float64) float64 {
	return func(d float64) float64 { return to - (to-from)*math.Exp(-max(d-14, 0)/tau) }
}

// heldOut draws a course that ends about where one arm of the trial ended;
// stiff and not as in cohort.
func heldOut(ff, er float64, stiff bool) func(*rand.Rand) person {
	return func(r *rand.Rand) person {
		for {
			common := r.NormFloat64()
			zf, ze := 0.7071*(common+r.NormFloat64()), 0.7071*(common+r.NormFloat64())
			tau := 45 + 45*r.Float64() - 8*common
			if stiff {
				tau += 40
			}
			p := person{
				procedure: []rom.Procedure{rom.CuffRepair},
				ff:        approach(72+8*zf, ff+9*zf, tau), er: approach(8+5*ze, er+7*ze, tau),
				error: errors{own: 5 + 4*r.Float64(), bias: 4, slip: 20, oneIn: 30, shared: .3},
			}
			p.otherFF, p.otherER = p.ff(731)+4*r.NormFloat64(), p.er(731)+4*r.NormFloat64()
			chung := p.ff(91) < 120 || p.er(91) < 30
			parsons := p.ff(50) < 100 && p.er(50) < 30
			lags := p.er(91) < 0.78*p.otherER
			switch {
			case stiff && chung:
				p.event = 84
				return p
			case !stiff && !chung && !parsons && !lags:
				return p
			}
		}
	}
}

func heldOutGroups() []group {
	release := func(r *rand.Rand) person {
		ff, er := 150+9*r.NormFloat64(), 48+8*r.NormFloat64()
		return person{procedure: []rom.Procedure{rom.CapsularRelease}, ff: flat(ff), er: flat(er), otherFF: ff + 10, otherER: er + 8,
			error: errors{own: 5 + 4*r.Float64(), bias: 4, slip: 20, oneIn: 30, shared: .3}}
	}
	healthy := heldOut(172.4, 58.7, false)
	return append([]group{
		{"healthy-early", "cuff repair, ends as the early arm, true angles meet no rule", true, nil, healthy},
		{"healthy-immobilised", "cuff repair, ends as the immobilised arm, true angles meet no rule", true, nil, heldOut(163.3, 49.1, false)},
		{"healthy-release", "release that holds what was won (assumed)", true, nil, release},
		{"stiff", "cuff repair, ends as the immobilised arm, stiff by CHUNG2013 at month 3", false, []string{"stiffness"}, heldOut(163.3, 49.1, true)},
	}, troubles(healthy, release)...)
}

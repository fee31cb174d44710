package verdict

import "math"

// The model, in degrees; a level counts levelStep. The angle of a sitting is that
// of the one before, a little off, or with jumpChance somewhere else; so is the
// first, of an arm expected below the limit. A set shows it with the bias of its
// method, an error of the set-up that the sets of one hold share, its own error,
// and now and then a slip. All derived: what is plausible, and what kept the
// alarms of the first part of the study few; its other parts had no say.
const (
	priorBelow = 10.0
	priorSD    = 12.0
	biasSD     = 4.0 // of photographs, and of tilt: always there, whatever was measured before
	perDay     = 0.25
	perSitting = 4.0 // variances, of how differently an arm is stretched
	jumpChance = 0.1
	jumpSD     = 25.0
	slipChance = 0.03
	slipSD     = 25.0
	shared     = 0.5 // of a set's variance is the set-up's (derived: nobody has measured it)
)

// seen is one set: an angle, its standard error, and the bias that is in it.
type seen struct {
	y, se float64
	bias  int
}

// What a state holds, by index. A clinician's reading has no bias.
const (
	theAngle = iota
	biasPhoto
	biasTilt
	setUp
	dims
	noBias = dims
)

type (
	vector [dims]float64
	matrix [dims][dims]float64
)

// part is one Gaussian of a mixture.
type part struct {
	w float64
	m vector
	p matrix
}

// belief is what is known of the arm after some sittings. Its zero value is
// that before the first.
type belief struct {
	part
	begun bool
	day   int
}

func begin(limit float64) part {
	var x part
	x.w, x.m[theAngle] = 1, limit-priorBelow
	x.p[theAngle][theAngle] = priorSD * priorSD
	x.p[biasPhoto][biasPhoto], x.p[biasTilt][biasTilt] = biasSD*biasSD, biasSD*biasSD
	return x
}

// sit takes the sets of one sitting and returns the probability that the angle
// lay beyond the limit.
func (b *belief) sit(day int, limit float64, sets []seen) float64 {
	x := b.part
	if b.begun {
		x.p[theAngle][theAngle] += float64(perDay*float64(day-b.day)) + perSitting
	} else {
		x = begin(limit)
	}
	for i := range dims {
		x.p[i][setUp], x.p[setUp][i] = 0, 0
	}
	x.m[setUp], x.p[setUp][setUp] = 0, float64(shared*sets[0].se*sets[0].se)
	jump := x
	jump.p[theAngle][theAngle] += jumpSD * jumpSD
	x.w, jump.w = 1-jumpChance, jumpChance
	mix := []part{x, jump}
	for _, s := range sets {
		var next []part
		for _, c := range mix {
			r := float64(s.se * s.se)
			if s.bias == noBias {
				next = append(next, c.with(s, r))
				continue
			}
			r -= float64(shared * r)
			good, slip := c, c
			good.w, slip.w = float64(c.w*(1-slipChance)), float64(c.w*slipChance)
			next = append(next, good.with(s, r), slip.with(s, r+slipSD*slipSD))
		}
		mix = next
	}
	beyond := 0.0
	b.part, beyond = merge(mix, limit)
	b.begun, b.day = true, day
	return beyond
}

// with conditions x on a set whose own error has variance r; the weight takes
// in how likely the set was.
func (x part) with(s seen, r float64) part {
	sees := func(i int) bool { return i == theAngle || s.bias != noBias && (i == s.bias || i == setUp) }
	var ph vector
	f, v := r, s.y
	for i := range dims {
		for j := range dims {
			if sees(j) {
				ph[i] += x.p[i][j]
			}
		}
		if sees(i) {
			f += ph[i]
			v -= x.m[i]
		}
	}
	for i := range dims {
		x.m[i] += float64(ph[i] / f * v)
		for j := range dims {
			x.p[i][j] -= float64(ph[i] / f * ph[j])
		}
	}
	x.w = float64(x.w * exp(-float64(v*v)/(2*f)) / math.Sqrt(f))
	return x
}

// merge makes one Gaussian of a mixture, and the share of it beyond the limit.
func merge(mix []part, limit float64) (out part, beyond float64) {
	total := 0.0
	for _, c := range mix {
		total += c.w
	}
	if !(total > 0) { // so unlikely that no float holds it: the slips take all
		for i := range mix {
			mix[i].w = 1
		}
		total = float64(len(mix))
	}
	out.w = 1
	for _, c := range mix {
		share := c.w / total
		beyond += float64(share * normal((c.m[theAngle]-limit)/math.Sqrt(c.p[theAngle][theAngle])))
		for i := range dims {
			out.m[i] += float64(share * c.m[i])
		}
	}
	for _, c := range mix {
		for i := range dims {
			for j := range dims {
				d := float64((c.m[i] - out.m[i]) * (c.m[j] - out.m[j]))
				out.p[i][j] += float64(c.w / total * (c.p[i][j] + d))
			}
		}
	}
	return out, beyond
}

// exp returns e to the x for x of 0 and less, of products only, so that phone
// and clinic get the same bits.
func exp(x float64) float64 {
	if x < -700 {
		return 0
	}
	t, y := x/1024, 1.0
	for k := 12.0; k > 0; k-- {
		y = 1 + float64(t/k*y)
	}
	for range 10 {
		y *= y
	}
	return y
}

// normal is the distribution function of the standard normal, to 1e-7
// (Abramowitz and Stegun 26.2.17, from memory; held to math.Erfc by a test).
func normal(z float64) float64 {
	if z < 0 {
		return 1 - normal(-z)
	}
	t := 1 / (1 + float64(.2316419*z))
	sum := 0.0
	for _, c := range [...]float64{1.330274429, -1.821255978, 1.781477937, -.356563782, .319381530} {
		sum = float64(t * (c + sum))
	}
	return 1 - float64(exp(-float64(z*z)/2)*.3989422804014327*sum)
}

package trend

import "math"

// The model: a level that moves with a slope, both of which may wander a
// little each day (local linear trend), and a constant bias of the patient's
// own readings. Days without readings are simply longer steps, so the result
// equals that of a daily model with missing days.
//
// Filter: Kalman. Smoother: fixed interval, in the form of de Jong 1989,
// which gives what Rauch, Tung and Striebel 1965 give without inverting a
// matrix, and besides the auxiliary residuals of Harvey and Koopman 1992 that
// tell a slip from a jump. (All three from memory; checked against
// statsmodels, see testdata.)

const z95 = 1.96

type vec [3]float64 // level, slope per day, bias of own readings
type mat [3][3]float64

// noise holds the variances per day by which the state may wander.
type noise struct{ level, slope float64 }

// prior is the state before the first reading.
type prior struct {
	mean vec
	p    mat
}

// step is one observation in the filter.
type step struct {
	days   int     // since the step before; 0 for the first
	extra  float64 // additional variance of the level just before this step
	y, r   float64
	own    bool
	skip   bool
	a      vec // predicted state
	p      mat // its variance
	v, f   float64
	k      vec // gain after the update, before the next transition
	s      vec // smoothed state
	sp     mat
	slip   float64 // t statistic that y alone is wrong
	jump   float64 // t statistic that the level jumped just before this step
	logLik float64
}

func (s *step) z() vec {
	if s.own {
		return vec{1, 0, 1}
	}
	return vec{1, 0, 0}
}

func hypot(a, b float64) float64 { return math.Sqrt(float64(a*a) + float64(b*b)) }

func dot(a, b vec) float64 {
	return float64(a[0]*b[0]) + float64(a[1]*b[1]) + float64(a[2]*b[2])
}

func (m mat) by(v vec) vec { return vec{dot(m[0], v), dot(m[1], v), dot(m[2], v)} }

func (m mat) t() mat {
	return mat{{m[0][0], m[1][0], m[2][0]}, {m[0][1], m[1][1], m[2][1]}, {m[0][2], m[1][2], m[2][2]}}
}

func (m mat) mul(o mat) mat {
	o = o.t()
	var out mat
	for i := range m {
		for j := range o {
			out[i][j] = dot(m[i], o[j])
		}
	}
	return out
}

// plus returns m + c * v w'.
func (m mat) plus(c float64, v, w vec) mat {
	for i := range v {
		for j := range w {
			m[i][j] += float64(c * float64(v[i]*w[j]))
		}
	}
	return m
}

func (m mat) even() mat {
	for i := range m {
		for j := range i {
			x := (m[i][j] + m[j][i]) / 2
			m[i][j], m[j][i] = x, x
		}
	}
	return m
}

func transition(days int) mat {
	return mat{{1, float64(days), 0}, {0, 1, 0}, {0, 0, 1}}
}

// forward moves a state by whole days, as that many daily steps would.
func forward(a vec, p mat, days int, extra float64, q noise) (vec, mat) {
	if days > 0 {
		t := transition(days)
		a, p = t.by(a), t.mul(p).mul(t.t())
		d := float64(days)
		sum1 := d * (d - 1) / 2
		sum2 := (d - 1) * d * (2*d - 1) / 6
		p[0][0] += float64(d*q.level) + float64(sum2*q.slope)
		p[0][1] += float64(sum1 * q.slope)
		p[1][0] = p[0][1]
		p[1][1] += float64(d * q.slope)
	}
	p[0][0] += extra
	return a, p.even()
}

// filter runs forward and returns the log likelihood of what was not skipped.
func filter(steps []step, pr prior, q noise) float64 {
	a, p := pr.mean, pr.p
	total := 0.0
	for i := range steps {
		s := &steps[i]
		if i > 0 {
			a, p = forward(a, p, s.days, s.extra, q)
		}
		s.a, s.p = a, p
		z := s.z()
		pz := p.by(z)
		s.v, s.f = s.y-dot(z, a), dot(z, pz)+s.r
		if s.skip {
			s.k = vec{}
			continue
		}
		for j := range s.k {
			s.k[j] = pz[j] / s.f
			a[j] += float64(s.k[j] * s.v)
		}
		p = p.plus(-1/s.f, pz, pz).even()
		s.logLik = -(math.Log(2*math.Pi) + math.Log(s.f) + float64(s.v*s.v)/s.f) / 2
		total += s.logLik
	}
	return total
}

// smooth runs backward after filter.
func smooth(steps []step) {
	var r vec // sum of what later readings say about the state after this step
	var n mat
	for i := len(steps) - 1; i >= 0; i-- {
		s := &steps[i]
		// r and n speak of the predicted state of step i+1; bring them back
		// over the transition to the updated state of step i.
		if i+1 < len(steps) {
			if n[0][0] > 0 {
				steps[i+1].jump = r[0] / math.Sqrt(n[0][0])
			}
			t := transition(steps[i+1].days)
			r, n = t.t().by(r), t.t().mul(n).mul(t).even()
		}
		z := s.z()
		if s.skip {
			// What the others say about the reading left out.
			s.slip = leftOut(s, z, r, n)
		} else {
			kr := dot(s.k, r)
			nk := n.by(s.k)
			u := s.v/s.f - kr
			d := 1/s.f + dot(s.k, nk)
			s.slip = u / math.Sqrt(d)
			// r <- z u + r ; n <- z z'/f + (I - z k') n (I - k z')
			for j := range r {
				r[j] += float64(z[j] * u)
			}
			n = n.plus(-1, z, nk).plus(-1, nk, z).plus(dot(s.k, nk)+1/s.f, z, z).even()
		}
		pr := s.p.by(r)
		for j := range s.s {
			s.s[j] = s.a[j] + pr[j]
		}
		pnp := s.p.mul(n).mul(s.p)
		for j := range s.sp {
			for k := range s.sp[j] {
				s.sp[j][k] = s.p[j][k] - pnp[j][k]
			}
		}
		s.sp = s.sp.even()
	}
}

// leftOut returns how far a skipped reading lies from what all the others
// predict, in standard deviations.
func leftOut(s *step, z, r vec, n mat) float64 {
	mean, p := s.a, s.p
	pr := p.by(r)
	for j := range mean {
		mean[j] += pr[j]
	}
	pnp := p.mul(n).mul(p)
	for j := range p {
		for k := range p[j] {
			p[j][k] -= pnp[j][k]
		}
	}
	return (s.y - dot(z, mean)) / math.Sqrt(max(dot(z, p.by(z))+s.r, 1e-9))
}

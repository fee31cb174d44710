package trend

// fit is a smoothed series.
type fit struct {
	obs   []obs
	steps []step
	both  bool // own and clinic readings
	scale float64
	noise noise
}

// The freedom of the curve, per day. A shoulder after cuff repair gains about
// one degree a day at first and none after half a year (HA2021 Table 3): its
// slope changes by 0.08 degrees a day per root day. Which of the two fits a
// series is decided by likelihood once there is enough of it; a stiffer curve
// is not offered, since it takes the fast start of a recovery for its rate.
// Derived.
var slopes = [...]float64{0.0009, 0.01}

const (
	levelNoise = 0.04 // 0.2 degrees per root day
	suspicious = 3.5  // standard deviations that call a reading a slip, or a jump real
	enough     = 8    // observations before the slope's freedom is estimated
)

// fitOf smooths obs, which must be in order of days and not empty.
func fitOf(o []obs, byLevel bool) *fit {
	f := &fit{obs: o, scale: 1}
	if byLevel {
		f.scale = 0.1
	}
	own, clinic := false, false
	for _, x := range o {
		own, clinic = own || x.self, clinic || !x.self
	}
	f.both = own && clinic
	f.noise = f.noiseWith(slopes[0])
	f.steps = f.build()
	f.settle()
	if len(o) >= enough {
		f.choose()
	}
	filter(f.steps, f.prior(), f.noise)
	smooth(f.steps)
	for i := range f.steps {
		f.obs[i].aside = f.steps[i].skip
	}
	return f
}

func (f *fit) noiseWith(slope float64) noise {
	s := float64(f.scale * f.scale)
	return noise{level: levelNoise * s, slope: slope * s}
}

func (f *fit) prior() prior {
	s := float64(f.scale * f.scale)
	pr := prior{mean: vec{f.obs[0].y, 0, 0}, p: mat{{10000 * s, 0, 0}, {0, 4 * s, 0}, {0, 0, 0}}}
	if f.both {
		pr.p[2][2] = 100 * s
	}
	return pr
}

func (f *fit) build() []step {
	steps := make([]step, len(f.obs))
	for i, x := range f.obs {
		steps[i] = step{y: x.y, r: float64(x.sem * x.sem), own: f.both && x.self}
		if i > 0 {
			steps[i].days = x.day.Sub(f.obs[i-1].day)
		}
	}
	return steps
}

// settle tells slips from jumps, the most glaring first, until nothing is
// suspicious or an eighth of the readings has been set aside. The newest own
// reading by itself can only be a slip: a jump needs a second reading. The
// newest of a clinician is believed at once.
func (f *fit) settle() {
	left := len(f.steps)/8 + 1
	for range left + 4 {
		filter(f.steps, f.prior(), f.noise)
		smooth(f.steps)
		slip, slipAt, jump, jumpAt := 0.0, -1, 0.0, -1
		for i, s := range f.steps {
			if x := abs(s.slip); !s.skip && x > slip {
				slip, slipAt = x, i
			}
			if x := abs(s.jump); i > 0 && s.extra == 0 && x > jump {
				jump, jumpAt = x, i
			}
		}
		switch {
		case slip >= suspicious && slip >= jump-1e-6 && slipAt > 0 && slipAt == f.last() && !f.obs[slipAt].self:
			f.steps[slipAt].extra += 900 * float64(f.scale*f.scale)
		case slip >= suspicious && slip >= jump-1e-6 && left > 0:
			f.steps[slipAt].skip = true
			left--
		case jump >= suspicious && jump > slip:
			f.steps[jumpAt].extra = 900 * float64(f.scale*f.scale)
		default:
			return
		}
	}
}

// last returns the index of the newest step that is not skipped.
func (f *fit) last() int {
	for i := len(f.steps) - 1; i >= 0; i-- {
		if !f.steps[i].skip {
			return i
		}
	}
	return -1
}

// choose takes the freedom of the slope under which the readings are likeliest.
func (f *fit) choose() {
	best, at := 0.0, -1
	for i, q := range slopes {
		if l := filter(f.steps, f.prior(), f.noiseWith(q)); at < 0 || l > best {
			best, at = l, i
		}
	}
	f.noise = f.noiseWith(slopes[at])
}

func abs(x float64) float64 {
	if x < 0 {
		return -x
	}
	return x
}

// newest returns the index of the newest observation that was used, or -1.
func (f *fit) newest() int { return f.last() }

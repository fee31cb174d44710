package gonio

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"unsling/engine/rom"
)

// samples returns what a sensor shows at rest with up in direction u, with
// noise in m/s^2 along each axis.
func samples(u vec, noise float64, r *rand.Rand) []Sample {
	var out []Sample
	for range 60 {
		f := func() float64 {
			if noise == 0 {
				return 0
			}
			return r.NormFloat64() * noise
		}
		out = append(out, Sample{9.81*u[0] + f(), 9.81*u[1] + f(), 9.81*u[2] + f()})
	}
	return out
}

func still(t interface{ Fatal(...any) }, u vec) Gravity {
	g, err := Still(samples(u, 0, nil))
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func TestStillRefuses(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	shaking := samples(vec{0, 0, 1}, 2, r)
	turning := samples(vec{0, 0, 1}, 0, r)
	for i := range turning {
		s, c := math.Sincos(rad(float64(i)))
		turning[i] = Sample{9.81 * s, 0, 9.81 * c}
	}
	spinning := samples(vec{0, 0, 1}, 0, r)
	for i := range spinning {
		s, c := math.Sincos(rad(float64(i) * 6))
		spinning[i] = Sample{9.81 * s, 0, 9.81 * c}
	}
	one := func(s Sample) []Sample {
		out := samples(vec{0, 0, 1}, 0, r)
		out[7] = s
		return out
	}
	for name, tc := range map[string]struct {
		in   []Sample
		want error
	}{
		"none":        {nil, ErrSamples},
		"nine":        {samples(vec{0, 0, 1}, 0, r)[:9], ErrSamples},
		"not numbers": {one(Sample{math.NaN(), 0, 9.81}), ErrNoGravity},
		"infinite":    {one(Sample{0, 0, math.Inf(-1)}), ErrNoGravity},
		"huge":        {one(Sample{0, 1e300, 0}), ErrNoGravity},
		"free fall":   {samples(vec{0, 0, .02}, 0, r), ErrNoGravity},
		"lift":        {samples(vec{0, 0, 1.2}, 0, r), ErrNoGravity},
		"zero":        {samples(vec{}, 0, r), ErrNoGravity},
		"shaking":     {shaking, ErrShaking},
		"turning":     {turning, ErrShaking},
		"spinning":    {spinning, ErrShaking},
	} {
		if _, err := Still(tc.in); !errors.Is(err, tc.want) {
			t.Errorf("%s: got %v, want %v", name, err, tc.want)
		}
	}
}

// The spread is the sensor's own: noise of s along each axis strays by
// sqrt(2)*s/9.81 radians from the mean direction.
func TestSpreadComesFromTheSamples(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	for _, noise := range []float64{.02, .05, .1} {
		g, err := Still(samples(vec{.6, -.64, .48}, noise, r))
		if err != nil {
			t.Fatal(err)
		}
		want := deg(math.Sqrt2 * noise / 9.81)
		near(t, "spread", g.spread, want, .15*want)
	}
}

// One reading against gravity, worked out by hand: the phone's top points
// down at 0, level at 90, up at 180, whatever way it is turned about its long
// edge.
func TestOneReadingUpright(t *testing.T) {
	for _, v := range []struct {
		up   vec
		want float64
	}{
		{vec{0, -1, 0}, 0}, {vec{1, 0, 0}, 90}, {vec{0, 0, 1}, 90}, {vec{-.6, 0, .8}, 90}, {vec{0, 1, 0}, 180},
		{vec{0, -math.Sqrt2 / 2, math.Sqrt2 / 2}, 45}, {vec{.5, math.Sqrt(.75), 0}, 150},
	} {
		for _, side := range []rom.Side{rom.Left, rom.Right} {
			l := Laid{Motion: rom.Abduction, Side: side, Position: rom.Standing, Arm: still(t, v.up)}
			m, err := MeasureTilt(l)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "elevation", m.Angle.Float(), v.want, .051)
			// The same phone the other way round, and said so.
			l.Turned, l.Arm = true, still(t, vec{-v.up[0], -v.up[1], v.up[2]})
			if again, err := MeasureTilt(l); err != nil || again.Angle != m.Angle {
				t.Errorf("upside down: got %v %v, want %v", again.Angle, err, m.Angle)
			}
		}
	}
}

// anyTurn draws a rotation as an axis on the sphere and an angle.
func anyTurn(t *rapid.T) func(vec) vec {
	z := rapid.Float64Range(-1, 1).Draw(t, "z")
	s, c := math.Sincos(rapid.Float64Range(0, 2*math.Pi).Draw(t, "longitude"))
	flat := math.Sqrt(1 - z*z)
	axis := vec{flat * c, flat * s, z}
	angle := rapid.Float64Range(0, 360).Draw(t, "angle")
	return func(v vec) vec { return v.turn(axis, angle) }
}

// Two readings: however the trunk leans in the plane of motion and however
// the phone lies, upside down or facing in, on either arm, the angle between
// arm and trunk comes out, as long as the phone lies alike in both places.
func TestTwoReadingsOnTheSphere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		theta := rapid.Float64Range(0, 180).Draw(t, "theta")
		lean := rapid.Float64Range(-89, 89).Draw(t, "lean")
		side := rapid.SampledFrom([]rom.Side{rom.Left, rom.Right}).Draw(t, "side")
		mount := anyTurn(t)
		// Axes of a body part: right, front, up along it. Flexion turns the
		// part about the axis to the right; a lean turns it, too.
		upIn := func(turned float64) vec { return mount(toHead.turn(toRight, -turned)) }
		trunk, arm := still(t, upIn(lean)), still(t, upIn(lean+theta))
		m, err := MeasureTilt(Laid{Motion: rom.ForwardFlexion, Side: side, Position: rom.Standing, Arm: arm, Trunk: &trunk})
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(m.Angle.Float()-theta) > .051 {
			t.Fatalf("got %s, want %.2f", m.Angle, theta)
		}
	})
}

// Lying down, a turn of the phone about its long edge between trunk and arm is
// no movement: a true 160 stays 160, on either arm, with the head end raised,
// with the phone upside down or facing in, alike in both places.
func TestLyingTwist(t *testing.T) {
	read := func(m rom.Motion, p rom.Position, theta, raised, twist float64, mount func(vec) vec) Measure {
		// Axes of a body part: right, front, up along it; up is in front of
		// whoever lies on the back, and towards the head as far as it is raised.
		up := toFront.turn(toRight, raised)
		turned := theta
		if p == rom.Prone {
			up, turned = toFront.times(-1).turn(toRight, -raised), -theta
		}
		trunk, arm := still(t, mount(up)), still(t, mount(up.turn(toRight, -turned).turn(toHead, twist)))
		got, err := MeasureTilt(Laid{Motion: m, Side: rom.Left, Position: p, Arm: arm, Trunk: &trunk})
		if err != nil {
			t.Fatal(err)
		}
		return got
	}
	mounts := map[string]func(vec) vec{
		// The phone's axes x, y, z on a part: its top to the hand, screen out.
		"right arm":    func(v vec) vec { return vec{-v[1], -v[2], v[0]} },
		"left arm":     func(v vec) vec { return vec{v[1], -v[2], -v[0]} },
		"upside down":  func(v vec) vec { return vec{v[1], v[2], v[0]} },
		"facing in":    func(v vec) vec { return vec{v[1], -v[2], -v[0]} },
		"on the front": func(v vec) vec { return vec{v[0], -v[2], v[1]} },
		"in between":   func(v vec) vec { v = v.turn(toHead, 37); return vec{-v[1], -v[2], v[0]} },
	}
	for name, mount := range mounts {
		for _, raised := range []float64{0, 15, 30} {
			for twist := -45.0; twist <= 45; twist += 5 {
				for theta := 0.0; theta <= 180; theta += 5 {
					got := read(rom.ForwardFlexion, rom.Supine, theta, raised, twist, mount)
					if math.Abs(got.Angle.Float()-theta) > .051 || len(got.Warnings) != 0 {
						t.Fatalf("%s, head end raised %.0f, twisted %.0f: %s %v, want %.0f", name, raised, twist, got.Angle, got.Warnings, theta)
					}
				}
			}
		}
		for theta := 0.0; theta <= 50; theta += 10 {
			if got := read(rom.Extension, rom.Prone, theta, 0, 30, mount); math.Abs(got.Angle.Float()-theta) > .051 {
				t.Errorf("%s, prone: %s, want %.0f", name, got.Angle, theta)
			}
		}
	}
	for _, twist := range []float64{-90, -60, 60, 75, 90, 120} {
		if got := read(rom.ForwardFlexion, rom.Supine, 160, 0, twist, mounts["right arm"]); !slices.Contains(got.Warnings, WarnAcross) {
			t.Errorf("twisted by %.0f: %+v, no word of it", twist, got)
		}
	}
	// Crosswise on the flank the long edge is upright.
	across, arm := still(t, vec{0, 1, 0}), still(t, vec{-1, 0, 0})
	got, err := MeasureTilt(Laid{Motion: rom.ForwardFlexion, Side: rom.Left, Position: rom.Supine, Arm: arm, Trunk: &across})
	if err != nil || !slices.Contains(got.Warnings, WarnAcross) {
		t.Errorf("across the trunk: %+v %v", got, err)
	}
}

func TestLeanIsRemovedAndTold(t *testing.T) {
	// The arm is 115 from the vertical and the trunk leans back 25: 90 of
	// flexion, which one reading takes for 115.
	trunk, arm := still(t, vec{0, -1, 0}.turn(vec{0, 0, 1}, 25)), still(t, vec{0, -1, 0}.turn(vec{0, 0, 1}, 115))
	alone, err := MeasureTilt(Laid{Motion: rom.ForwardFlexion, Side: rom.Right, Position: rom.Seated, Arm: arm})
	if err != nil || alone.Angle != rom.Deg(115) {
		t.Fatalf("got %v %v", alone, err)
	}
	both, err := MeasureTilt(Laid{Motion: rom.ForwardFlexion, Side: rom.Right, Position: rom.Seated, Arm: arm, Trunk: &trunk})
	if err != nil || both.Angle != rom.Deg(90) || !slices.Contains(both.Warnings, WarnLean) {
		t.Fatalf("got %v %v", both, err)
	}
	if both.SE <= alone.SE {
		t.Error("two readings have no more noise than one")
	}
	upside := still(t, vec{0, 1, 0})
	m, err := MeasureTilt(Laid{Motion: rom.ForwardFlexion, Side: rom.Right, Position: rom.Seated, Arm: still(t, vec{1, 0, 0}), Trunk: &upside})
	if err != nil || m.Angle != rom.Deg(90) || !slices.Contains(m.Warnings, WarnUpsideDown) {
		t.Fatalf("got %v %v", m, err)
	}
}

// Rotations lying on the back: the forearm against the vertical. A phone on
// the back of the forearm tips its screen down as the arm turns outwards, on
// either side.
func TestRotationLying(t *testing.T) {
	for _, m := range []rom.Motion{rom.ERSide, rom.ER20, rom.ER90, rom.IRSide, rom.IR90} {
		for _, r := range []float64{-10, 0, 20, 45, 90} {
			sign := 1.0
			if m == rom.IRSide || m == rom.IR90 {
				sign = -1
			}
			s, c := math.Sincos(rad(sign * r))
			for _, side := range []rom.Side{rom.Left, rom.Right} {
				l := Laid{Motion: m, Side: side, Position: rom.Supine, Arm: still(t, vec{0, c, -s})}
				got, err := MeasureTilt(l)
				if err != nil {
					t.Fatal(err)
				}
				near(t, string(m), got.Angle.Float(), r, .051)
				if r > 60 {
					continue
				}
				l.Arm = still(t, vec{0, -c, -s}) // top at the elbow: noticed
				again, err := MeasureTilt(l)
				if err != nil || math.Abs(again.Angle.Float()-r) > .051 || !slices.Contains(again.Warnings, WarnUpsideDown) {
					t.Errorf("%s upside down at %.0f: got %v %v", m, r, again, err)
				}
			}
		}
	}
	// The trunk rolled 15 to the right: its front tips right, so the phone's
	// x axis, which points to the left of the body, rises. A right forearm 40
	// from the vertical is then turned out 25, a left one 55.
	roll := still(t, vec{math.Sin(rad(15)), 0, math.Cos(rad(15))})
	arm := still(t, vec{0, math.Cos(rad(40)), -math.Sin(rad(40))})
	for side, want := range map[rom.Side]rom.Degrees{rom.Right: rom.Deg(25), rom.Left: rom.Deg(55)} {
		got, err := MeasureTilt(Laid{Motion: rom.ERSide, Side: side, Position: rom.Supine, Arm: arm, Trunk: &roll})
		if err != nil || got.Angle != want || !slices.Contains(got.Warnings, WarnLean) {
			t.Errorf("%s: got %v %v, want %s", side, got, err, want)
		}
	}
	// Head end raised by 12: the front of the trunk tips to the feet.
	head := still(t, vec{0, math.Sin(rad(12)), math.Cos(rad(12))})
	got, err := MeasureTilt(Laid{Motion: rom.ER90, Side: rom.Right, Position: rom.Supine, Arm: arm, Trunk: &head})
	if err != nil || got.Angle != rom.Deg(52) {
		t.Errorf("got %v %v, want 52", got, err)
	}
	if got, _ = MeasureTilt(Laid{Motion: rom.IR90, Side: rom.Right, Position: rom.Supine, Arm: arm}); !slices.Contains(got.Warnings, WarnDirection) {
		t.Errorf("turning the wrong way goes unnoticed: %+v", got)
	}
}

// Gravity is blind to turning about the vertical, and the error says so.
func TestBlind(t *testing.T) {
	g := still(t, vec{0, 0, 1})
	for _, v := range []struct {
		m   rom.Motion
		p   rom.Position
		why Reason
	}{
		{rom.ERSide, rom.Seated, ReasonVertical}, {rom.ERSide, rom.Standing, ReasonVertical},
		{rom.IRSide, rom.Seated, ReasonVertical}, {rom.ER20, rom.Seated, ReasonVertical},
		{rom.Abduction, rom.Supine, ReasonVertical}, {rom.CrossBody, rom.Seated, ReasonVertical},
		{rom.HandBehindBack, rom.Standing, ReasonNoAngle}, {"XX", rom.Seated, ReasonNotOffered},
	} {
		_, err := MeasureTilt(Laid{Motion: v.m, Side: rom.Left, Position: v.p, Arm: g})
		var blind *BlindError
		if !errors.As(err, &blind) || !errors.Is(err, ErrNoWay) || blind.Why != v.why {
			t.Errorf("%s %s: got %v", v.m, v.p, err)
		}
	}
	if _, err := MeasureTilt(Laid{Motion: rom.ERSide, Side: rom.Left, Position: rom.Supine, Arm: still(t, toFront)}); err != nil {
		t.Errorf("lying on the back gravity sees it: %v", err)
	}
	for _, l := range []Laid{
		{Motion: rom.ForwardFlexion, Side: rom.Left, Position: rom.Supine, Arm: g},
		{Motion: rom.ElbowFlexion, Side: rom.Left, Position: rom.Seated, Arm: g},
	} {
		if _, err := MeasureTilt(l); !errors.Is(err, ErrTrunk) {
			t.Errorf("%s %s with one reading: got %v", l.Motion, l.Position, err)
		}
	}
	if _, err := MeasureTilt(Laid{Motion: rom.ForwardFlexion, Side: rom.Left, Position: rom.Seated}); !errors.Is(err, ErrNoGravity) {
		t.Errorf("no gravity: got %v", err)
	}
}

// Sensors with an offset of one degree and noise of their own: the true
// angle lies inside 1.96 standard errors in at least 95 of 100.
func TestTiltCoverage(t *testing.T) {
	const n = 5000
	r := rand.New(rand.NewPCG(9, 10))
	off := func(v vec) vec {
		return v.turn(vec{r.NormFloat64(), r.NormFloat64(), r.NormFloat64()}.unit(), r.NormFloat64()*math.Sqrt(1.5))
	}
	inside := 0
	for range n {
		theta, lean, noise := r.Float64()*175, r.NormFloat64()*15, .02+.1*r.Float64()
		trunk, err := Still(samples(off(vec{0, -1, 0}.turn(vec{0, 0, 1}, lean)), noise, r))
		if err != nil {
			t.Fatal(err)
		}
		arm, err := Still(samples(off(vec{0, -1, 0}.turn(vec{0, 0, 1}, lean+theta)), noise, r))
		if err != nil {
			t.Fatal(err)
		}
		m, err := MeasureTilt(Laid{Motion: rom.ForwardFlexion, Side: rom.Left, Position: rom.Standing, Arm: arm, Trunk: &trunk})
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(m.Angle.Float()-theta) <= 1.96*m.SE.Float() {
			inside++
		}
	}
	if rate := float64(inside) / n; rate < .95 {
		t.Errorf("%.2f %% inside", 100*rate)
	}
}

func FuzzMeasureTilt(f *testing.F) {
	f.Add(uint8(0), uint8(1), 0.0, -9.8, 0.0, 9.8, 0.0, 0.0, true)
	f.Add(uint8(3), uint8(0), 0.0, 9.8, 0.0, 0.0, 0.0, 9.8, false)
	f.Add(uint8(4), uint8(2), math.NaN(), math.Inf(1), 0.0, 1e308, 0.0, 9.8, false)
	f.Fuzz(func(t *testing.T, motion, position uint8, ax, ay, az, tx, ty, tz float64, turned bool) {
		const copies = 12
		var a, b []Sample
		for range copies {
			a, b = append(a, Sample{ax, ay, az}), append(b, Sample{tx, ty, tz})
		}
		l := Laid{Side: rom.Left, Turned: turned, Motion: rom.Motions[int(motion)%len(rom.Motions)],
			Position: []rom.Position{rom.Supine, rom.Seated, rom.Standing, rom.Prone, rom.SideLying}[position%5]}
		var err error
		if l.Arm, err = Still(a); err != nil {
			return
		}
		if g, err := Still(b); err == nil {
			l.Trunk = &g
		}
		m, err := MeasureTilt(l)
		if err != nil {
			if !errors.Is(err, ErrNoWay) && !errors.Is(err, ErrTrunk) && !errors.Is(err, ErrVague) && !errors.Is(err, ErrImplausible) {
				t.Fatalf("untyped error %v", err)
			}
			return
		}
		if m.Angle > l.Motion.AnatomicalMax() || m.Angle < rom.Deg(-60) || m.SE <= 0 || m.SE > rom.Deg(mostSE) {
			t.Fatalf("got %+v", m)
		}
	})
}

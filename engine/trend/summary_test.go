package trend

import (
	"math"
	"math/rand"
	"testing"

	"unsling/engine/rom"
)

// Whole-arm and glenohumeral values, ER at 20 and at the side, both arms and
// both classes are never pooled.
func TestSeriesAreNeverPooled(t *testing.T) {
	c := newCourse().own(rom.ERSide, 20, 30, 22, 32).own(rom.ER20, 20, 60)
	c.add(21, rom.Reading{Motion: rom.ERSide, Angle: rom.Deg(5), Glenohumeral: true})
	c.add(21, rom.Reading{Motion: rom.ERSide, Angle: rom.Deg(9), Class: rom.Active})
	c.add(21, rom.Reading{Motion: rom.ERSide, Angle: rom.Deg(77), Side: rom.Left})
	c.add(21, rom.Reading{Motion: rom.ERSide, Angle: rom.Deg(88), Anaesthetic: true})
	c.add(21, rom.Reading{Motion: rom.ERSide, Angle: rom.Deg(88), Method: rom.Eye})
	series := Collect(c.h, "e1", surgery.Add(30))
	if len(series) != 5 {
		t.Fatalf("%d series, want 5: %+v", len(series), series)
	}
	for i, want := range []struct {
		k Key
		n int
	}{
		{Key{rom.Right, rom.ERSide, rom.Passive, false}, 2}, {Key{rom.Right, rom.ERSide, rom.Passive, true}, 1},
		{Key{rom.Right, rom.ERSide, rom.Active, false}, 1}, {Key{rom.Right, rom.ER20, rom.Passive, false}, 1},
		{Key{rom.Left, rom.ERSide, rom.Passive, false}, 1},
	} {
		if series[i].Key != want.k || len(series[i].Readings) != want.n {
			t.Errorf("series %d is %+v with %d readings, want %+v with %d", i, series[i].Key, len(series[i].Readings), want.k, want.n)
		}
	}
}

// One slip among good readings moves the level by less than a degree; two
// that agree are a change of the joint.
func TestOneWildReadingIsSetAside(t *testing.T) {
	good := []float64{30, 80, 33, 83, 36, 85, 40, 90, 43, 92, 47, 97, 50, 100, 54, 104}
	calm := newCourse().own(rom.ForwardFlexion, good...).summary(60, rom.ForwardFlexion)
	wild := newCourse().own(rom.ForwardFlexion, append([]float64{45, 20}, good...)...).summary(60, rom.ForwardFlexion)
	if len(wild.SetAside) != 1 || wild.SetAside[0].Angle != rom.Deg(20) {
		t.Fatalf("set aside %+v, want the 20 of day 45", wild.SetAside)
	}
	if d := wild.Now.Mid - calm.Now.Mid; d < -10 || d > 10 {
		t.Errorf("the wild reading moved the level from %s to %s", calm.Now.Mid, wild.Now.Mid)
	}
	last := newCourse().own(rom.ForwardFlexion, append(good, 57, 45)...).summary(60, rom.ForwardFlexion)
	if len(last.SetAside) != 1 || last.Last != surgery.Add(54) {
		t.Errorf("a wild newest reading waits for a second one: %+v", last.SetAside)
	}
	again := newCourse().own(rom.ForwardFlexion, append(good, 57, 45, 59, 48)...).summary(60, rom.ForwardFlexion)
	if len(again.SetAside) != 0 || len(again.Jumps) != 1 || again.Now.Mid > rom.Deg(60) {
		t.Errorf("two readings that agree: level %s, set aside %d, jumps %v; want a jump", again.Now.Mid, len(again.SetAside), again.Jumps)
	}
}

// Readings of one day by one person share their set-up and count once
// (the MDC is not divided by the root of k within one sitting).
func TestReadingsOfOneDayCountOnce(t *testing.T) {
	one := newCourse().own(rom.ForwardFlexion, 30, 90, 37, 96, 44, 101).summary(50, rom.ForwardFlexion)
	many := newCourse().own(rom.ForwardFlexion, 30, 90, 37, 96, 44, 101)
	for range 200 {
		many.own(rom.ForwardFlexion, 44, 101)
	}
	got := many.summary(50, rom.ForwardFlexion)
	if got.Now != one.Now || got.Readings != 203 || got.Days != 3 {
		t.Errorf("two hundred readings of one day changed %v into %v", one.Now, got.Now)
	}
}

// The table of default errors: MDC95 11.1 for one clinician, 19.4 for several
// and for the patient (PMC6558857 Table 1 formula; SEM 4 and 7 are derived).
func TestChangeAgainstMDC(t *testing.T) {
	for _, x := range []struct {
		name   string
		who    [2]rom.StaffID
		m      rom.Motion
		from   float64
		to     float64
		mdc    rom.Degrees
		real   bool
		method rom.Method
	}{
		{"one clinician, at the MDC", [2]rom.StaffID{"t1", "t1"}, rom.ForwardFlexion, 100, 111.1, 111, true, rom.Goniometer},
		{"one clinician, below", [2]rom.StaffID{"t1", "t1"}, rom.ForwardFlexion, 100, 111, 111, false, rom.Goniometer},
		{"two clinicians", [2]rom.StaffID{"t1", "t2"}, rom.ForwardFlexion, 100, 119.4, 194, false, rom.Goniometer},
		{"two clinicians, above", [2]rom.StaffID{"t1", "t2"}, rom.ForwardFlexion, 100, 119.5, 194, true, rom.Goniometer},
		{"own, loss", [2]rom.StaffID{"", ""}, rom.ForwardFlexion, 120, 100.5, 194, true, rom.Photo},
		{"own, below", [2]rom.StaffID{"", ""}, rom.ForwardFlexion, 120, 101, 194, false, rom.Photo},
		{"internal rotation at 90, one clinician", [2]rom.StaffID{"t1", "t1"}, rom.IR90, 40, 59, 194, false, rom.Goniometer},
	} {
		c := newCourse()
		for i, v := range []float64{x.from, x.to} {
			a, _ := rom.FromFloat(v)
			c.add(100+28*i, rom.Reading{Motion: x.m, By: x.who[i], Angle: a, Method: x.method})
		}
		got := c.summary(130, x.m).Since
		if !got.Known || got.MDC != x.mdc || got.Real != x.real {
			t.Errorf("%s: %+v, want MDC %s and real %v", x.name, got, x.mdc, x.real)
		}
	}
}

// A constant bias of own readings is found and taken out of the level.
func TestBiasBetweenOwnAndClinic(t *testing.T) {
	c := newCourse()
	for d := 20.0; d < 120; d += 5 {
		truth := 60 + d*0.6
		c.own(rom.ForwardFlexion, d, truth+9)
		if int(d)%20 == 0 {
			c.by("t1", rom.Right, rom.ForwardFlexion, d, truth)
		}
	}
	s := c.summary(120, rom.ForwardFlexion)
	if !s.BiasKnown || s.Bias.Mid < rom.Deg(8) || s.Bias.Mid > rom.Deg(10) || s.OwnScale {
		t.Errorf("bias %+v, want about 9", s.Bias)
	}
	if want := rom.Degrees(1290); s.Now.Mid < want-15 || s.Now.Mid > want+15 {
		t.Errorf("level %s, want about %s on the clinic's scale", s.Now.Mid, want)
	}
}

// simulated recovery: fast at first, slower later, as in HA2021 Table 3.
func truthOn(day, start, end, half float64) float64 {
	return end - (end-start)*half/(half+day)
}

// The 95 % interval of the level holds the truth at about its stated rate,
// and so does that of the rate.
func TestIntervalsCover(t *testing.T) {
	r := rand.New(rand.NewSource(20260302))
	level, rate, n := 0, 0, 0
	for range 400 {
		start, end, half := 40+20*r.Float64(), 140+30*r.Float64(), 30+40*r.Float64()
		c := newCourse()
		day := 14
		for day < 150 {
			c.own(rom.ForwardFlexion, float64(day), max(truthOn(float64(day), start, end, half)+7*r.NormFloat64(), -59))
			day += 2 + r.Intn(6)
		}
		s := c.summary(160, rom.ForwardFlexion)
		if !s.Known || !s.RateKnown {
			t.Fatal("nothing known")
		}
		d := float64(s.Last.Sub(surgery))
		truth, slope := truthOn(d, start, end, half), 7*(truthOn(d+.5, start, end, half)-truthOn(d-.5, start, end, half))
		n++
		if truth >= s.Now.Low.Float() && truth <= s.Now.High.Float() {
			level++
		}
		if slope >= s.PerWeek.Low.Float() && slope <= s.PerWeek.High.Float() {
			rate++
		}
	}
	if p := 100 * level / n; p < 91 || p > 99 {
		t.Errorf("the level's interval held the truth in %d %% of %d courses, want about 95", p, n)
	}
	if p := 100 * rate / n; p < 91 {
		t.Errorf("the rate's interval held the truth in %d %% of %d courses, want 95 or more", p, n)
	}
}

// Forecasts of an 80 % range hold the day at which the truth got there in
// most courses, and say "not on this course" of a joint that does not move.
func TestForecast(t *testing.T) {
	r := rand.New(rand.NewSource(7))
	within, open, n := 0, 0, 0
	for range 300 {
		start, end, half := 40+20*r.Float64(), 160+20*r.Float64(), 40+30*r.Float64()
		c := newCourse()
		for day := 14; day <= 56; day += 3 {
			c.own(rom.ForwardFlexion, float64(day), truthOn(float64(day), start, end, half)+7*r.NormFloat64())
		}
		target := rom.Deg(120)
		f := c.summary(56, rom.ForwardFlexion).Reach(target)
		arrives := rom.Date(0)
		for d := 56; d < 300; d++ {
			if truthOn(float64(d), start, end, half) >= 120 {
				arrives = surgery.Add(d)
				break
			}
		}
		if f.Kind == Reached || arrives == 0 {
			continue
		}
		n++
		switch f.Kind {
		case ReachBetween:
			if arrives >= f.Early && arrives <= f.Late {
				within++
			}
		case ReachOpen:
			if arrives >= f.Early {
				open++
			}
		}
	}
	if n < 100 || 100*(within+open)/n < 75 {
		t.Errorf("%d of %d forecasts were right (%d ranges, %d 'not before')", within+open, n, within, open)
	}
	flat := newCourse()
	for day := 20.0; day < 80; day += 4 {
		flat.own(rom.ForwardFlexion, day, 90+math.Mod(day, 3))
	}
	if f := flat.summary(80, rom.ForwardFlexion).Reach(rom.Deg(150)); f.Kind != OffCourse {
		t.Errorf("a joint that does not move: %+v", f)
	}
	if f := flat.summary(180, rom.ForwardFlexion).Reach(rom.Deg(150)); f.Kind != ReachUnknown {
		t.Errorf("an old level: %+v", f)
	}
	if f := flat.summary(80, rom.ForwardFlexion).Reach(rom.Deg(80)); f.Kind != Reached {
		t.Errorf("a target behind: %+v", f)
	}
}

// HA2021 Table 3: the control group gains 21.7 degrees in months 3 to 6, about
// five in three weeks. A course like that is no plateau; a joint that stands
// still at 100 is.
func TestPlateauIsNotOrdinaryRecovery(t *testing.T) {
	r := rand.New(rand.NewSource(3))
	ordinary, still := 0, 0
	for range 200 {
		a, b := newCourse(), newCourse()
		for day := 92; day <= 176; day += 3 {
			m, _ := published(rom.ForwardFlexion, day)
			a.own(rom.ForwardFlexion, float64(day), m.mean+7*r.NormFloat64())
			b.own(rom.ForwardFlexion, float64(day), 100+7*r.NormFloat64())
		}
		pa, pb := a.summary(176, rom.ForwardFlexion).Plateau, b.summary(176, rom.ForwardFlexion).Plateau
		if !pa.Known || !pb.Known {
			t.Fatalf("cannot say: %s", pa.Why)
		}
		if pa.Holds {
			ordinary++
		}
		if pb.Holds {
			still++
		}
	}
	if ordinary > 12 || still < 150 {
		t.Errorf("plateau on %d of 200 ordinary courses and %d of 200 that stand still", ordinary, still)
	}
}

// HA2021 Table 3 itself, at its three times, and half way.
func TestExpectation(t *testing.T) {
	e := newCourse().h.Episodes[0].Body
	ff, er := Key{Motion: rom.ForwardFlexion, Class: rom.Passive}, Key{Motion: rom.ERSide, Class: rom.Passive}
	for _, x := range []struct {
		k        Key
		day      int
		mean, sd rom.Degrees
	}{{ff, 91, 1389, 240}, {ff, 183, 1606, 100}, {ff, 731, 1639, 81}, {er, 91, 510, 108}, {er, 183, 597, 78}, {ff, 137, 1498, 170}} {
		got := Expect(e, x.k, x.day)
		if !got.ByMean || got.Mean != x.mean || got.SD != x.sd || got.Source.Key != "HA2021" {
			t.Errorf("%s day %d: %+v, want %s (%s)", x.k.Motion, x.day, got, x.mean, x.sd)
		}
	}
	if z, ok := Expect(e, ff, 91).Z(1149); !ok || z != -10 {
		t.Errorf("z of 114.9 at month 3 is %d tenths, want -10", z)
	}
	// Before month 3 there is no z; the staged goals are from memory.
	early := Expect(e, ff, 42)
	if _, ok := early.Z(900); ok || early.Source.Mark != rom.Memory || early.Low != rom.Deg(90) || early.High != rom.Deg(120) {
		t.Errorf("week 6: %+v, want the staged goal 90 to 120, memory, without z", early)
	}
	if got := Expect(e, er, 42); got.Known {
		t.Errorf("ER at the side has no staged goal: %+v", got)
	}
	release := newCourse(rom.CapsularRelease).h.Episodes[0].Body
	if got := Expect(release, ff, 100); got.Known {
		t.Errorf("nothing is published after a release: %+v", got)
	}
}

// A clinic's own errors: one clinician's replaces the default of 4, the
// patient's can only raise that of 7.
func TestOptions(t *testing.T) {
	c := newCourse().own(rom.ForwardFlexion, 100, 100, 128, 122).by("t1", rom.Right, rom.ERSide, 100, 30, 128, 44)
	mdc := func(m rom.Motion, o Options) rom.Degrees {
		x, _ := At(c.h, "e1", surgery.Add(130), o)
		return x.Summary(x.Passive(m)).Since.MDC
	}
	for _, x := range []struct {
		m    rom.Motion
		o    Options
		want rom.Degrees
	}{
		{rom.ForwardFlexion, Options{}, 194}, {rom.ForwardFlexion, Options{SelfSEM: rom.Deg(9)}, 249}, {rom.ForwardFlexion, Options{SelfSEM: rom.Deg(3)}, 194},
		{rom.ERSide, Options{}, 111}, {rom.ERSide, Options{ClinicSEM: rom.Deg(6)}, 166}, {rom.ERSide, Options{SelfSEM: rom.Deg(9)}, 111},
	} {
		if got := mdc(x.m, x.o); got != x.want {
			t.Errorf("%s with %+v: MDC %s, want %s", x.m, x.o, got, x.want)
		}
	}
}

// The slow end of a forecast halves its rate every five weeks.
func TestEased(t *testing.T) {
	for h, want := range map[int]float64{0: 0, 35: 35, 70: 52.5, 105: 61.25} {
		if got := eased(h); got != want {
			t.Errorf("%d days are worth %v, want %v", h, got, want)
		}
	}
}

// A patient whose readings agree badly with the clinic's gets wider intervals
// and a greater MDC; one who agrees well keeps the default.
func TestAgreementWidens(t *testing.T) {
	width := func(off float64) (rom.Degrees, rom.Degrees) {
		c := newCourse()
		for i := range 8 {
			day := 60 + 7*float64(i)
			sign := float64(i%2*2 - 1)
			c.own(rom.ForwardFlexion, day, 120+sign*off).by("t1", rom.Right, rom.ForwardFlexion, day, 120)
		}
		for day := 116.0; day < 130; day += 3 {
			c.own(rom.ForwardFlexion, day, 120)
		}
		s := c.summary(130, rom.ForwardFlexion)
		return s.Now.High - s.Now.Low, s.Since.MDC
	}
	good, mdcGood := width(3)
	bad, mdcBad := width(18)
	if mdcGood != 194 || mdcBad < rom.Deg(45) || bad <= good {
		t.Errorf("good agreement: width %s, MDC %s; bad: width %s, MDC %s", good, mdcGood, bad, mdcBad)
	}
}

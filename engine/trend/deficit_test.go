package trend

import (
	"math/rand"
	"strings"
	"testing"

	"unsling/engine/rom"
)

// The other arm first, where marked usable; else before surgery; else a norm
// for the age with its caveat; else nothing.
func TestDeficitReferences(t *testing.T) {
	c := newCourse().by("t1", rom.Right, rom.ForwardFlexion, -5, 150, 90, 120)
	d := c.at(95).Deficit(rom.ForwardFlexion)
	if d.Against != ByBaseline || d.Missing != rom.Deg(30) || d.Caveat == "" {
		t.Errorf("without the other arm: %+v", d)
	}
	c.by("t1", rom.Left, rom.ForwardFlexion, 90, 168)
	d = c.at(95).Deficit(rom.ForwardFlexion)
	if d.Against != ByOtherArm || d.Missing != rom.Deg(48) || d.MDC != 111 || !d.Real || d.Share() != 714 {
		t.Errorf("with the other arm: %+v", d)
	}
	c.h.Episodes[0].Body.OtherArm = nil
	if d = c.at(95).Deficit(rom.ForwardFlexion); d.Against != ByBaseline {
		t.Errorf("an arm that staff did not mark usable was used: %+v", d)
	}
	// SOUCIE2011 (memory), 45 to 69 years, passive flexion 168.1 and 164.0.
	d = newCourse().by("t1", rom.Right, rom.ForwardFlexion, 90, 120).at(95).Deficit(rom.ForwardFlexion)
	if d.Against != ByNorm || d.Reference != 1661 || d.Source.Mark != rom.Memory || !strings.Contains(d.Caveat, "memory") {
		t.Errorf("norm: %+v", d)
	}
	// No norm of external rotation at the side for a sixty-year-old.
	if d = newCourse().by("t1", rom.Right, rom.ERSide, 90, 40).at(95).Deficit(rom.ERSide); d.Known() {
		t.Errorf("a norm of students was used: %+v", d)
	}
	// Walker, 65 to 85 years, NORKIN2016 Appendix A: abduction 165, ER at 90 81.
	old := newCourse().by("t1", rom.Right, rom.ER90, 90, 60)
	old.h.Episodes[0].Body.BornYear = 1950
	if d = old.at(95).Deficit(rom.ER90); d.Reference != rom.Deg(81) || d.Missing != rom.Deg(21) {
		t.Errorf("norm at 76 years: %+v", d)
	}
	hbb := newCourse().by("t1", rom.Right, rom.HandBehindBack, 90, 15).by("t1", rom.Left, rom.HandBehindBack, 90, 8)
	if d = hbb.at(95).Deficit(rom.HandBehindBack); d.LevelMissing != 7 || !d.Real {
		t.Errorf("L3 against T8: %+v", d)
	}
}

// Rotation that may not go farther does not lag.
func TestPatternIsCappedByTheLimit(t *testing.T) {
	c := newCourse().by("t1", rom.Right, rom.ForwardFlexion, 60, 150).by("t1", rom.Left, rom.ForwardFlexion, 60, 165).
		by("t1", rom.Right, rom.ERSide, 60, 28).by("t1", rom.Left, rom.ERSide, 60, 62)
	if p := c.at(65).Pattern(nil); !p.Known || !p.Lags {
		t.Errorf("28 of 62 with good elevation: %+v", p)
	}
	limit := rom.Deg(30)
	if p := c.at(65).Pattern(&limit); p.Lags || p.CappedAt == nil {
		t.Errorf("28 under a limit of 30: %+v", p)
	}
	c.by("t1", rom.Right, rom.ForwardFlexion, 62, 100, 64, 101)
	if p := c.at(65).Pattern(nil); p.Lags {
		t.Errorf("elevation lags as well: %+v", p)
	}
}

// Bland and Altman 1986, Lancet 1:307-10, Table 1: PEFR of 17 people by the
// Wright and the mini Wright meter, first readings. Printed there: mean
// difference -2.1, SD 38.8, confidence of the mean -22.0 to 17.8, of the
// lower limit -114.3 to -45.1 and the upper 40.9 to 110.1 (half width 34.6).
// The paper multiplies by 2 for its limits, this package by 1.96.
func TestBlandAltmanWorkedExample(t *testing.T) {
	wright := []float64{494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427}
	mini := []float64{512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451}
	d := make([]float64, len(wright))
	for i := range d {
		d[i] = wright[i] - mini[i]
	}
	b, ok := blandAltman(d)
	if !ok {
		t.Fatal("cannot say")
	}
	for _, x := range []struct {
		what      string
		got, want float64
	}{
		{"mean", b.mean, -2.1}, {"sd", b.sd, 38.8}, {"t", b.t, 2.12},
		{"mean from", b.mean - b.t*b.seMean, -22.0}, {"mean to", b.mean + b.t*b.seMean, 17.8},
		{"limit half width", b.t * b.seLimit, 34.6},
	} {
		if !near(x.got, x.want, 0) && (x.got-x.want > 0.1 || x.want-x.got > 0.1) {
			t.Errorf("%s is %.2f, printed %.1f", x.what, x.got, x.want)
		}
	}
	if _, ok := blandAltman(d[:2]); ok {
		t.Error("two pairs are too few")
	}
}

// Points of t from the printed tables (two-sided 95 %): 31 degrees of freedom
// 2.040, 60 2.000, 120 1.980.
func TestStudent(t *testing.T) {
	for df, want := range map[int]float64{1: 12.706, 16: 2.120, 30: 2.042, 31: 2.040, 60: 2.000, 120: 1.980} {
		if got := student(df); got-want > 0.0006 || want-got > 0.0006 {
			t.Errorf("t of %d degrees of freedom is %.4f, printed %.3f", df, got, want)
		}
	}
}

func TestPairsOfOwnAndClinic(t *testing.T) {
	c := newCourse().own(rom.ForwardFlexion, 20, 80, 21, 82, 30, 95, 40, 100, 41, 104, 50, 111).
		by("t1", rom.Right, rom.ForwardFlexion, 21, 75, 29, 85, 42, 96, 60, 120)
	s, _ := Find(c.at(70).Series, c.at(70).Passive(rom.ForwardFlexion))
	got := s.Pairs(surgery.Add(70), Options{})
	if len(got) != 3 || got[0].Own != rom.Deg(82) || got[1].Own != rom.Deg(95) || got[2].Own != rom.Deg(104) {
		t.Fatalf("pairs %+v", got)
	}
	a := Agree(got)
	if !a.Known || a.Bias.Mid != 83 {
		t.Errorf("own less clinic 7, 10, 8: %+v", a.Bias)
	}
}

// CONSTANT1987, bands from a second text; RICHARDS1994 arithmetic.
func TestScores(t *testing.T) {
	for d, want := range map[rom.Degrees]int{0: 0, 300: 0, 304: 0, 305: 2, 310: 2, 600: 2, 610: 4, 900: 4, 910: 6, 1200: 6, 1210: 8, 1500: 8, 1510: 10, 1800: 10} {
		if got, err := ConstantElevation(d); got != want || err != nil {
			t.Errorf("elevation %s earns %d, want %d (%v)", d, got, want, err)
		}
	}
	if _, err := ConstantElevation(-10); err == nil {
		t.Error("a negative elevation earned points")
	}
	for l, want := range map[rom.Level]int{20: 0, 19: 2, 18: 4, 17: 4, 16: 4, 15: 6, 13: 6, 12: 8, 8: 8, 7: 10, 1: 10} {
		if got, err := ConstantInternal(l); got != want || err != nil {
			t.Errorf("level %d earns %d, want %d", l, got, want)
		}
	}
	r := func(m rom.Motion, a int, by rom.StaffID, c rom.Class) rom.Reading {
		return rom.Reading{Motion: m, Angle: rom.Deg(a), By: by, Class: c}
	}
	full := ConstantMotion{r(rom.ForwardFlexion, 175, "t1", rom.Active), r(rom.Abduction, 170, "t1", rom.Active), [5]bool{true, true, true, true, true}, 5}
	if got, err := full.Points(); got != 40 || err != nil {
		t.Errorf("full motion earns %d of 40 (%v)", got, err)
	}
	own := full
	own.Forward.By = ""
	passive := full
	passive.Lateral.Class = rom.Passive
	for _, x := range []ConstantMotion{own, passive} {
		if _, err := x.Points(); err == nil {
			t.Error("home or passive data filled the score")
		}
	}
	threes := func(n int) (out [10]int) {
		for i := 0; n > 0; i++ {
			out[i] = min(n, 3)
			n -= out[i]
		}
		return out
	}
	for _, x := range []struct{ pain, sum, want int }{{0, 30, 1000}, {10, 0, 0}, {3, 21, 700}, {5, 15, 500}, {0, 1, 517}} {
		if got, err := ASES(x.pain, threes(x.sum)); got != x.want || err != nil {
			t.Errorf("ASES of pain %d and sum %d is %d tenths, want %d", x.pain, x.sum, got, x.want)
		}
	}
}

// A loss is one that means show beyond MDC95 (19.4 for own readings); half of
// it back ends it.
func TestLoss(t *testing.T) {
	loss := func(c *course) Loss { x := c.at(110); return x.LossOf(x.Passive(rom.ForwardFlexion), false) }
	c := newCourse().own(rom.ForwardFlexion, 50, 119, 54, 120, 58, 121, 62, 120, 66, 120)
	c.own(rom.ForwardFlexion, 70, 102, 74, 101, 78, 101)
	if l := loss(c); l.Lost || l.Before != rom.Deg(120) || l.MDC != 194 {
		t.Errorf("18.7 lost: %+v", l)
	}
	c.own(rom.ForwardFlexion, 81, 99)
	if l := loss(c); !l.Lost || l.Since != surgery.Add(81) {
		t.Errorf("19.7 below: %+v", l)
	}
	c.own(rom.ForwardFlexion, 84, 106, 87, 108)
	if l := loss(c); !l.Lost {
		t.Errorf("less than half came back: %+v", l)
	}
	c.own(rom.ForwardFlexion, 90, 120)
	if l := loss(c); l.Lost {
		t.Errorf("half came back: %+v", l)
	}
	// One clinician: 11.1 below each of the two before.
	for last, want := range map[float64]bool{109: false, 108.8: true} {
		c := newCourse().by("t1", rom.Right, rom.ForwardFlexion, 60, 122, 80, 120, 100, last)
		if l := loss(c); l.Lost != want || l.Own || l.MDC != 111 {
			t.Errorf("120 to %v at the clinic: %+v", last, l)
		}
	}
	// Own readings on all days that stay up refute one low clinic reading.
	c = newCourse().by("t1", rom.Right, rom.ForwardFlexion, 60, 122, 80, 120, 100, 106)
	for d := 60.0; d <= 108; d += 3 {
		c.own(rom.ForwardFlexion, d, 121)
	}
	if l := loss(c); l.Lost {
		t.Errorf("refuted by the own readings: %+v", l)
	}
}

// Absurd histories: no panic, nothing that is no number, and an answer.
func TestAbsurdHistories(t *testing.T) {
	r := rand.New(rand.NewSource(11))
	empty := rom.History{}
	if _, ok := At(empty, "e1", surgery, Options{}); ok || Collect(empty, "e1", surgery) != nil {
		t.Error("an empty history has a course")
	}
	for range 60 {
		c := newCourse(rom.Procedures[r.Intn(len(rom.Procedures))])
		for range r.Intn(300) {
			rd := rom.Reading{
				Motion: rom.Motions[r.Intn(len(rom.Motions))], Angle: rom.Degrees(r.Intn(2600) - 600), SE: rom.Degrees(r.Intn(900)),
				Level: rom.Level(r.Intn(21)), Class: rom.Class(1 + r.Intn(3)), Baseline: r.Intn(9) == 0,
				On: rom.Date(r.Intn(3) * r.Intn(60000)),
			}
			if r.Intn(2) == 0 {
				rd.By, rd.Side = "t1", rom.Left
			}
			c.add(r.Intn(900)-300, rd)
		}
		x := c.at(r.Intn(800) - 100)
		for _, s := range x.Series {
			sum := x.Summary(s.Key)
			if sum.Known && (sum.Now.Low > sum.Now.Mid || sum.Now.High < sum.Now.Mid) {
				t.Fatalf("level %+v", sum.Now)
			}
			sum.Reach(rom.Deg(r.Intn(200)))
			x.LossOf(s.Key, r.Intn(2) == 0)
			x.Deficit(s.Key.Motion)
			Agree(s.Pairs(x.Day, Options{}))
		}
		x.Stiffness()
		x.Pattern(nil)
		x.TotalDeficit(false)
	}
	many := newCourse()
	for i := range 10_000 {
		many.add(30, rom.Reading{Motion: rom.ForwardFlexion, Angle: rom.Deg(i % 150)})
	}
	if s := many.summary(40, rom.ForwardFlexion); s.Readings != 10_000 || s.Days != 1 {
		t.Errorf("ten thousand readings of a day: %d on %d days", s.Readings, s.Days)
	}
}

func BenchmarkYear(b *testing.B) {
	c := newCourse()
	r := rand.New(rand.NewSource(1))
	for _, m := range []rom.Motion{rom.ForwardFlexion, rom.ERSide, rom.Abduction} {
		for d := 14.0; d < 365; d++ {
			c.own(m, d, 60+d*0.2+7*r.NormFloat64())
		}
	}
	day := surgery.Add(365)
	for b.Loop() {
		x, _ := At(c.h, "e1", day, Options{})
		for _, s := range x.Series {
			x.Summary(s.Key)
		}
		x.Stiffness()
	}
}

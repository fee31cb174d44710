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

// Yaw table, derived by orthographic projection and checked by hand: how much
// an angle from the vertical changes when the arm is out of plane by psi.
func TestYawTable(t *testing.T) {
	psi := []float64{5, 10, 15, 20, 30}
	for theta, row := range map[float64][]float64{
		30: {-0.09, -0.38, -0.85, -1.52, -3.43},
		45: {-0.11, -0.44, -0.99, -1.78, -4.11},
		60: {-0.09, -0.38, -0.87, -1.57, -3.69},
		90: {0, 0, 0, 0, 0},
	} {
		for i, want := range row {
			near(t, "yaw", yawError(theta, psi[i]), want, .005)
			near(t, "yaw mirrored", yawError(180-theta, psi[i]), -want, .005)
			near(t, "pitch is minus yaw of the complement", pitchError(90-theta, psi[i]), -want, .005)
		}
	}
	near(t, "pitch", pitchError(30, 30), 3.69, .005)
	near(t, "pitch", pitchError(60, 30), 3.43, .005)
	near(t, "pitch", pitchError(120, 30), -3.43, .005)
}

// The bound holds for every direction of tilt: projected here by hand.
func TestSkewErrorIsTheWorst(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 20000 {
		theta, psi, at := r.Float64()*179, r.Float64()*40, r.Float64()*360
		squeeze := func(a float64) float64 {
			s, c := math.Sincos(rad(a))
			return deg(math.Atan2(s*math.Cos(rad(psi)), c))
		}
		got := math.Abs(math.Abs(wrap(squeeze(at+theta)-squeeze(at))) - theta)
		if got > skewError(theta, psi)+1e-9 {
			t.Fatalf("angle %.1f tilted %.1f: changes by %.3f, bound %.3f", theta, psi, got, skewError(theta, psi))
		}
	}
	// A view from above that is level may still be turned by a hand's yaw, and
	// tilts in two directions add up as right angles do.
	turn := photoRules[rom.ERSide]
	near(t, "yaw counts", planeSE(turn, 60, 0, 12), skewError(60, 12), 1e-9)
	near(t, "pitch counts", planeSE(turn, 60, 16, 12), skewError(60, 20), 1e-9)
	near(t, "bound is reached at the bisector", skewError(90, 15), 2.0, .02)
}

// One line of L with an error of e = 10 at each end turns by sqrt(2)*e/L.
func TestClickTable(t *testing.T) {
	for l, want := range map[int]float64{150: 5.40, 300: 2.70, 600: 1.35} {
		p := Picture{Marks: []rom.Point{{}, {X: l}, {}, {X: l}}}
		rule := photoRule{ref: [2]int{0, 1}, mov: [2]int{2, 3}}
		ref, _ := line(p.Marks, rule.ref)
		mov, _ := line(p.Marks, rule.mov)
		// Two independent lines: sqrt(2) times one.
		near(t, "click", p.clickSE(rule, ref, mov)/math.Sqrt2, want, .005)
	}
}

// angles gives what to try for a motion.
func angles(m rom.Motion) []float64 {
	switch m {
	case rom.ElbowExtension:
		return []float64{-45, -20, -3}
	case rom.ERSide, rom.ER20, rom.ER90, rom.IRSide, rom.IR90, rom.ForearmRotation:
		return []float64{-20, -5, 0, 17, 45, 80, 88}
	case rom.CrossBody:
		return []float64{2, 45, 90, 120, 140}
	case rom.ElbowFlexion, rom.Extension:
		return []float64{2, 20, 45, 80, 95}
	}
	return []float64{2, 30, 60, 92, 120, 150, 175}
}

// Every way of every motion, either arm, any roll, mirrored or not, gives the
// angle that the body was posed at. 1.2 allows for whole marks and, at 2.5 m,
// for lines that lie at unequal depths.
func TestEveryWayMeasuresThePose(t *testing.T) {
	ways, motions := photoWays()
	if len(ways) < 20 {
		t.Fatalf("found %d ways", len(ways))
	}
	for i, w := range ways {
		m := motions[i]
		for _, theta := range angles(m) {
			for _, side := range []rom.Side{rom.Left, rom.Right} {
				for _, roll := range []float64{0, 33, 90, 180} {
					marks := body(m, side, theta)
					target := centre(w, marks)
					cam := aim(w.View, m, side, target, 2.5).orbit(target, 0, 0, roll)
					up := worldUp(w.Position)
					held := cam.gravity(up)
					p := Picture{Motion: m, Side: side, Position: w.Position, View: w.View, Marks: shoot(cam, w, marks, func() float64 { return 0 }), Held: &held}
					got, err := MeasurePhoto(p)
					if err != nil {
						t.Fatalf("%s %s %s at %.0f: %v", m, w.View, side, theta, err)
					}
					near(t, string(m)+" "+string(w.View)+" "+string(side), got.Angle.Float(), theta, 1.2)
					if slices.Contains(got.Warnings, WarnMirrored) || slices.Contains(got.Warnings, WarnPlane) {
						t.Errorf("%s %s %s at %.0f roll %.0f: warns %v", m, w.View, side, theta, roll, got.Warnings)
					}
					for j := range p.Marks {
						p.Marks[j].X = 1000 - p.Marks[j].X
					}
					p.Mirrored = true
					again, err := MeasurePhoto(p)
					if err != nil || again.Angle != got.Angle || again.SE != got.SE {
						t.Errorf("%s %s: mirrored %v %v, plain %v", m, w.View, again, err, got)
					}
				}
			}
		}
	}
}

// The same picture claimed for the other arm is noticed wherever geometry can.
func TestWrongSideIsNoticed(t *testing.T) {
	for _, m := range []rom.Motion{rom.ForwardFlexion, rom.Abduction, rom.ERSide, rom.IRSide, rom.ElbowFlexion} {
		w := GuideFor(m).Ways[len(GuideFor(m).Ways)-1]
		for _, x := range GuideFor(m).Ways {
			if x.Method == rom.Photo {
				w = x
			}
		}
		marks := body(m, rom.Right, 40)
		target := centre(w, marks)
		p := Picture{Motion: m, Side: rom.Left, Position: w.Position, View: w.View,
			Marks: shoot(aim(w.View, m, rom.Right, target, 2.5), w, marks, func() float64 { return 0 })}
		got, err := MeasurePhoto(p)
		if err == nil && !slices.Contains(got.Warnings, WarnMirrored) {
			t.Errorf("%s: the other arm reads %s without a word", m, got.Angle)
		}
		if err != nil && !errors.Is(err, ErrImplausible) {
			t.Errorf("%s: %v", m, err)
		}
	}
}

// TestPinholeCoverage takes 20,000 pictures by hand: a camera 2 to 3 m away,
// turned by a few degrees, rolled, looking up or down, marks that stray by
// 10 thousandths and body points at unequal depths. The true angle must lie
// inside 1.96 standard errors in at least 95 of 100 pictures, and the interval
// must not be so wide that it says nothing.
func TestPinholeCoverage(t *testing.T) {
	const n = 20000
	r := rand.New(rand.NewPCG(20, 26))
	ways, motions := photoWays()
	inside, reading, tried, width := 0, 0, 0, 0.0
	for tried < n {
		i := r.IntN(len(ways))
		w, m := ways[i], motions[i]
		if m == rom.ForearmRotation {
			continue // a pencil 60 thousandths long: see the test of short lines
		}
		span := angles(m)
		theta := span[0] + r.Float64()*(span[len(span)-1]-span[0])
		side := []rom.Side{rom.Left, rom.Right}[r.IntN(2)]
		marks := body(m, side, theta)
		target := centre(w, marks)
		cam := aim(w.View, m, side, target, 2+r.Float64()).orbit(target, r.NormFloat64()*10, r.NormFloat64()*8, r.Float64()*360)
		for _, l := range w.Landmarks {
			marks[l] = marks[l].add(cam.forward.times(r.NormFloat64() * .02))
		}
		held := cam.gravity(worldUp(w.Position))
		p := Picture{Motion: m, Side: side, Position: w.Position, View: w.View, Held: &held,
			Marks: shoot(cam, w, marks, func() float64 { return r.NormFloat64() * DefaultClick })}
		got, err := MeasurePhoto(p)
		if errors.Is(err, ErrMarks) || errors.Is(err, ErrShort) {
			continue // outside of the frame
		}
		tried++
		if err != nil {
			continue // counts as missed
		}
		miss := math.Abs(wrap(got.Angle.Float() - theta))
		width += got.SE.Float() / n
		if miss <= 1.96*got.SE.Float() {
			inside++
		}
		res, err := Combine(m, rom.Photo, Self, []rom.Trial{got.Trial(p.Marks)}, 0)
		if err != nil {
			t.Fatal(err)
		}
		if miss <= 1.96*res.SE.Float() {
			reading++
		}
	}
	t.Logf("trial: %.2f %% inside, mean standard error %.1f; reading: %.2f %%", 100*float64(inside)/n, width, 100*float64(reading)/n)
	if rate := float64(inside) / n; rate < .95 || rate > .985 {
		t.Errorf("%.2f %% of the trials are inside their 95 %% interval", 100*rate)
	}
	if reading < inside {
		t.Error("the floor of a reading narrows it")
	}
}

// Out of plane: told from the phone's own tilt, and from an arm that looks
// shorter than at rest.
func TestOutOfPlane(t *testing.T) {
	w := GuideFor(rom.ForwardFlexion).Ways[1]
	marks := body(rom.ForwardFlexion, rom.Right, 60)
	target := centre(w, marks)
	none := func() float64 { return 0 }
	square := aim(FromSide, rom.ForwardFlexion, rom.Right, target, 2.5)
	shot := func(c camera, other []rom.Point) Measure {
		held := c.gravity(toHead)
		got, err := MeasurePhoto(Picture{Motion: rom.ForwardFlexion, Side: rom.Right, Position: w.Position, Marks: shoot(c, w, marks, none), Held: &held, Other: other, Click: 3})
		if err != nil {
			t.Fatal(err)
		}
		return got
	}
	rest := shoot(square, w, body(rom.ForwardFlexion, rom.Right, 5), none)
	level, down := shot(square, rest), shot(square.orbit(target, 0, -25, 70), rest)
	if slices.Contains(level.Warnings, WarnPlane) || level.OutOfPlane > rom.Deg(3) {
		t.Errorf("a square picture is %s out of plane", level.OutOfPlane)
	}
	near(t, "pitch of the camera", down.OutOfPlane.Float(), 25, 6)
	if !slices.Contains(down.Warnings, WarnPlane) || down.SE <= level.SE {
		t.Errorf("pitch: %+v", down)
	}
	// At 60 of flexion a yaw of 45 shortens the arm to sqrt(1-sin(60)^2*sin(45)^2) = .79.
	yawed := shot(square.orbit(target, 45, 0, 0), rest)
	if !slices.Contains(yawed.Warnings, WarnPlane) || yawed.OutOfPlane < rom.Deg(20) {
		t.Errorf("yaw: %+v", yawed)
	}
}

func TestPhotoRefuses(t *testing.T) {
	good := Picture{Motion: rom.ForwardFlexion, Side: rom.Right, Position: rom.Standing, Marks: []rom.Point{{X: 500, Y: 900}, {X: 500, Y: 500}, {X: 800, Y: 500}}}
	if m, err := MeasurePhoto(good); err != nil || m.Angle != rom.Deg(90) {
		t.Fatalf("got %v %v", m, err)
	}
	with := func(f func(*Picture)) Picture {
		p := good
		p.Marks = slices.Clone(good.Marks)
		f(&p)
		return p
	}
	for name, tc := range map[string]struct {
		p    Picture
		want error
	}{
		"two marks":         {with(func(p *Picture) { p.Marks = p.Marks[:2] }), ErrMarks},
		"outside":           {with(func(p *Picture) { p.Marks[0].X = 1001 }), ErrMarks},
		"far outside":       {with(func(p *Picture) { p.Marks[0].Y = math.MaxInt }), ErrMarks},
		"no side":           {with(func(p *Picture) { p.Side = "" }), ErrMarks},
		"click below 0":     {with(func(p *Picture) { p.Click = -1 }), ErrMarks},
		"other of two":      {with(func(p *Picture) { p.Other = p.Marks[:2] }), ErrMarks},
		"same place":        {with(func(p *Picture) { p.Marks[2] = p.Marks[1] }), ErrShort},
		"hand behind back":  {with(func(p *Picture) { p.Motion = rom.HandBehindBack }), ErrNoWay},
		"no motion":         {with(func(p *Picture) { p.Motion = "" }), ErrNoWay},
		"lying on the side": {with(func(p *Picture) { p.Position = rom.SideLying }), ErrNoWay},
		"from behind":       {with(func(p *Picture) { p.View = FromBehind }), ErrNoWay},
	} {
		if _, err := MeasurePhoto(tc.p); !errors.Is(err, tc.want) {
			t.Errorf("%s: got %v, want %v", name, err, tc.want)
		}
	}
	// Extension of 150 is no joint's.
	bad := with(func(p *Picture) { p.Motion, p.Marks[2] = rom.Extension, rom.Point{X: 300, Y: 200} })
	if _, err := MeasurePhoto(bad); !errors.Is(err, ErrImplausible) {
		t.Errorf("got %v", err)
	}
}

// Turning the picture changes nothing but the rounding of whole marks.
func TestRollCancels(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		theta := rapid.Float64Range(5, 175).Draw(t, "theta")
		roll := rapid.Float64Range(0, 360).Draw(t, "roll")
		at := func(a float64) rom.Point {
			s, c := math.Sincos(rad(a + roll))
			return rom.Point{X: 500 + int(math.Round(300*c)), Y: 500 + int(math.Round(300*s))}
		}
		p := Picture{Motion: rom.ForwardFlexion, Side: rom.Left, Position: rom.Seated, Marks: []rom.Point{at(0), {X: 500, Y: 500}, at(theta)}}
		m, err := MeasurePhoto(p)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(m.Angle.Float()-theta) > .3 {
			t.Fatalf("got %s, want %.1f", m.Angle, theta)
		}
	})
}

func TestClickSpread(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	var sets [][]rom.Point
	for range 200 {
		sets = append(sets, []rom.Point{
			{X: 300 + int(math.Round(r.NormFloat64()*8)), Y: 300 + int(math.Round(r.NormFloat64()*8))},
			{X: 700 + int(math.Round(r.NormFloat64()*8)), Y: 500 + int(math.Round(r.NormFloat64()*8))},
		})
	}
	got, err := ClickSpread(sets)
	if err != nil || got < 8 || got > 9 {
		t.Errorf("got %d, %v", got, err)
	}
	for _, bad := range [][][]rom.Point{nil, sets[:1], {{{X: 1}}, {}}, {{}, {}}} {
		if _, err := ClickSpread(bad); !errors.Is(err, ErrMarks) {
			t.Errorf("got %v", err)
		}
	}
}

func FuzzMeasurePhoto(f *testing.F) {
	f.Add(uint8(0), uint8(0), uint8(0), 500, 900, 500, 500, 800, 500, 0, 0, 10)
	f.Add(uint8(3), uint8(1), uint8(1), 300, 500, 700, 500, 700, 400, 800, 300, 0)
	f.Add(uint8(5), uint8(0), uint8(1), 500, 900, 500, 500, 800, 500, 500, -1, math.MinInt)
	f.Fuzz(func(t *testing.T, motion, way, side uint8, a, b, c, d, e, g, h, i, click int) {
		m := rom.Motions[int(motion)%len(rom.Motions)]
		ways := GuideFor(m).Ways
		w := ways[int(way)%len(ways)]
		p := Picture{Motion: m, Side: []rom.Side{rom.Left, rom.Right}[side%2], Position: w.Position, View: w.View, Click: click, Mirrored: side > 127,
			Marks: []rom.Point{{X: a, Y: b}, {X: c, Y: d}, {X: e, Y: g}, {X: h, Y: i}}[:min(4, max(3, len(w.Landmarks)))]}
		p.Other = p.Marks
		got, err := MeasurePhoto(p)
		if err != nil {
			if !errors.Is(err, ErrMarks) && !errors.Is(err, ErrShort) && !errors.Is(err, ErrVague) && !errors.Is(err, ErrImplausible) && !errors.Is(err, ErrNoWay) {
				t.Fatalf("untyped error %v", err)
			}
			return
		}
		if got.Angle > m.AnatomicalMax() || got.SE <= 0 || got.SE > rom.Deg(mostSE) || got.OutOfPlane < 0 {
			t.Fatalf("got %+v", got)
		}
	})
}

package screen

import (
	"math"
	"strings"
	"testing"
	"time"

	"unsling/app/figure"
	"unsling/app/words"
	"unsling/engine/gonio"
	"unsling/engine/rom"
)

// liveCamera brings the app to the camera's picture with the sensor running.
func liveCamera(t *testing.T) *scene {
	s := on(t, 45, 10)
	s.a.Arrive("/measure", "")
	s.a.chooseRow(rom.ForwardFlexion, rom.Right)
	s.a.measure.wanted = 1
	s.a.chooseWay(0)
	s.a.openCamera()
	return s
}

// hold sends samples of a phone held in one way.
func (s *scene) hold(g gonio.Sample) {
	for i := 0; i < 30; i++ {
		s.f.tilt(g)
		s.tick(quick / 2)
	}
}

// TestLevelBeforeThePicture: upright is level; turned and tipped say so, and a
// picture taken while the camera looks down by 20 degrees is warned of (error
// of more than one degree beyond 15, orthographic projection, derived).
func TestLevelBeforeThePicture(t *testing.T) {
	s := liveCamera(t)
	s.hold(gonio.Sample{Y: 9.81})
	if v := s.a.viewLevel(); !v.On || !v.Good {
		t.Errorf("upright: %+v", v)
	}
	s.hold(gonio.Sample{X: -9.81 * math.Sin(0.3), Y: 9.81 * math.Cos(0.3)})
	if v := s.a.viewLevel(); v.Good || v.Text != s.a.t(words.LevelRoll) || !v.Bad {
		t.Errorf("turned by 17 degrees: %+v", v)
	}
	s.hold(gonio.Sample{Z: 9.81 * math.Sin(0.35), Y: 9.81 * math.Cos(0.35)})
	if v := s.a.viewLevel(); v.Text != s.a.t(words.LevelUp) {
		t.Errorf("looking down: %+v", v)
	}
	s.f.picture = Picture{URL: "blob:invented", Width: 900, Height: 1200}
	s.a.takePhoto()
	if s.f.tilt != nil {
		t.Error("the sensor runs on after the picture")
	}
	s.marksAt(60)
	warned := false
	for _, w := range s.a.viewMarks().Warnings {
		warned = warned || w == words.Warning(words.English, string(gonio.WarnPlane))
	}
	if !warned {
		t.Errorf("a camera that looked down by 20 degrees is not warned of: %v", s.a.viewMarks().Warnings)
	}
	bare := measuring(t)
	bare.marksAt(60)
	if with, without := must(s.a.photoAngle()), must(bare.a.photoAngle()); with.SE <= without.SE {
		t.Errorf("the error of a tilted camera is %v, of an unknown one %v", with.SE, without.SE)
	}
}

func must(m gonio.Measure, err error) gonio.Measure {
	if err != nil {
		panic(err)
	}
	return m
}

// TestLevelIsNoCondition: without the sensor the picture is taken all the same.
func TestLevelIsNoCondition(t *testing.T) {
	s := on(t, 45, 10)
	s.f.tiltErr = ErrRefused
	s.a.Arrive("/measure", "")
	s.a.chooseRow(rom.ForwardFlexion, rom.Right)
	s.a.chooseWay(0)
	s.a.openCamera()
	if v := s.a.viewSetUp(); !v.Live || v.Level.On || v.Level.Text != s.a.t(words.LevelNone) || v.Trouble != "" {
		t.Errorf("without the sensor: %+v", v)
	}
}

// TestOneDegreeButtons: each tap changes the angle by one degree, to half of one.
func TestOneDegreeButtons(t *testing.T) {
	for _, start := range []float64{30, 62, 90, 111} {
		s := measuring(t)
		s.marksAt(start)
		before := must(s.a.photoAngle()).Angle
		for i := 1; i <= 5; i++ {
			s.a.turnBy(1)
			if got := must(s.a.photoAngle()).Angle; abs(got-before-rom.Deg(i)) > 5 {
				t.Errorf("from %v, %d up: %v", before, i, got)
			}
		}
		for i := 0; i < 5; i++ {
			s.a.turnBy(-1)
		}
		if got := must(s.a.photoAngle()).Angle; abs(got-before) > 5 {
			t.Errorf("there and back from %v: %v", before, got)
		}
	}
}

// TestLoupe: it shows while a mark moves, around that mark, in the corner away
// from the finger.
func TestLoupe(t *testing.T) {
	s := measuring(t)
	draw := func() string { return document(s.a, "") }
	if strings.Contains(draw(), `id="loupe"`) {
		t.Error("a loupe before anything is touched")
	}
	s.a.dragMark("down", 300, 400)
	if d := draw(); !strings.Contains(d, "loupe-right") || !strings.Contains(d, `viewBox="240 340 120 120"`) {
		t.Error("no loupe around the finger, in the far corner")
	}
	s.a.dragMark("move", 700, 400)
	if d := draw(); !strings.Contains(d, "loupe-left") {
		t.Error("the loupe does not give way to the finger")
	}
	s.a.dragMark("up", 0, 0)
	if strings.Contains(draw(), `id="loupe"`) {
		t.Error("the loupe stays when the finger is gone")
	}
}

// TestHandBehindBackByPicture: a tap, the buttons and the list lead to the same
// place; nothing is kept before it is confirmed.
func TestHandBehindBackByPicture(t *testing.T) {
	begin := func() *scene {
		s := on(t, 100, 10)
		s.a.Arrive("/measure", "")
		s.a.chooseRow(rom.HandBehindBack, rom.Right)
		if s.a.measure.step != stepHow || len(s.a.measure.ways) != 2 {
			t.Fatalf("step %q, %d ways", s.a.measure.step, len(s.a.measure.ways))
		}
		s.a.chooseWay(0)
		return s
	}
	for name, how := range map[string]func(*scene){
		"buttons": func(s *scene) {
			for i := 0; i < 5; i++ {
				s.a.movePlace(1)
			}
		},
		"list": func(s *scene) { s.a.setPlace(rom.LevelL3) },
		"tap": func(s *scene) {
			for y := 0; y < figure.SpineHeight; y++ {
				if figure.SpinePlace(500, y) == rom.LevelL3 {
					s.a.tapBack(500, y)
					return
				}
			}
		},
	} {
		s := begin()
		s.a.usePlace()
		if len(s.f.appended) != 0 {
			t.Errorf("%s: nothing was chosen and it was kept", name)
		}
		how(s)
		if s.a.measure.place != rom.LevelL3 || len(s.f.appended) != 0 {
			t.Errorf("%s: place %d, %d records", name, s.a.measure.place, len(s.f.appended))
		}
		s.a.usePlace()
		if r := s.f.appended[0].(rom.Reading); r.Level != rom.LevelL3 || r.Method != rom.LevelMethod || r.Validate() != nil {
			t.Errorf("%s: kept %+v", name, r)
		}
	}
}

// TestHandBehindBackByPhoto: the thumb at 70.9 % of the line from C7 to the
// PSIS is L1 (PMC3598670).
func TestHandBehindBackByPhoto(t *testing.T) {
	s := on(t, 100, 10)
	s.a.Arrive("/measure", "")
	s.a.chooseRow(rom.HandBehindBack, rom.Right)
	s.a.chooseWay(1)
	if v := s.a.viewSetUp(); !v.Photo || s.a.measure.step != stepSetUp {
		t.Fatalf("no photograph: %+v", v)
	}
	s.f.picture = Picture{URL: "blob:invented", Width: 900, Height: 1200}
	s.a.openCamera()
	s.a.takePhoto()
	s.a.placeMark(500, 100)
	s.a.placeMark(500, 1100)
	s.a.placeMark(460, 809)
	if v := s.a.viewMarks(); !v.HasAngle {
		t.Fatalf("no level: %+v", v)
	}
	s.a.useAngle()
	if r := s.f.appended[0].(rom.Reading); r.Level != rom.LevelL1 {
		t.Errorf("kept level %d, want %d", r.Level, rom.LevelL1)
	}
}

// TestMeasureAgainKeepsToThePlan: after an angle close to the limit the day
// that is named is one on which the plan lets the arm be measured.
func TestMeasureAgainKeepsToThePlan(t *testing.T) {
	s := measuring(t)
	s.marksAt(124)
	s.a.useAngle()
	s.again(122)
	v := s.a.viewResult()
	if v.Alert != s.a.t(words.TierClose) || v.AlertSub == "" {
		t.Fatalf("close to the limit: %+v", v)
	}
	for k := 1; k <= 7; k++ {
		d := s.a.on(s.f.facts.History, episodeID, s.a.day.Date.Add(k), 720, s.a.with())
		for _, m := range d.Measures {
			if m.Motion == rom.ForwardFlexion && m.May {
				if want := s.a.f(words.AgainDay, words.Day(words.English, d.Date, s.a.day.Date)); v.AlertSub != want {
					t.Errorf("%q, want %q", v.AlertSub, want)
				}
				return
			}
		}
	}
	if v.AlertSub != s.a.t(words.AgainAsked) {
		t.Errorf("no day lets it be measured, and the screen says %q", v.AlertSub)
	}
}

// TestDifferingTrialsOfferOneMore, once, and it may be left.
func TestDifferingTrialsOfferOneMore(t *testing.T) {
	s := on(t, 45, 10)
	s.a.Arrive("/measure", "")
	s.a.chooseRow(rom.ForwardFlexion, rom.Right)
	s.f.picture = Picture{URL: "blob:invented", Width: 900, Height: 1200}
	for i, angle := range []float64{70, 90, 71, 88} {
		if i == 0 {
			s.a.chooseWay(0)
		} else {
			s.a.moreTrials()
		}
		s.a.takePhoto()
		s.marksAt(angle)
		s.a.useAngle()
		if more := s.a.viewResult().More; more != (i < 3) {
			t.Fatalf("after trial %d: more %v", i+1, more)
		}
		if i == 2 && s.a.viewResult().Warnings[0] != s.a.t(words.TrialsFar) {
			t.Error("nothing says why one more is offered")
		}
	}
	if r := s.f.appended[0].(rom.Reading); len(r.Trials) != 4 {
		t.Errorf("%d trials", len(r.Trials))
	}
}

// TestTiltShowsWhereThePhoneGoes: the picture has a phone and no photograph's
// marks, on the body first and then on the arm.
func TestTiltShowsWhereThePhoneGoes(t *testing.T) {
	s := on(t, 45, 10)
	s.a.Arrive("/measure", "")
	s.a.chooseRow(rom.ForwardFlexion, rom.Right)
	s.a.chooseWay(1)
	first := s.a.viewSetUp()
	if !strings.Contains(first.Figure, "fig-phone") || strings.Contains(first.Figure, "fig-point") {
		t.Error("the set-up of tilt shows no phone, or marks of a photograph")
	}
	s.a.startTilt()
	on1 := s.a.tiltSpot()
	s.tick(layTime * time.Millisecond)
	for i := 0; i < 90 && s.a.measure.tilt.trunk == nil; i++ {
		s.f.tilt(gonio.Sample{Y: -9.81})
		s.tick(quick)
	}
	if on1 != figure.OnTrunk || s.a.tiltSpot() != figure.OnUpperArm {
		t.Errorf("the phone goes to %s and then to %s", on1, s.a.tiltSpot())
	}
}

// TestLimitsAreFloored on every place of the screens that shows one.
func TestLimitsAreFloored(t *testing.T) {
	s := on(t, 45, 10)
	s.revise(func(p *rom.Plan) {
		for i := range p.Phases {
			for j := range p.Phases[i].Limits {
				if l := &p.Phases[i].Limits[j]; l.Motion == rom.ForwardFlexion && !l.Open {
					l.Floor, l.Ceiling, l.ActiveCeil = min(l.Floor, 925), 925, min(l.ActiveCeil, 925)
				}
			}
		}
	})
	if got := s.a.day.Motion(rom.ForwardFlexion).Limit.Ceiling; got != 925 {
		t.Fatalf("the limit is %v", got)
	}
	for _, place := range []string{"/", "/limits"} {
		s.a.Arrive(place, "")
		d := document(s.a, "")
		if strings.Contains(d, "93 degrees") || strings.Contains(d, "93°") || !strings.Contains(d, "92") {
			t.Errorf("%s rounds 92.5 up", place)
		}
	}
}

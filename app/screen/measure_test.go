package screen

import (
	"math"
	"strings"
	"testing"
	"time"

	"unsling/app/words"
	"unsling/engine/gonio"
	"unsling/engine/review"
	"unsling/engine/rom"
	"unsling/engine/verdict"
)

// measuring brings the app to the marks of a photograph of the arm up in
// front, on day 45, where the plan asks for it outside of holds.
func measuring(t *testing.T) *scene {
	s := on(t, 45, 10)
	s.a.Arrive("/measure", "")
	s.a.chooseRow(rom.ForwardFlexion, rom.Right)
	s.a.measure.wanted = 1
	s.a.chooseWay(0)
	s.f.picture = Picture{URL: "blob:invented", Width: 900, Height: 1200}
	s.a.takePhoto()
	return s
}

// at places the three marks so that trunk and arm make an angle in degrees,
// by plain geometry: hip straight below the shoulder, elbow turned from there.
func (s *scene) marksAt(angle float64) {
	const x, y, l = 500, 700, 300
	s.a.placeMark(x, y+l)
	s.a.placeMark(x, y)
	r := angle * math.Pi / 180
	s.a.placeMark(x+int(math.Round(l*math.Sin(r))), y+int(math.Round(l*math.Cos(r))))
}

func TestPhotoAngleIsPlainGeometry(t *testing.T) {
	for _, want := range []float64{35, 62, 90, 111} {
		s := measuring(t)
		s.marksAt(want)
		m, err := s.a.photoAngle()
		if err != nil || math.Abs(m.Angle.Float()-want) > 0.3 {
			t.Errorf("marks at %v read %v (%v)", want, m.Angle, err)
		}
	}
}

// TestMarksByEveryMeans: drag, tap, keys and buttons lead to the same place
// (WCAG 2.2, success criterion 2.5.7: nothing needs a drag).
func TestMarksByEveryMeans(t *testing.T) {
	drag := measuring(t)
	drag.marksAt(90)
	drag.a.dragMark("down", 802, 702)
	drag.a.dragMark("move", 700, 600)
	drag.a.dragMark("up", 0, 0)

	tap := measuring(t)
	tap.marksAt(90)
	tap.a.placeMark(700, 600)

	keys := measuring(t)
	for i := 0; i < 3; i++ {
		keys.a.nextMark()
	}
	goal := []rom.Point{{X: 500, Y: 1000}, {X: 500, Y: 700}, {X: 700, Y: 600}}
	for i := range goal {
		keys.a.nextMark()
		p := &keys.a.measure.photo
		for p.marks[p.at] != goal[p.at] {
			m := p.marks[p.at]
			p.fine = abs2(goal[p.at].X-m.X) < 20 && abs2(goal[p.at].Y-m.Y) < 20
			dx, dy := sign(goal[p.at].X-m.X), sign(goal[p.at].Y-m.Y)
			if p.fine && abs2(goal[p.at].X-m.X) < 3 {
				dx = 0
			}
			if p.fine && abs2(goal[p.at].Y-m.Y) < 3 {
				dy = 0
			}
			if dx == 0 && dy == 0 {
				break
			}
			keys.a.nudge(dx, dy)
		}
		_ = i
	}
	want := drag.a.measure.photo.marks
	for name, s := range map[string]*scene{"tap": tap, "keys": keys} {
		for i, m := range s.a.measure.photo.marks {
			if abs2(m.X-want[i].X) > 3 || abs2(m.Y-want[i].Y) > 3 {
				t.Errorf("%s: mark %d at %v, by drag at %v", name, i, m, want[i])
			}
		}
	}
	drag.a.dragMark("down", -50, 9000)
	if m := drag.a.measure.photo.marks[drag.a.measure.photo.at]; m.X < 0 || m.Y > 1333 {
		t.Errorf("a mark left the picture: %v", m)
	}
}

func abs2(n int) int {
	if n < 0 {
		return -n
	}
	return n
}

func sign(n int) int {
	switch {
	case n > 0:
		return 1
	case n < 0:
		return -1
	}
	return 0
}

// again marks the second picture of the hold.
func (s *scene) again(angle float64) {
	s.f.pass(time.Second)
	s.a.secondSet()
	s.marksAt(angle)
	s.a.useAngle()
}

// TestSecondSetDecides: past the limit the phone says at once to go less far,
// and sends nobody to the telephone before the second picture of the same hold
// was marked. Every set is recorded whatever it says.
func TestSecondSetDecides(t *testing.T) {
	limit := 120 // of forward flexion from week 6 in the scenario's protocol
	for _, c := range []struct {
		angle  float64
		before []int
		second float64 // 0: left without it
		alert  words.Text
		calls  bool
	}{
		{angle: 100},
		{angle: 124, second: 116, alert: words.TierClose},
		{angle: 124, before: []int{112, 123}, second: 121, alert: words.TierClose},
		{angle: 138, before: []int{110, 112}, second: 114, alert: words.TierClose},
		{angle: 129, second: 125, alert: words.TierLikely},
		{angle: 138, second: 136, alert: words.TierOver, calls: true},
		{angle: 150, alert: words.TierOver, calls: true},
	} {
		s := measuring(t)
		if got := s.a.day.Motion(rom.ForwardFlexion).Limit.Ceiling; got != rom.Deg(limit) {
			t.Fatalf("the scenario's limit is %v", got)
		}
		for i, b := range c.before {
			s.reading(42+i, rom.ForwardFlexion, b)
		}
		s.a.look()
		s.marksAt(c.angle)
		s.a.useAngle()
		first, sets := s.a.viewResult(), 1
		if past := c.angle > float64(limit); past != (first.Alert == s.a.t(words.TierFirst)) || past != (first.Second != "") || first.Calls {
			t.Errorf("%v: at first %q, second %q, calls %v", c.angle, first.Alert, first.Second, first.Calls)
		}
		switch {
		case c.second != 0:
			s.again(c.second)
			sets = 2
		case c.angle > float64(limit):
			s.f.pass(time.Second)
			s.a.doneReading()
		}
		v := s.a.viewResult()
		want := ""
		if !c.alert.IsZero() {
			want = s.a.t(c.alert)
		}
		if v.Alert != want || v.Calls != c.calls || v.Second != "" {
			t.Errorf("%v and %v after %v: %q, calls %v", c.angle, c.second, c.before, v.Alert, v.Calls)
		}
		if want != "" && len(v.Sentences) > 0 {
			t.Errorf("%v: something stands beside the danger: %v", c.angle, v.Sentences)
		}
		if sure := s.a.f(words.TierOverSub, limit); (v.AlertSub == sure) != c.calls {
			t.Errorf("%v and %v: %q beside %q", c.angle, c.second, v.AlertSub, v.Alert)
		}
		if last, ok := s.a.lastReading(rom.ForwardFlexion, rom.Right); ok && takenOn(last) == s.a.day.Date {
			t.Errorf("%v and %v: the first set of a hold is no last time", c.angle, c.second)
		}
		if n := len(s.f.appended); n != sets {
			t.Fatalf("%v: %d records", c.angle, n)
		}
		r := s.f.appended[0].(rom.Reading)
		if err := r.Validate(); err != nil || math.Abs(r.Angle.Float()-c.angle) > 0.5 || len(r.Trials) != 1 || len(r.Trials[0].Landmarks) != 3 {
			t.Errorf("recorded %+v (%v)", r, err)
		}
		if len(s.f.dropped) != 2 {
			t.Errorf("%v: %d of two photographs were freed", c.angle, len(s.f.dropped))
		}
		// The clinic judges the same records by the same rule.
		s.a.look()
		list := verdict.Of(s.f.facts.History, episodeID, rom.ForwardFlexion, s.a.day.Date, nil)
		if got := list[len(list)-1].Tier; got != s.a.measure.tier {
			t.Errorf("%v and %v: the clinic reads %q, the phone %q", c.angle, c.second, got, s.a.measure.tier)
		}
	}
}

// TestNoSecondTripForASecondSet: who goes back from the second picture is not
// asked to take a new one, and hears what the first set means.
func TestNoSecondTripForASecondSet(t *testing.T) {
	s := measuring(t)
	s.marksAt(150)
	s.a.useAngle()
	s.f.pass(time.Second)
	s.a.secondSet()
	if s.a.measure.step != stepPhoto || s.a.measure.photo.picture.URL == "" {
		t.Fatalf("the second picture is not there: %q", s.a.measure.step)
	}
	s.a.measureBack()
	if v := s.a.viewResult(); s.a.measure.step != stepResult || v.Alert != s.a.t(words.TierOver) || !v.Calls {
		t.Errorf("at %q: %q, calls %v", s.a.measure.step, v.Alert, v.Calls)
	}
	if len(s.f.appended) != 1 || len(s.f.dropped) != 2 {
		t.Errorf("%d records, %d photographs freed", len(s.f.appended), len(s.f.dropped))
	}
}

// TestLeavingDoesNotSilenceTheCall: who leaves for another page while the second
// set is asked for, or is being marked, hears what the first one means.
func TestLeavingDoesNotSilenceTheCall(t *testing.T) {
	for _, marking := range []bool{false, true} {
		s := measuring(t)
		s.marksAt(150)
		s.a.useAngle()
		if marking {
			s.f.pass(time.Second)
			s.a.secondSet()
		}
		s.a.goTo(PlaceNow)
		if s.a.notice != s.a.t(words.TierOver) || !s.a.urgent {
			t.Errorf("marking %v: the phone says %q", marking, s.a.notice)
		}
	}
}

// TestOverWeeksApart: limit 90; day 20 reads 92, days 24 and 27 within, day 55
// reads 93. Phone and clinic say near, each time.
func TestOverWeeksApart(t *testing.T) {
	s := on(t, 20, 10)
	at90 := func() {
		s.revise(func(p *rom.Plan) {
			for i := range p.Phases {
				for j := range p.Phases[i].Limits {
					if l := &p.Phases[i].Limits[j]; l.Motion == rom.ForwardFlexion {
						l.Ceiling, l.Open, l.Floor, l.ActiveCeil = rom.Deg(90), false, 0, 0
					}
				}
			}
		})
	}
	at90()
	for _, c := range []struct {
		day, angle int
		want       verdict.Tier
	}{{20, 92, verdict.Near}, {24, 84, verdict.Within}, {27, 86, verdict.Within}, {55, 93, verdict.Near}} {
		s.f.pass(time.Duration(c.day-s.a.day.Number) * 24 * time.Hour)
		s.a.Changed()
		s.reading(c.day, rom.ForwardFlexion, c.angle)
		s.a.Changed()
		if got := s.a.tierToday(rom.ForwardFlexion); got != c.want {
			t.Errorf("day %d, %d: the phone says %q, want %q", c.day, c.angle, got, c.want)
		}
		class := review.Class("")
		for _, x := range review.Findings(s.f.facts.History, episodeID, s.a.day.Date, review.Inputs{}) {
			if x.Key == "limit:"+string(rom.ForwardFlexion) {
				class = x.Class
			}
		}
		if want := map[verdict.Tier]review.Class{verdict.Near: review.LimitNear}[c.want]; class != want {
			t.Errorf("day %d, %d: the clinic says %q, want %q", c.day, c.angle, class, want)
		}
	}
}

// TestResultBesideLastTime: a change is told only beyond 1.96 * sqrt(2) * SEM,
// 19.4 degrees for a patient's photograph (formula F3, PMC6558857 Table 1).
func TestResultBesideLastTime(t *testing.T) {
	for _, c := range []struct {
		last  int
		angle float64
		want  string
	}{
		{90, 100, words.ResultSame.In(words.English)},
		{80, 100, words.ResultUp.With(words.English, 20)},
		{82, 100, words.ResultSame.In(words.English)},
		{115, 93, words.ResultDown.With(words.English, 22)},
		{40, 100, words.ResultOdd.In(words.English)},
	} {
		s := on(t, 45, 10)
		s.reading(43, rom.ForwardFlexion, c.last)
		s.a.look()
		s.a.Arrive("/measure", "")
		s.a.chooseRow(rom.ForwardFlexion, rom.Right)
		s.a.measure.wanted = 1
		s.a.chooseWay(0)
		s.f.picture = Picture{URL: "blob:invented", Width: 900, Height: 1200}
		s.a.takePhoto()
		s.marksAt(c.angle)
		s.a.useAngle()
		if s.a.measure.doubted { // questioned once, then taken
			if s.a.measure.step != stepPhoto || len(s.f.appended) != 0 || s.a.measure.trouble != s.a.t(words.OddCheck) {
				t.Errorf("%d then %v: the question reads %q", c.last, c.angle, s.a.measure.trouble)
			}
			s.a.useAngle()
		}
		if got := s.a.viewResult().Sentences; len(got) == 0 || got[0] != c.want {
			t.Errorf("%d then %v: %v, want %q", c.last, c.angle, got, c.want)
		}
		if e := s.a.viewResult().Error; e != words.ResultErr.With(words.English, 7) {
			t.Errorf("the error reads %q", e)
		}
	}
}

func TestThreeTrials(t *testing.T) {
	s := on(t, 45, 10)
	s.a.Arrive("/measure", "")
	s.a.chooseRow(rom.ForwardFlexion, rom.Right)
	if s.a.measure.wanted != 3 {
		t.Fatalf("the plan asks for three trials, the screen for %d", s.a.measure.wanted)
	}
	s.f.picture = Picture{URL: "blob:invented", Width: 900, Height: 1200}
	for i, angle := range []float64{88, 92, 96} {
		if i == 0 {
			s.a.chooseWay(0)
		} else {
			s.a.moreTrials()
		}
		s.a.takePhoto()
		s.marksAt(angle)
		s.a.useAngle()
		if more := s.a.viewResult().More; more != (i < 2) {
			t.Errorf("after trial %d: more %v", i+1, more)
		}
	}
	r := s.f.appended[0].(rom.Reading)
	if len(s.f.appended) != 1 || len(r.Trials) != 3 || math.Abs(r.Angle.Float()-92) > 0.5 {
		t.Errorf("recorded %d times, %+v", len(s.f.appended), r)
	}
}

func TestPastTheLimitNobodyIsAskedAgain(t *testing.T) {
	s := on(t, 45, 10)
	s.a.Arrive("/measure", "")
	s.a.chooseRow(rom.ForwardFlexion, rom.Right)
	s.a.chooseWay(0)
	s.f.picture = Picture{URL: "blob:invented", Width: 900, Height: 1200}
	s.a.takePhoto()
	s.marksAt(140)
	s.a.useAngle()
	s.f.pass(time.Second)
	s.a.doneReading()
	if v := s.a.viewResult(); v.More || v.Second != "" || !v.Calls {
		t.Errorf("past the limit the screen asks for more: %+v", v)
	}
}

// TestTiltTakesTheReadingByItself: the phone lies on the trunk and then on the
// arm; gravity turned by 90 degrees in between is an arm at 90 degrees.
func TestTiltTakesTheReadingByItself(t *testing.T) {
	s := on(t, 45, 10)
	s.a.Arrive("/measure", "")
	s.a.chooseRow(rom.ForwardFlexion, rom.Right)
	s.a.measure.wanted = 1
	for i, w := range s.a.measure.ways {
		if w.Method == rom.Tilt {
			s.a.chooseWay(i)
		}
	}
	s.a.startTilt()
	lie := func(g gonio.Sample) {
		for i := 0; i < 90; i++ {
			if s.f.tilt == nil {
				return
			}
			s.f.tilt(g)
			s.tick(quick)
		}
	}
	lie(gonio.Sample{Y: -9.81})
	if s.a.measure.tilt.trunk == nil {
		t.Fatal("the trunk was not read")
	}
	lie(gonio.Sample{Z: -9.81})
	if len(s.f.appended) != 1 {
		t.Fatalf("no reading after the arm; step %s, trouble %q", s.a.measure.step, s.a.measure.trouble)
	}
	if r := s.f.appended[0].(rom.Reading); math.Abs(r.Angle.Float()-90) > 0.5 || r.Method != rom.Tilt {
		t.Errorf("read %+v", r)
	}
	if s.f.tilt != nil || s.a.Ticking() {
		t.Error("the sensor is still on")
	}
}

func TestShakingHandIsNotRead(t *testing.T) {
	s := on(t, 45, 10)
	s.a.Arrive("/measure", "")
	s.a.chooseRow(rom.ForwardFlexion, rom.Right)
	s.a.chooseWay(1)
	s.a.startTilt()
	s.tick(layTime * time.Millisecond)
	for i := 0; i < 120; i++ {
		s.f.tilt(gonio.Sample{X: 4 * math.Sin(float64(i)), Y: -9, Z: 4 * math.Cos(float64(2*i))})
		s.tick(quick)
	}
	if len(s.f.appended) != 0 || s.a.measure.tilt.trunk != nil {
		t.Error("a shaking hand gave a reading")
	}
	if s.a.viewTilt().Problem == "" {
		t.Error("nothing tells why")
	}
	s.a.Arrive("/", "")
	if s.f.tilt != nil {
		t.Error("the sensor runs on after leaving")
	}
}

func TestRefusedPartsHaveAWayRound(t *testing.T) {
	s := on(t, 45, 10)
	s.a.Arrive("/measure", "")
	s.a.chooseRow(rom.ForwardFlexion, rom.Right)
	s.a.chooseWay(0)
	s.f.camera = ErrRefused
	s.a.openCamera()
	if v := s.a.viewSetUp(); v.Live || v.Trouble != s.a.t(words.CameraNo) {
		t.Errorf("a refused camera shows %+v", v)
	}
	s.f.picture = Picture{URL: "javascript:alert(1)", Width: 10, Height: 10}
	s.a.fileChosen()
	if s.a.measure.step != stepSetUp || s.a.viewSetUp().Trouble != s.a.t(words.PhotoBad) {
		t.Error("something that is no picture was taken for one")
	}
	s.f.tiltErr = ErrAbsent
	s.a.startTilt()
	if s.a.viewSetUp().Trouble != s.a.t(words.TiltNone) {
		t.Errorf("an absent sensor shows %q", s.a.viewSetUp().Trouble)
	}
}

func TestSelfTimerCountsAloud(t *testing.T) {
	s := on(t, 45, 10)
	s.a.Arrive("/measure", "")
	s.a.chooseRow(rom.ForwardFlexion, rom.Right)
	s.a.chooseWay(0)
	s.a.openCamera()
	s.f.picture = Picture{URL: "blob:invented", Width: 900, Height: 1200}
	s.f.said = nil
	s.a.selfTimer()
	s.tick(9 * time.Second)
	if s.a.measure.step != stepSetUp || strings.Join(s.f.said, " ") != s.a.t(words.PhotoStarts)+" 5 4 3 2 1" {
		t.Errorf("before time: step %q, said %v", s.a.measure.step, s.f.said)
	}
	s.tick(1200 * time.Millisecond)
	if s.a.measure.step != stepPhoto {
		t.Errorf("after ten seconds: step %q", s.a.measure.step)
	}
}

// TestWhatMayBeMeasured: nothing locked, nothing unasked, and in the first six
// weeks after a repair only during a hold.
func TestWhatMayBeMeasured(t *testing.T) {
	s := on(t, 20, 10)
	v := s.a.viewMeasureList()
	for _, r := range append(v.Asked, v.Others...) {
		if r.Side == rom.Right {
			t.Errorf("day 20 offers %s of the operated arm outside of a hold", r.Motion)
		}
	}
	for _, r := range v.Locked {
		if r.Why == "" {
			t.Errorf("%s is locked without a reason", r.Motion)
		}
	}
	s = on(t, 3, 10)
	if v := s.a.viewMeasureList(); len(v.Asked) != 0 {
		t.Errorf("day 3 asks for %v", v.Asked)
	}
	s = on(t, 45, 10)
	found := false
	for _, r := range s.a.viewMeasureList().Asked {
		found = found || r.Motion == rom.ForwardFlexion && r.Side == rom.Right
	}
	if !found {
		t.Error("day 45 does not ask for the arm up in front")
	}
}

// TestMeasuredHold: a reading taken in a hold goes to the session too, and the
// session waits while the marks are set.
func TestMeasuredHold(t *testing.T) {
	s := inHold(t, 1)
	if !s.a.canMeasureHold() {
		t.Fatal("the hold cannot be measured though the clinic asks for it")
	}
	s.a.measureHold()
	if s.a.place != PlaceMeasure || s.a.measure.wanted != 1 {
		t.Fatalf("at %s, %d trials", s.a.place, s.a.measure.wanted)
	}
	if s.a.measure.step == stepHow {
		s.a.chooseWay(0)
	}
	s.f.picture = Picture{URL: "blob:invented", Width: 900, Height: 1200}
	s.a.takePhoto()
	s.tick(30 * time.Second)
	if s.a.session.running() {
		t.Error("the next hold begins unseen")
	}
	s.marksAt(70)
	s.a.useAngle()
	d := s.a.session.m.Draft()
	if a := d.Items[0].Holds[0].Angle; a == nil || math.Abs(a.Float()-70) > 0.5 {
		t.Errorf("the hold has the angle %v", a)
	}
	if r := s.f.appended[0].(rom.Reading); r.Session != d.Config.ID {
		t.Errorf("the reading names session %q", r.Session)
	}
	s.a.measureLeave()
	if s.a.place != PlaceSession {
		t.Errorf("back at %s", s.a.place)
	}
}

func TestBaselineOfBothArms(t *testing.T) {
	s := on(t, 20, 10)
	s.f.facts.History = rom.History{}
	s.f.facts.Following = 0
	s.f.facts.Sending.Contact, s.f.facts.Sending.Confirmed = time.Time{}, time.Time{}
	s.episode(rom.Planned)
	s.f.now = operated.Add(-9).Time().Add(10 * time.Hour)
	s.start()
	sides := map[rom.Side]int{}
	for _, r := range s.a.viewMeasureList().Asked {
		sides[r.Side]++
	}
	if sides[rom.Left] == 0 || sides[rom.Left] != sides[rom.Right] {
		t.Fatalf("baseline offers %v", sides)
	}
	s.a.Arrive("/measure", "")
	s.a.chooseRow(rom.HandBehindBack, rom.Left)
	s.a.chooseLevel(rom.LevelL3)
	if r := s.f.appended[0].(rom.Reading); !r.Baseline || r.Level != rom.LevelL3 || r.Validate() != nil {
		t.Errorf("recorded %+v (%v)", r, r.Validate())
	}
	if now := s.a.viewNow(); now.Main != "" || len(now.Tasks) == 0 {
		t.Errorf("a planned episode offers %q and %v", now.Main, now.Tasks)
	}
}

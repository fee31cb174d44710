package screen

import (
	"errors"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/engine/session"
	"unsling/engine/verdict"
)

// later holds back what the app asks to be done away from the UI's thread, as
// a slow phone does, and returns what lets it come.
func (s *scene) later() (come func()) {
	var list []func()
	was := s.a.run
	s.a.run = func(work, then func()) { list = append(list, func() { s.f.away(work, then) }) }
	return func() {
		s.a.run = was
		for _, f := range list {
			f()
		}
	}
}

// TestPictureOfBefore: a photograph that comes when its measurement was left
// is of another arm or another motion. It measures nothing and is dropped.
func TestPictureOfBefore(t *testing.T) {
	for name, take := range map[string]func(*App){"camera": (*App).takePhoto, "file": (*App).fileChosen} {
		pictures := map[string]int{"camera": 2, "file": 1}[name] // a camera takes a second one where there is a limit
		s := on(t, 45, 10)
		s.f.picture = Picture{URL: "blob:invented", Width: 900, Height: 1200}
		s.a.Arrive("/measure", "")
		s.a.chooseRow(rom.ForwardFlexion, rom.Right)
		s.a.chooseWay(0)
		come := s.later()
		take(s.a)
		s.a.measureBack()
		s.a.measureLeave()
		s.a.chooseRow(rom.ForwardFlexion, rom.Left)
		s.a.chooseWay(0)
		come()
		if s.a.measure.step == stepPhoto || len(s.f.dropped) != pictures {
			t.Errorf("%s: the other arm is at %q, dropped %v", name, s.a.measure.step, s.f.dropped)
		}
		take(s.a)
		if s.a.measure.step != stepPhoto {
			t.Errorf("%s: its own picture leads to %q", name, s.a.measure.step)
		}
	}
}

// TestCameraAndSensorOfBefore: what was asked for and left is switched off when
// it comes at last.
func TestCameraAndSensorOfBefore(t *testing.T) {
	s := on(t, 45, 10)
	s.a.Arrive("/measure", "")
	s.a.chooseRow(rom.ForwardFlexion, rom.Right)
	s.a.chooseWay(0)
	come := s.later()
	s.a.openCamera()
	s.a.measureBack()
	come()
	if s.f.lit || s.a.measure.photo.live {
		t.Error("the camera stays on though its page was left")
	}

	come = s.later()
	s.a.startTilt()
	s.a.goTo(PlaceNow)
	come()
	if s.f.sensors != 0 || s.a.measure.step == stepTilt {
		t.Errorf("%d sensors run after the page was left, at %q", s.f.sensors, s.a.measure.step)
	}

	s.a.Arrive("/measure", "")
	s.a.chooseRow(rom.ForwardFlexion, rom.Right)
	come = s.later()
	s.a.startTilt() // two taps
	s.a.startTilt()
	come()
	s.a.goTo(PlaceNow)
	if s.f.sensors != 0 {
		t.Errorf("%d sensors run after two taps and leaving", s.f.sensors)
	}
}

// TestSelfTimerEndsWithTheScreen: nobody is photographed on coming back.
func TestSelfTimerEndsWithTheScreen(t *testing.T) {
	s := on(t, 45, 10)
	s.f.picture = Picture{URL: "blob:invented", Width: 900, Height: 1200}
	s.a.Arrive("/measure", "")
	s.a.chooseRow(rom.ForwardFlexion, rom.Right)
	s.a.chooseWay(0)
	s.a.openCamera()
	s.a.selfTimer()
	s.a.Hidden()
	s.f.pass(time.Minute)
	s.a.Back()
	s.tick(time.Second)
	if s.a.measure.step == stepPhoto {
		t.Error("a picture was taken of whoever came back")
	}
}

// TestSessionRestsWhenItsMeasurementIsLeft: from measuring a hold, help and the
// first screen are one tap away; the session must not go on behind them.
func TestSessionRestsWhenItsMeasurementIsLeft(t *testing.T) {
	for _, to := range []Place{PlaceHelp, PlaceNow} {
		s := inHold(t, 1)
		s.a.measureHold()
		s.a.goTo(to)
		s.tick(2 * time.Minute)
		if v := s.a.session.view; v.State != session.Paused || v.Rep != 1 {
			t.Errorf("behind %s the session is %s at hold %d", to, v.State, v.Rep)
		}
	}
}

// TestNothingBeginsBehindAQuestion: who says "too much pain" is not led into
// the next hold while looking for the number. The hold at hand ends by itself.
func TestNothingBeginsBehindAQuestion(t *testing.T) {
	for _, k := range []session.EventKind{session.PainNow, session.Skip} {
		s := inHold(t, 1)
		s.a.sessionTap(k)
		s.tick(2 * time.Minute)
		if v := s.a.session.view; v.State != session.Paused || v.Counted != 1 {
			t.Errorf("behind the question after %s the session is %s, %d holds", k, v.State, v.Counted)
		}
		if s.a.session.sheet == noSheet {
			t.Errorf("the question after %s is gone", k)
		}
	}
}

// TestKeptOfItsOwnReading: what becomes of one reading is not said of the next,
// and one that found no room after its page was left is kept later.
func TestKeptOfItsOwnReading(t *testing.T) {
	s := measuring(t)
	s.marksAt(70)
	come := s.later()
	s.a.useAngle()
	s.a.measureLeave()
	s.a.chooseRow(rom.ForwardFlexion, rom.Left)
	s.f.full = ErrFull
	come()
	if s.a.measure.state != notKeeping || s.a.measure.trouble != "" {
		t.Errorf("the next measurement says %v %q", s.a.measure.state, s.a.measure.trouble)
	}
	if !s.a.urgent || s.a.notice == "" {
		t.Error("nobody is told that the reading was not kept")
	}
	s.f.full = nil
	s.a.Changed()
	s.a.Changed()
	if n := len(s.f.facts.History.Readings); n != 1 {
		t.Errorf("%d readings are kept once there is room", n)
	}

	s = measuring(t)
	s.f.full = errors.New("no room")
	s.marksAt(70)
	s.a.useAngle()
	s.a.measureLeave() // "not kept" was read, and the page left
	s.f.full = nil
	s.a.Changed()
	if n := len(s.f.facts.History.Readings); n != 1 {
		t.Errorf("left behind: %d readings", n)
	}
}

// TestTwoTapsAreOneRecord: a second tap, while the first is being kept, writes
// nothing.
func TestTwoTapsAreOneRecord(t *testing.T) {
	s := on(t, 20, 10)
	s.a.goTo(PlaceHelp)
	s.a.chooseSign(rom.SignNumb)
	come := s.later()
	s.a.sendSign(false)
	s.a.sendSign(false)
	come()
	if n := len(s.f.facts.History.Signs); n != 1 {
		t.Errorf("two taps made %d reports", n)
	}
	s.a.sendSign(false) // told once more is told once more
	if n := len(s.f.facts.History.Signs); n != 2 {
		t.Errorf("%d reports", n)
	}
}

// TestResultKeepsItsLimit: what a result was judged by stands beside it, though
// the clinic narrows the limit while it is read.
func TestResultKeepsItsLimit(t *testing.T) {
	s := measuring(t)
	s.marksAt(70)
	s.a.useAngle()
	was := s.a.viewResult()
	if s.a.measure.tier != verdict.Within || len(was.Sentences) < 2 {
		t.Fatalf("the result is %v: %v", s.a.measure.tier, was.Sentences)
	}
	s.revise(func(p *rom.Plan) {
		for i := range p.Phases {
			for j := range p.Phases[i].Limits {
				if l := &p.Phases[i].Limits[j]; l.Motion == rom.ForwardFlexion && l.Class != rom.Locked {
					l.Open, l.Floor, l.Ceiling, l.ActiveCeil = false, 0, rom.Deg(40), 0
				}
			}
		}
	})
	if l := s.a.day.Motion(rom.ForwardFlexion).Limit; l.Ceiling != rom.Deg(40) {
		t.Fatalf("the limit is %v", l)
	}
	if now := s.a.viewResult(); now.Sentences[len(was.Sentences)-1] != was.Sentences[len(was.Sentences)-1] || now.Figure != was.Figure {
		t.Errorf("70 degrees is said to be %q; it was %q", now.Sentences, was.Sentences)
	}
}

// TestNotKeptStaysSaid: a draft that is kept late does not take back what is
// said of the record.
func TestNotKeptStaysSaid(t *testing.T) {
	s := inHold(t, 1)
	come := s.later()
	s.a.sessionTap(session.Pause)
	s.a.run = s.f.away
	s.f.full = ErrFull
	s.a.stopFor(rom.StopTired)
	s.f.full = nil
	come() // the draft of the pause
	if v := s.a.viewSession(); v.Status == "" || !v.Retry {
		t.Errorf("the end says %q", v.Status)
	}
}

// TestWrongKeptLate: once the report is kept, the first screen stops saying
// that it was not.
func TestWrongKeptLate(t *testing.T) {
	s := inHold(t, 1)
	s.f.full = ErrFull
	come := s.later()
	s.a.stopFor(rom.StopWrong)
	s.a.leaveSession()
	come()
	if s.a.told == nil {
		t.Fatal("a stop that was not kept stops nothing")
	}
	s.f.full = nil
	s.a.Changed()
	if s.a.told != nil || len(s.f.facts.History.Sessions) != 1 {
		t.Errorf("told %v, %d sessions", s.a.told, len(s.f.facts.History.Sessions))
	}
}

// TestBrokenWorkIsNoSuccess: work that breaks off in the middle, which Phone.run
// survives, has done nothing: no record is called kept, no draft dropped, and
// no lock opened.
func TestBrokenWorkIsNoSuccess(t *testing.T) {
	broken := func(_, then func()) { then() }
	s := inHold(t, 2)
	s.a.run = broken
	s.a.stopFor(rom.StopTired)
	if v := s.a.viewSession(); !v.Retry || s.a.session.state != keptNot {
		t.Errorf("the end of the session says %q", v.Status)
	}
	if s.f.kept[draftName] == nil {
		t.Error("the draft is gone")
	}

	s = measuring(t)
	s.marksAt(70)
	s.a.run = broken
	s.a.useAngle()
	if v := s.a.viewResult(); !v.Retry {
		t.Errorf("the result says %q", v.Status)
	}

	s = locked(t)
	s.a.lock.kept.Kind = lockByOwn
	s.a.run = broken
	s.a.unlockOwn()
	if !s.a.lock.locked {
		t.Error("the lock opens when the check of its owner breaks off")
	}
}

// TestNoStartBeforeItsHour: a big button that was drawn before does not start
// what has to wait: the rest between two sessions, or the morning.
func TestNoStartBeforeItsHour(t *testing.T) {
	s := on(t, 20, 10)
	s.finish()
	due, ok := s.a.day.NextDue()
	if !ok || due.Open {
		t.Fatalf("after a session the next one is %+v", due)
	}
	s.a.startMain()
	if s.a.session.waits() || s.a.notice == "" {
		t.Errorf("a session begins at %d, %q is said", s.a.day.Minute, s.a.notice)
	}
}

// TestLastTimeIsWhenItWasTaken, not when a full phone kept it.
func TestLastTimeIsWhenItWasTaken(t *testing.T) {
	s := on(t, 45, 10)
	s.reading(44, rom.ForwardFlexion, 70)
	s.a.look()
	want := s.a.lastLine(rom.ForwardFlexion, rom.Right)
	s.f.facts.History.Readings[0].At = s.f.now
	s.f.facts.History.Readings[0].Body.On = operated.Add(44)
	s.a.look()
	if got := s.a.lastLine(rom.ForwardFlexion, rom.Right); got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// finish does one whole session.
func (s *scene) finish() {
	s.t.Helper()
	s.a.startMain()
	s.a.sessionPain(1)
	for i := 0; i < 100_000 && s.a.session.view.State != session.Asking; i++ {
		switch s.a.session.view.State {
		case session.Ready:
			s.a.sessionTap(session.Start)
		case session.Moving:
			s.a.sessionTap(session.Done)
		}
		s.tick(quick)
	}
	s.a.sessionPain(1)
	s.a.leaveSession()
}

// TestStopHoldsBeforeItIsKept: a disk that hangs does not leave the exercises
// open after a report that stops them.
func TestStopHoldsBeforeItIsKept(t *testing.T) {
	s := on(t, 20, 10)
	s.a.goTo(PlaceHelp)
	s.a.chooseSign(rom.SignChest)
	come := s.later()
	s.a.sendSign(false)
	s.a.Changed()
	if s.a.day.State != schedule.Halted {
		t.Errorf("while a warning sign is being kept the day is %s", s.a.day.State)
	}
	come()
	if s.a.day.State != schedule.Halted || s.a.told != nil {
		t.Errorf("kept, the day is %s, told %v", s.a.day.State, s.a.told)
	}

	s = inHold(t, 1)
	come = s.later()
	s.a.stopFor(rom.StopWrong)
	s.a.Changed()
	if s.a.day.State != schedule.Halted {
		t.Errorf("while \"something is wrong\" is being kept the day is %s", s.a.day.State)
	}
	come()
	if s.a.day.State != schedule.Halted || s.a.told != nil || len(s.f.facts.History.Sessions) != 1 {
		t.Errorf("kept, the day is %s, told %v, %d sessions", s.a.day.State, s.a.told, len(s.f.facts.History.Sessions))
	}
}

// TestStopOfAPracticeHoldsBeforeItIsKept, as one of a session does.
func TestStopOfAPracticeHoldsBeforeItIsKept(t *testing.T) {
	s := practising(t)
	come := s.later()
	s.a.stopFor(rom.StopWrong)
	s.a.Changed()
	if s.a.day.Practice != nil {
		t.Error("while the report is being kept another practice may begin")
	}
	come()
	if s.a.day.Practice != nil || s.a.told != nil || len(s.f.facts.History.Signs) != 1 {
		t.Errorf("kept: practice %v, told %v, %d reports", s.a.day.Practice, s.a.told, len(s.f.facts.History.Signs))
	}
}

// TestOtherReportOpensNothing: a report that stops nothing, and finds room, does
// not take back a stop that found none.
func TestOtherReportOpensNothing(t *testing.T) {
	s := inHold(t, 1)
	s.f.full = ErrFull
	s.a.stopFor(rom.StopWrong)
	s.a.goTo(PlaceHelp)
	s.a.chooseSign(rom.SignFever)
	s.f.full = nil
	s.a.sendSign(false)
	if s.a.day.State != schedule.Halted {
		t.Errorf("the day is %s", s.a.day.State)
	}
}

// TestTrialsAreNotLost: what was measured is kept when somebody leaves before
// the last trial, and when the clinic ends it.
func TestTrialsAreNotLost(t *testing.T) {
	for name, end := range map[string]func(*scene){
		"home": func(s *scene) { s.a.goTo(PlaceNow) },
		"back": func(s *scene) { s.a.measureBack() },
		"stop": func(s *scene) {
			s.revise(func(p *rom.Plan) { p.State, p.Why = rom.Stopped, "We must see you first." })
		},
	} {
		s := measuring(t)
		s.a.measure.wanted = 3
		s.marksAt(70)
		s.a.useAngle()
		if s.a.measure.reading != nil {
			t.Fatal("one trial of three makes a reading")
		}
		end(s)
		list := s.f.facts.History.Readings
		if len(list) != 1 || list[0].Body.Side != rom.Right || len(list[0].Body.Trials) != 1 || list[0].Body.Angle.Whole() != 70 {
			t.Errorf("%s: %+v is kept", name, list)
		}
	}
}

// TestDangerOutlastsASecondTap: "use" and "done" stand at the same place, and a
// hand that shakes taps twice. What is past the limit stays to be read.
func TestDangerOutlastsASecondTap(t *testing.T) {
	s := measuring(t)
	s.marksAt(150)
	s.a.useAngle()
	if s.a.measure.tier != verdict.Passed {
		t.Fatalf("150 degrees are %v", s.a.measure.tier)
	}
	s.f.pass(200 * time.Millisecond)
	s.a.doneReading()
	if s.a.measure.step != stepResult {
		t.Error("the second tap takes the danger away")
	}
	s.f.pass(time.Second)
	s.a.doneReading() // without a second set: the first decides, and that is to be read, too
	s.a.doneReading()
	if v := s.a.viewResult(); s.a.measure.step != stepResult || !v.Calls {
		t.Errorf("the verdict is %q, calls %v", v.Alert, v.Calls)
	}
	s.f.pass(time.Second)
	s.a.doneReading()
	if s.a.measure.step == stepResult {
		t.Error("done does not end it")
	}
}

// TestOverStopsAWaitingSession: who was told today to stop a stretch is not led
// on by a session that was begun before.
func TestOverStopsAWaitingSession(t *testing.T) {
	s := on(t, 45, 10)
	s.a.startMain()
	s.a.sessionPain(1)
	var stretched []rom.Motion
	for _, it := range s.a.session.m.Draft().Config.Items {
		if it.Motion != "" && !it.Motion.ByLevel() {
			stretched = append(stretched, it.Motion)
		}
	}
	if len(stretched) == 0 {
		t.Fatal("day 45 has no stretch")
	}
	m := stretched[0]
	s.a.goTo(PlaceNow)
	s.reading(45, m, s.a.day.Motion(m).Limit.Ceiling.Whole()+40)
	s.a.Changed()
	if !stops(s.a.tierToday(m)) {
		t.Fatal("the reading is not past the limit")
	}
	s.a.startMain()
	d := s.a.session.m.Draft()
	for i, it := range d.Config.Items {
		if it.Motion == m && d.Items[i].Skipped == "" {
			t.Errorf("%s goes on after its limit was passed", it.Exercise)
		}
	}
}

// TestSkipIsOfItsExercise: an exercise that ends while it is asked why to skip
// it is done; the next one is not skipped in its place.
func TestSkipIsOfItsExercise(t *testing.T) {
	s := on(t, 20, 10)
	s.a.startMain()
	s.a.sessionPain(1)
	s.a.sessionTap(session.Start)
	for v := s.a.session.view; v.Rep < v.Reps || v.State != session.Holding; v = s.a.session.view {
		s.tick(quick)
	}
	s.a.sessionTap(session.Skip)
	for s.a.session.view.Item == 0 {
		s.tick(quick)
	}
	s.a.skipFor(rom.SkipTired)
	for i, x := range s.a.session.m.Draft().Items {
		if x.Skipped != "" {
			t.Errorf("exercise %d is skipped: %s", i+1, x.Skipped)
		}
	}
}

// TestKilledAfterMidnight: a session that was begun before midnight goes on
// when the phone comes back within the hour, as it would have without a kill.
func TestKilledAfterMidnight(t *testing.T) {
	s := inHold(t, 2)
	s.f.now = rom.DateOf(s.f.now).Add(1).Time().Add(4 * time.Minute)
	s.a.sessionTap(session.Pause)
	s.f.pass(2 * time.Minute)
	s.start()
	if !s.a.session.waits() || len(s.f.facts.History.Sessions) != 0 {
		t.Errorf("two minutes later the session is closed: %d records", len(s.f.facts.History.Sessions))
	}
	s.f.pass(time.Hour)
	s.start()
	if s.a.session.waits() || len(s.f.facts.History.Sessions) != 1 {
		t.Errorf("an hour later it waits: %v, %d records", s.a.session.waits(), len(s.f.facts.History.Sessions))
	}
}

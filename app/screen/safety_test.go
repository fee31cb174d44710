package screen

import (
	"strings"
	"testing"
	"time"

	"unsling/app/words"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/engine/session"
)

// withdraw takes the clearance of a phase back, today.
func (s *scene) withdraw(phase string) {
	h := &s.f.facts.History
	n := len(h.Clearances)
	h.Clearances = append(h.Clearances[:n:n], rom.Entry[rom.Clearance]{Meta: s.meta(200+n, s.a.day.Date),
		Body: rom.Clearance{Episode: episodeID, Phase: phase, On: s.a.day.Date, By: surgeon, Withdrawn: true}})
}

// TestWithdrawnClearanceHoldsAtOnce: the plan stays the same revision and goes
// on, but what the phase permitted ends in the middle of a hold.
func TestWithdrawnClearanceHoldsAtOnce(t *testing.T) {
	s := inHold(t, 1)
	s.withdraw(s.a.day.Phase.Key)
	s.a.Changed()
	if v := s.a.session.view; v.State == session.Holding {
		t.Errorf("the hold goes on without clearance: %+v", v)
	}
}

// TestChangeIsNotSwallowed: a record that was written between the arrival of
// a stop and the news of it must not hide the stop from the session.
func TestChangeIsNotSwallowed(t *testing.T) {
	s := inHold(t, 1)
	next := s.plan
	next.State, next.Why, next.Base, next.Rev = rom.Stopped, "We must see you first.", s.plan.Rev, s.plan.Rev+1
	s.addPlan(next)
	s.a.write("pain", rom.Pain{Episode: episodeID, Score: 2, When: rom.PainInMotion}, func(rom.Ref, error) {})
	s.a.Changed()
	if v := s.a.session.view; v.State != session.Stopped {
		t.Errorf("the session goes on in state %s", v.State)
	}
}

// TestOwnSignIsNotTheClinicsWord: a sign told in the middle of a session ends
// it with a call; that the clinic did it would say that somebody has read it.
func TestOwnSignIsNotTheClinicsWord(t *testing.T) {
	s := inHold(t, 1)
	s.a.Arrive("/help", "")
	s.a.chooseSign(rom.SignPop)
	s.a.sendSign(false)
	list := s.f.facts.History.Sessions
	if len(list) != 1 || list[0].Body.Ended != rom.StoppedByMe {
		t.Fatalf("recorded %+v", list)
	}
	v := s.a.viewSession()
	clinics := words.Guided(words.English, string(session.NoticeByClinic), 0)
	if v.Title == clinics || !v.Calls || !v.Alert {
		t.Errorf("the end says %q, calls %v", v.Title, v.Calls)
	}
	for _, said := range s.f.said {
		if said == clinics {
			t.Errorf("said aloud: %q", said)
		}
	}
}

// TestSignThatCannotBeKeptStopsAllTheSame: a full phone does not make a torn
// repair safe to stretch, and nothing says that it is kept.
func TestSignThatCannotBeKeptStopsAllTheSame(t *testing.T) {
	s := on(t, 20, 10)
	s.a.chooseSign(rom.SignPop)
	s.f.full = ErrFull
	s.a.sendSign(false)
	s.a.Changed()
	if s.a.day.State != schedule.Halted {
		t.Fatalf("the day is %s", s.a.day.State)
	}
	v := s.a.viewNow()
	text := strings.Join(v.Text, " ")
	if v.Main != "" || strings.Contains(text, s.a.t(words.KeptNow)) || !strings.Contains(text, s.a.t(words.NotKept)) {
		t.Errorf("the first screen offers %q and says %q", v.Main, text)
	}
	s.f.full = nil
	s.a.sendSign(false)
	if len(s.f.facts.History.Signs) != 1 || s.a.day.State != schedule.Halted || s.a.day.Halt.Record.N == 0 {
		t.Errorf("after there is room: %d signs, the day is %s", len(s.f.facts.History.Signs), s.a.day.State)
	}

	s = inHold(t, 1)
	s.f.full = ErrFull
	s.a.stopFor(rom.StopWrong)
	s.a.Changed()
	if s.a.day.State != schedule.Halted {
		t.Errorf("a session stopped as wrong and not kept: the day is %s", s.a.day.State)
	}
}

// TestRecordOnAFullPhoneIsNotLost: the next session does not take the place
// of one that could not be kept.
func TestRecordOnAFullPhoneIsNotLost(t *testing.T) {
	s := inHold(t, 1)
	s.f.full = ErrFull
	s.a.stopFor(rom.StopTired)
	s.a.Arrive("/", "")
	s.f.pass(3 * time.Hour)
	s.a.startMain()
	s.f.full = nil
	s.a.Changed()
	if n := len(s.f.facts.History.Sessions); n != 1 {
		t.Errorf("%d sessions are kept once there is room", n)
	}
	s.a.Changed()
	if n := len(s.f.facts.History.Sessions); n != 1 {
		t.Errorf("%d sessions are kept after another look", n)
	}
}

// TestSessionOfYesterdayInMemory: an app that stayed open over night closes
// the session that was begun; one that runs past midnight goes on.
func TestSessionOfYesterdayInMemory(t *testing.T) {
	s := inHold(t, 1)
	s.a.Hidden()
	s.f.pass(22 * time.Hour)
	s.a.Back()
	if s.a.session.waits() {
		t.Error("the session of yesterday still waits")
	}
	if list := s.f.facts.History.Sessions; len(list) != 1 || list[0].Body.Due == s.a.day.Date {
		t.Errorf("recorded %+v", list)
	}
	s = inHold(t, 1)
	s.a.Hidden()
	s.f.pass(22 * time.Hour)
	s.f.full = ErrFull
	s.a.Back()
	s.a.startMain()
	s.a.sessionPain(1)
	s.f.full = nil
	s.a.Changed()
	if n := len(s.f.facts.History.Sessions); n != 1 {
		t.Errorf("a full phone: %d sessions of yesterday are kept once there is room", n)
	}
	s = inHold(t, 1)
	s.f.now = rom.DateOf(s.f.now).Add(1).Time().Add(5 * time.Minute) // the same session, over midnight
	s.a.session.touched = s.f.now.Add(-10 * time.Minute)
	s.a.Changed()
	if !s.a.session.waits() {
		t.Error("midnight ends a session")
	}
}

// TestStopEndsAMeasurement: nobody is led on to an end range that the clinic
// has closed meanwhile, in a hold or out of one.
func TestStopEndsAMeasurement(t *testing.T) {
	stop := func(p *rom.Plan) { p.State, p.Why = rom.Stopped, "We must see you first." }
	s := measuring(t)
	s.revise(stop)
	if s.a.measure.step != stepChoose || !s.a.urgent {
		t.Errorf("the measurement goes on at %q, notice %q", s.a.measure.step, s.a.notice)
	}
	s.a.chooseRow(rom.ForwardFlexion, rom.Right)
	if s.a.measure.step != stepChoose {
		t.Error("a measurement begins though the plan is stopped")
	}
	s = inHold(t, 1)
	s.a.measureHold()
	s.revise(stop)
	if s.a.place != PlaceSession || s.a.viewSession().Kind != kindEnd {
		t.Errorf("at %s, the session shows %q", s.a.place, s.a.viewSession().Kind)
	}
}

// TestLockedMotionIsNotMeasured, however the measurement was asked for.
func TestLockedMotionIsNotMeasured(t *testing.T) {
	s := on(t, 20, 10)
	s.a.Arrive("/measure", "")
	for _, m := range rom.Motions {
		s.a.chooseRow(m, rom.Right)
		if s.a.measure.step != stepChoose {
			t.Errorf("day 20: %s of the operated arm is measured outside of a hold", m)
		}
		s.a.closeMeasure()
	}
}

// TestSecondShoulderBooked: the booking of the other shoulder hides nothing
// of the one that heals, and opens no free measuring of it.
func TestSecondShoulderBooked(t *testing.T) {
	s := on(t, 20, 10)
	h := &s.f.facts.History
	h.Episodes = append(h.Episodes, rom.Entry[rom.Episode]{Meta: s.meta(50, s.a.day.Date), Body: rom.Episode{
		ID: "ep-second", Version: 1, State: rom.Planned, Side: rom.Left, Procedures: []rom.Procedure{rom.CuffRepair},
		Surgery: operated.Add(120), By: surgeon}})
	s.a.Changed()
	if s.a.episode != episodeID || s.a.day.State != schedule.Running || s.a.day.Baseline {
		t.Errorf("episode %s, the day is %s, baseline %v", s.a.episode, s.a.day.State, s.a.day.Baseline)
	}
}

// TestShoulderThatDoesNotAgree: the side that was tapped before the phone knew
// its episode, or before the clinic corrected it, stops all until it agrees.
func TestShoulderThatDoesNotAgree(t *testing.T) {
	s := inHold(t, 1)
	h := &s.f.facts.History
	e := h.Episodes[len(h.Episodes)-1]
	e.Body.Version, e.Body.Side = e.Body.Version+1, rom.Left
	h.Episodes = append(h.Episodes[:len(h.Episodes):len(h.Episodes)], e)
	s.a.Changed()
	if s.a.session.waits() {
		t.Error("the session of the other shoulder goes on")
	}
	if s.a.Shown() != PlaceFirst || s.a.viewFirst().Title != s.a.t(words.SideTitle) {
		t.Fatalf("shows %s with %q", s.a.Shown(), s.a.viewFirst().Title)
	}
	if s.a.day.State == schedule.Running {
		t.Error("the day runs")
	}
	s.a.Arrive("/help", "")
	if s.a.Shown() != PlaceHelp {
		t.Error("help is not reached")
	}
	s.a.Arrive("/", "")
	s.a.tapSide(rom.Right)
	if !s.a.viewFirst().Wrong {
		t.Error("the shoulder that is not the clinic's passes")
	}
	s.a.sideAgain()
	s.a.tapSide(rom.Left)
	if s.a.Shown() != PlaceNow || s.a.day.State != schedule.Running {
		t.Errorf("after the right tap: %s, the day is %s", s.a.Shown(), s.a.day.State)
	}
	if n := len(s.f.facts.History.Installs); n < 2 {
		t.Errorf("the clinic hears of %d taps", n)
	}
}

// TestTrialPastTheLimitIsNotAveragedAway: nothing pleasant is said of a trial
// past the limit because the one before fell short.
func TestTrialPastTheLimitIsNotAveragedAway(t *testing.T) {
	s := measuring(t)
	s.a.measure.wanted = 3
	s.marksAt(100)
	s.a.useAngle()
	s.a.moreTrials()
	s.a.gotPicture(Picture{URL: "blob:invented", Width: 900, Height: 1200})
	s.marksAt(138)
	s.a.useAngle()
	if v := s.a.viewResult(); v.Alert != s.a.t(words.TierClose) || len(v.Sentences) != 0 {
		t.Errorf("trials of 100 and 138 under 120 give %q, %v", v.Alert, v.Sentences)
	}
}

// TestStretchPastTheLimitIsNotAskedAgainToday: the stretch that the patient
// was told to stop is in none of today's later sessions.
func TestStretchPastTheLimitIsNotAskedAgainToday(t *testing.T) {
	s := on(t, 45, 10)
	s.reading(45, rom.ForwardFlexion, 140)
	s.a.Changed()
	s.a.startMain()
	if m := s.a.session.m; m != nil {
		for _, it := range m.Draft().Config.Items {
			if it.Motion == rom.ForwardFlexion {
				t.Errorf("%s is asked for again", it.Exercise)
			}
		}
	}
	for _, n := range s.a.viewNow().Card.Names {
		if n == words.ExerciseName(words.English, rom.TableSlideFlexion) {
			t.Errorf("the first screen names %q", n)
		}
	}
	s.f.pass(24 * time.Hour)
	s.a.session = sessionState{}
	s.a.Changed()
	if len(s.a.viewNow().Card.Names) == 0 {
		t.Error("nothing is asked for on the next day")
	}
}

// TestHelpWhileTheDiskIsSilent: the warning signs need no records.
func TestHelpWhileTheDiskIsSilent(t *testing.T) {
	s := on(t, 20, 10)
	s.f.facts.Loaded = false
	s.a.Arrive("/help", "")
	p := &Phone{a: s.a}
	if id, _ := p.page(); !strings.HasPrefix(id, "help") {
		t.Errorf("help shows the page %q", id)
	}
}

// TestReadByWhom: the patient reads who in words, not the key of a person.
func TestReadByWhom(t *testing.T) {
	s := on(t, 20, 10)
	ref := rom.Ref{Author: phoneID, N: 1}
	s.f.facts.History.Seens = []rom.Entry[rom.Seen]{{Meta: s.meta(70, s.a.day.Date), Body: rom.Seen{What: ref, By: "k7x3q9"}}}
	s.a.look()
	if got := s.a.progressOf(ref); strings.Contains(got, "k7x3q9") || !strings.HasPrefix(got, "Read by Harbour") {
		t.Errorf("%q", got)
	}
}

// TestSlowDiskAndTheNextSession: an answer of the disk that comes after the
// next session has begun says nothing of that one, and loses neither.
func TestSlowDiskAndTheNextSession(t *testing.T) {
	for _, fails := range []error{nil, ErrFull} {
		s := inHold(t, 1)
		var late []func()
		s.a.run = func(work, then func()) { late = append(late, func() { s.f.away(work, then) }) }
		s.a.stopFor(rom.StopTired)
		s.a.leaveSession()
		s.a.run = s.f.away
		s.f.pass(4 * time.Hour)
		s.a.startMain()
		s.a.sessionPain(1)
		if !s.a.session.waits() {
			t.Fatal("no next session")
		}
		s.f.full = fails
		for _, f := range late {
			f()
		}
		if s.a.session.state != notKeeping || s.f.kept[draftName] == nil {
			t.Errorf("disk says %v: the next session is taken for kept, or its draft is gone", fails)
		}
		s.f.full = nil
		s.a.Changed()
		if n := len(s.f.facts.History.Sessions); n != 1 {
			t.Errorf("disk says %v: %d sessions kept", fails, n)
		}
	}
}

// TestLevelLimitIsShown: a limit given as a level stands in the session like
// an angle does.
func TestLevelLimitIsShown(t *testing.T) {
	s := inHold(t, 1)
	s.a.session.view.Motion, s.a.session.view.Limit, s.a.session.view.Aim, s.a.session.view.Level = rom.HandBehindBack, nil, nil, rom.LevelL3
	if v := s.a.viewSession(); !strings.Contains(v.Limit, words.Level(words.English, rom.LevelL3)) {
		t.Errorf("the limit reads %q", v.Limit)
	}
}

// TestHelpSaysWhenNobodyReads: once monitoring has ended, or the phone's access
// has, a report that is received looks like one that somebody will read.
func TestHelpSaysWhenNobodyReads(t *testing.T) {
	s := on(t, 200, 10)
	s.episode(rom.Discharged)
	s.a.Changed()
	if v := s.a.viewHelp(); v.Nobody != s.a.t(words.EndedDo) {
		t.Errorf("after the end: %q", v.Nobody)
	}
	s.a.chooseSign(rom.SignFever)
	s.a.sendSign(false)
	s.f.facts.Sending.Acked = s.f.facts.Sending.Written
	s.a.look()
	if v := s.a.viewHelp(); v.Status != s.a.t(words.EndedDo) || strings.Contains(v.Status, s.a.t(words.ReceivedNow)) {
		t.Errorf("a report after the end: %q", v.Status)
	}
	s = on(t, 20, 10)
	s.f.facts.Account.State = Revoked
	s.a.Changed()
	if v := s.a.viewHelp(); v.Nobody != s.a.t(words.Revoked) {
		t.Errorf("without access: %q", v.Nobody)
	}
	if v := on(t, 20, 10).a.viewHelp(); v.Nobody != "" {
		t.Errorf("while all is well: %q", v.Nobody)
	}
}

// TestRestIsNotMeasured: in the rest the arm is down. To measure it then would
// take it to its end range once more, outside of any hold.
func TestRestIsNotMeasured(t *testing.T) {
	s := inHold(t, 1)
	if !s.a.canMeasureHold() {
		t.Fatal("the hold cannot be measured")
	}
	for s.a.session.view.State == session.Holding {
		s.tick(quick)
	}
	if s.a.session.view.State != session.Resting || s.a.canMeasureHold() {
		t.Errorf("measured in state %s", s.a.session.view.State)
	}
}

// TestClockAheadOpensNothing: a clock that the clinic's server found months
// ahead ends no lock and no first six weeks, and the phone says so.
func TestClockAheadOpensNothing(t *testing.T) {
	s := on(t, 20, 10)
	true1 := s.a.day
	const ahead = 100 * 24 * time.Hour
	s.f.now = s.f.now.Add(ahead)
	s.f.facts.Sending.Ahead = ahead
	s.a.Changed()
	if s.a.day.Date != true1.Date || s.a.day.Number != 20 || len(s.a.day.Measures) == 0 || !s.a.day.Measures[0].DuringHold {
		t.Errorf("the day is %v, number %d, measures %+v", s.a.day.Date, s.a.day.Number, s.a.day.Measures)
	}
	if !strings.Contains(strings.Join(s.a.viewNow().Text, " "), s.a.t(words.ClockWrong)) {
		t.Error("nothing says that the clock is wrong")
	}
	s.a.measure = measureState{motion: rom.ForwardFlexion, side: rom.Right, step: stepSetUp, inHold: true}
	if b := s.a.readingBody(); b.On != true1.Date {
		t.Errorf("a reading is dated %v", b.On)
	}
	// The clock is set right: what was found then does not hold any more.
	s.f.now = s.f.now.Add(-ahead)
	s.a.Changed()
	if s.a.day.Date != true1.Date || strings.Contains(strings.Join(s.a.viewNow().Text, " "), s.a.t(words.ClockWrong)) {
		t.Errorf("set right, the day is %v", s.a.day.Date)
	}
}

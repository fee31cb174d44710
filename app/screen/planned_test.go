package screen

import (
	"bytes"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"unsling/app/words"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/engine/session"
)

// TestPracticeLeavesNoSession: whatever is tapped in practices, in any order,
// with the app hidden, left and killed, no session, reading or draft is left,
// and what a day permits, asks and counts after the operation is the same as
// if nobody had practised. What is written are reports, one for each thing told.
func TestPracticeLeavesNoSession(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		s := planned(t, true)
		before := s.f.facts.History
		wrong := 0
		pain := false
		acts := map[string]func(){
			"start": s.a.startPractice,
			"taps": func() {
				k := rapid.SampledFrom([]session.EventKind{session.Start, session.There, session.Done, session.Next, session.Longer, session.Pause, session.Continue, session.NoAnswer}).Draw(r, "tap")
				s.a.sessionTap(k)
			},
			"pain": func() {
				score := rapid.IntRange(0, 10).Draw(r, "score")
				pain = pain || score > 3
				s.a.sessionPain(score)
			},
			"stop": func() {
				why := rapid.SampledFrom([]rom.StopReason{rom.StopPain, rom.StopWrong, rom.StopTired, rom.StopOther}).Draw(r, "why")
				pain = pain || why == rom.StopPain
				if v := s.a.session.view; why == rom.StopWrong && s.a.session.m != nil && !final(v.State) {
					wrong++
				}
				s.a.stopFor(why)
			},
			"skip":  func() { s.a.sessionTap(session.Skip); s.a.skipFor(rom.SkipTired) },
			"sheet": s.a.closeSheet,
			"by tap": func() {
				if s.a.session.m != nil {
					s.a.toggleByTap()
				}
			},
			"time": func() { s.tick(time.Duration(rapid.IntRange(1, 12).Draw(r, "seconds")) * time.Second) },
			"hide": func() { s.a.Hidden(); s.a.Back() },
			"news": s.a.Changed,
			"leave": func() {
				s.a.Arrive(rapid.SampledFrom([]string{"/", "/help", "/measure", "/session", "/first-days"}).Draw(r, "place"), "")
			},
			"home": s.a.leaveSession,
			"kill": s.start,
		}
		names := []string{"start", "start", "taps", "taps", "taps", "taps", "pain", "pain", "stop", "skip", "sheet", "by tap", "time", "time", "hide", "news", "leave", "home", "kill"}
		for range rapid.IntRange(5, 40).Draw(r, "acts") {
			act := rapid.SampledFrom(names).Draw(r, "act")
			if act == "taps" || act == "pain" || act == "stop" || act == "skip" {
				if s.a.session.m == nil {
					continue
				}
			}
			acts[act]()
		}
		s.a.Arrive("/", "")
		signs := 0
		for _, body := range s.f.appended {
			switch b := body.(type) {
			case rom.Sign:
				signs++
			case rom.Pain:
				if !pain || b.Validate() != nil {
					r.Errorf("without strong pain a report of %d was made (%v)", b.Score, b.Validate())
				}
			default:
				r.Errorf("a practice wrote %T", body)
			}
		}
		if signs != wrong {
			r.Errorf("%d times something was wrong, %d reports", wrong, signs)
		}
		if d := s.f.kept[draftName]; d != nil {
			r.Errorf("a practice left the draft %s", d)
		}
		after := s.f.facts.History
		after.Signs, after.Pains = nil, nil
		confirmed := func(h rom.History) rom.History {
			e := h.Episodes[0]
			e.Body.Version, e.Body.State, e.Body.ConfirmedBy, e.Body.SideBy, e.Body.ConfirmedOn = 2, rom.Ongoing, surgeon, "Second Invented", operated
			h.Episodes = append(slices.Clone(h.Episodes), e)
			return h
		}
		for _, n := range []int{0, 3, 16, 60} {
			x := schedule.On(confirmed(before), episodeID, operated.Add(n), 600, schedule.With{})
			y := schedule.On(confirmed(after), episodeID, operated.Add(n), 600, schedule.With{})
			if x.State != y.State || !slices.EqualFunc(x.Due, y.Due, func(a, b schedule.Due) bool {
				return a.Status == b.Status && a.Open == b.Open && a.Counted == b.Counted
			}) || !slices.Equal(x.Measures, y.Measures) {
				r.Errorf("day %d differs after a practice: %v %v", n, x.Due, y.Due)
			}
		}
	})
}

// TestPracticeSaysSoOnEveryPage: all pages of a practice carry the mark, and
// those of a session do not.
func TestPracticeSaysSoOnEveryPage(t *testing.T) {
	n := 0
	for _, x := range shots(t) {
		for _, l := range words.Langs {
			x.a.prefs.Language = l
			mark, _ := x.a.practiceMark()
			marked := strings.Contains(document(x.a, ""), `id="practice"`)
			if want := strings.HasPrefix(x.name, "practice-"); want != marked || marked != (mark != "") {
				t.Errorf("%s: marked as practice %v, want %v", x.name, marked, want)
			}
			if mark != "" {
				n++
			}
		}
	}
	if n < 20 {
		t.Errorf("only %d pages of a practice", n)
	}
}

// TestPracticeOfTheOtherArm: the figure is that of the arm that is not to be
// operated, two short holds, no limit and nothing to measure.
func TestPracticeOfTheOtherArm(t *testing.T) {
	s := planned(t, true)
	s.a.startPractice()
	if v := s.a.viewSession(); v.Kind != kindPain || v.Options || v.CapRule != s.a.t(words.PracticePain) {
		t.Fatalf("the first page: %+v", v)
	}
	s.a.sessionPain(1)
	v := s.a.viewSession()
	if s.a.sessionSide() != rom.Left || v.Dose != "2 times, hold 8 seconds" || v.Limit != "" {
		t.Errorf("practice of %s: %q, limit %q", s.a.sessionSide(), v.Dose, v.Limit)
	}
	s.toTheEnd()
	if v := s.a.viewSession(); v.Title != s.a.t(words.PracticeEnd) || v.Status != s.a.t(words.PracticeKept) || len(v.Did) > 0 {
		t.Errorf("the end: %+v", v)
	}
	for _, want := range []string{"begin", "end"} {
		if !slices.Contains(s.f.tones, want) {
			t.Errorf("no tone %q was heard: %v", want, s.f.tones)
		}
	}
	s.a.leaveSession()
	if len(s.f.appended) != 0 || s.a.place != PlaceNow {
		t.Errorf("wrote %v, is at %s", s.f.appended, s.a.place)
	}
	s.start()
	if sub := s.a.viewNow().Tasks[0].Sub; sub != "Done: today. Again when you like." {
		t.Errorf("the next day says %q", sub)
	}
}

// TestPracticeReports: pain and "something is wrong" in a practice are reports,
// told as kept only when they are.
func TestPracticeReports(t *testing.T) {
	hold := func() *scene {
		s := practising(t)
		s.a.sessionTap(session.Start)
		s.tick(12 * time.Second)
		return s
	}
	s := hold()
	s.a.sessionTap(session.Stop)
	s.a.stopFor(rom.StopPain)
	if v := s.a.viewSession(); v.Kind != kindPain || len(s.f.appended) != 0 {
		t.Fatalf("the stop for pain asks for no score: %+v", v)
	}
	s.a.sessionPain(7)
	if len(s.f.appended) != 1 || s.f.appended[0] != any(rom.Pain{Episode: episodeID, Score: 7, When: rom.PainInMotion}) {
		t.Errorf("wrote %+v", s.f.appended)
	}
	if v := s.a.viewSession(); v.Kind != kindEnd || !v.Calls || v.Status != s.a.t(words.KeptNow) {
		t.Errorf("the end: %+v", v)
	}

	s = hold()
	s.f.full = ErrFull
	s.a.stopFor(rom.StopWrong)
	v := s.a.viewSession()
	if v.Title != s.a.t(words.WrongTitle) || !v.Calls || !v.Retry || v.Status == s.a.t(words.KeptNow) {
		t.Errorf("on a full phone: %+v", v)
	}
	s.a.Arrive("/", "")
	if s.a.day.Practice != nil {
		t.Error("the practice is offered again at once")
	}
	s.f.full = nil
	s.a.Changed()
	if len(s.f.appended) != 1 || s.f.appended[0] != any(rom.Sign{Episode: episodeID, Sign: rom.SignOther}) {
		t.Errorf("wrote %+v", s.f.appended)
	}
	s.a.look()
	if s.a.day.Practice != nil || s.a.viewNow().Tasks[0].ID == "to-practice" {
		t.Error("after a warning sign of today the practice is offered")
	}
}

// TestPracticeWithSomePain: a sore shoulder does not keep one from practising
// with the other arm; strong pain does.
func TestPracticeWithSomePain(t *testing.T) {
	s := planned(t, true)
	s.a.startPractice()
	s.a.sessionPain(5)
	if v := s.a.viewSession(); v.Kind != kindReady || s.a.session.view.PainCap != 5 {
		t.Errorf("with 5 of 10: %s, cap %d", v.Kind, s.a.session.view.PainCap)
	}
	s.toTheEnd()
	if len(s.f.appended) != 0 {
		t.Errorf("pain that got no worse was reported: %v", s.f.appended)
	}
	s = planned(t, true)
	s.a.startPractice()
	s.a.sessionPain(8)
	if v := s.a.viewSession(); v.Kind != kindPain || v.Notice == "" {
		t.Errorf("with 8 of 10 the practice begins: %+v", v)
	}
	s.a.Arrive("/", "")
	if len(s.f.appended) != 1 || s.f.appended[0] != any(rom.Pain{Episode: episodeID, Score: 8, When: rom.PainAtRest}) {
		t.Errorf("wrote %+v", s.f.appended)
	}
}

// TestPracticeGivesWay: what the clinic changes ends a practice at once.
func TestPracticeGivesWay(t *testing.T) {
	for name, change := range map[string]func(*scene){
		"stopped":   func(s *scene) { s.f.facts.History.Plans[0].Body.State = rom.Stopped },
		"postponed": func(s *scene) { s.f.facts.History.Episodes[0].Body.Postponed = true },
		"operated":  func(s *scene) { s.episode(rom.Ongoing) },
		"day":       func(s *scene) { s.f.now = operated.Time().Add(time.Hour) },
	} {
		s := practising(t)
		s.a.sessionTap(session.Start)
		s.tick(11 * time.Second)
		change(s)
		s.a.Changed()
		if s.a.session.waits() || s.a.place != PlaceNow || s.a.notice == "" {
			t.Errorf("%s: the practice goes on at %s", name, s.a.place)
		}
		s.a.startPractice()
		if s.a.session.m != nil {
			t.Errorf("%s: another practice begins", name)
		}
	}
	s := practising(t)
	s.f.pass(26 * time.Hour)
	s.a.Changed()
	if len(s.f.appended) != 0 {
		t.Errorf("a practice of yesterday became %v", s.f.appended)
	}
	s = practising(t)
	s.a.Arrive("/help", "")
	if !s.a.session.waits() {
		t.Error("asking for help ends the practice")
	}
	s.a.helpBack()
	if s.a.place != PlaceSession || !s.a.session.waits() {
		t.Errorf("from help back to %s", s.a.place)
	}
}

// TestBaselineBeforeAndAfter: the good arm comes first, done and left are told
// apart, a postponed date keeps what was measured, and after the operation
// nothing of it is a last time.
func TestBaselineBeforeAndAfter(t *testing.T) {
	s := planned(t, true)
	s.a.Arrive("/measure", "")
	v := s.a.viewMeasureList()
	if v.Danger != s.a.t(words.BaselineEasy) || len(v.Asked) < 4 || v.Asked[0].Side != rom.Left || v.Asked[1].Side != rom.Right || v.Asked[0].Motion != v.Asked[1].Motion {
		t.Fatalf("the list: %+v", v)
	}
	s.a.chooseRow(rom.ForwardFlexion, rom.Right)
	s.a.chooseWay(0)
	if set := s.a.viewSetUp(); set.Danger != s.a.t(words.BaselineEasy) || !strings.Contains(set.Title, "right arm") || s.a.measure.wanted != 3 {
		t.Errorf("the set-up: %+v, %d trials", set, s.a.measure.wanted)
	}
	s.f.picture = Picture{URL: inventedPicture, Width: 900, Height: 1200}
	for range 3 {
		s.a.takePhoto()
		s.marksAt(150)
		s.a.useAngle()
		s.a.moreTrials()
	}
	if len(s.f.appended) != 1 {
		t.Fatalf("wrote %v", s.f.appended)
	}
	if r := s.f.appended[0].(rom.Reading); !r.Baseline || r.Side != rom.Right || len(r.Trials) != 3 || r.Validate() != nil {
		t.Errorf("wrote %+v", r)
	}
	s.a.measureLeave()
	if v := s.a.viewMeasureList(); len(v.Others) != 1 || v.Others[0].Side != rom.Right || v.OthersHead != s.a.t(words.BaselineDone) {
		t.Errorf("what is done: %+v", v.Others)
	}
	if done, of := s.a.baselineMeasured(); done != 1 || of < 4 {
		t.Errorf("%d of %d", done, of)
	}
	h := &s.f.facts.History
	h.Episodes[0].Body.Postponed = true
	s.a.Changed()
	if v := s.a.viewNow(); !slices.Contains(v.Text, s.a.t(words.KeepsAll)) || len(v.Tasks) != 0 {
		t.Errorf("postponed: %q, %v", v.Text, v.Tasks)
	}
	s.a.chooseRow(rom.ForwardFlexion, rom.Right)
	if s.a.measure.step != stepChoose {
		t.Error("postponed, and an arm is measured")
	}
	s.episode(rom.Ongoing)
	s.f.now = operated.Add(45).Time().Add(10 * time.Hour)
	s.a.Changed()
	if _, ok := s.a.lastReading(rom.ForwardFlexion, rom.Right); ok {
		t.Error("the operated arm is compared with what it reached before")
	}
	s.reading(44, rom.ForwardFlexion, 60)
	s.a.look()
	if n, gain := s.a.gained(rom.ForwardFlexion, operated.Add(40)); n != 1 || gain != 0 {
		t.Errorf("%d readings of the week, %d more than before", n, gain)
	}
	if line := s.a.sinceLine(rom.ForwardFlexion, operated.Add(10)); strings.Contains(line, "less") {
		t.Errorf("since the last visit: %q", line)
	}
}

// TestTicksStayOnThePhone: ticks are kept on this phone, written nowhere, and
// belong to the operation that is planned.
func TestTicksStayOnThePhone(t *testing.T) {
	s := planned(t, true)
	s.a.goTo(PlaceDays)
	if !s.a.viewDays().Tries || len(words.Tries()) != 6 {
		t.Fatal("nothing to tick")
	}
	for _, key := range []string{"hand", "strap", "hand", "unheard of"} {
		s.a.tick(key)
	}
	s.start()
	if s.a.tried("hand") || !s.a.tried("strap") || len(s.a.prefs.Planned.Tried) != 1 || len(s.f.appended) != 0 {
		t.Errorf("ticked %v, wrote %v", s.a.prefs.Planned.Tried, s.f.appended)
	}
	if !bytes.Contains(s.f.kept[prefsName], []byte("strap")) {
		t.Errorf("kept %s", s.f.kept[prefsName])
	}
	s.a.episode = "ep-second"
	if s.a.tried("strap") {
		t.Error("the ticks of one shoulder stand for the other")
	}
	s = on(t, 3, 10)
	s.a.goTo(PlaceDays)
	if s.a.viewDays().Tries {
		t.Error("after the operation there is still a list to try")
	}
}

// TestBeforeItsHour: before the hour of a session the first screen says from
// when it is planned, and offers it as soon as the schedule has it open.
func TestBeforeItsHour(t *testing.T) {
	s := on(t, 20, 7)
	v := s.a.viewNow()
	due, _ := s.a.day.NextDue()
	if !due.Open || due.From <= s.a.day.Minute {
		t.Fatalf("the scenario is not before an open session's hour: %+v", due)
	}
	if v.Main != s.a.t(words.StartNow) || v.Card.About != "Planned from "+clockOf(due.From)+". You may start now." {
		t.Errorf("before its hour: %q, %q", v.Main, v.Card.About)
	}
	s.a.startMain()
	s.a.sessionPain(1)
	for s.a.session.view.State != session.Asking {
		if s.a.session.view.State == session.Ready {
			s.a.sessionTap(session.Start)
		}
		if s.a.session.view.NoHold && s.a.session.view.State == session.Moving {
			s.a.sessionTap(session.Done)
		}
		s.tick(time.Second)
	}
	s.a.sessionPain(1)
	s.a.leaveSession()
	due, ok := s.a.day.NextDue()
	if !ok || due.Open {
		t.Fatalf("right after a session: %+v", due)
	}
	if v := s.a.viewNow(); v.Main != "" || v.Card.About != "You may start from "+clockOf(due.NotBefore)+". Rest the arm until then." {
		t.Errorf("right after a session: %q, %q", v.Main, v.Card.About)
	}
}

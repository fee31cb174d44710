package screen

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"unsling/app/words"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/engine/session"
)

// TestThreeTapsToTheFirstHold counts the taps from opening the phone to the
// first hold of the day: the big button, the pain score, start.
func TestThreeTapsToTheFirstHold(t *testing.T) {
	s := on(t, 20, 10)
	if s.a.Shown() != PlaceNow || s.a.viewNow().Main == "" {
		t.Fatalf("opening shows %s with the button %q", s.a.Shown(), s.a.viewNow().Main)
	}
	taps := 0
	for _, tap := range []func(){s.a.startMain, func() { s.a.sessionPain(1) }, func() { s.a.sessionTap(session.Start) }} {
		tap()
		taps++
	}
	s.tick(11 * time.Second)
	if got := s.a.session.view.State; got != session.Holding || taps > 3 {
		t.Fatalf("after %d taps the session is %s", taps, got)
	}
	if v := s.a.viewSession(); v.Kind != kindRun || v.Big == "" || v.State != s.a.t(words.StateHold) {
		t.Errorf("the hold shows %+v", v)
	}
	if !s.f.awake {
		t.Error("the screen is not kept lit")
	}
	if len(s.f.said) == 0 || len(s.f.tones) == 0 {
		t.Error("nothing was said or sounded")
	}
}

// inHold brings a session to its n-th hold.
func inHold(t testing.TB, n int) *scene {
	s := on(t, 20, 10)
	s.a.startMain()
	s.a.sessionPain(1)
	s.a.sessionTap(session.Start)
	for s.a.session.view.State != session.Holding || s.a.session.view.Rep < n {
		s.tick(quick)
	}
	s.tick(5 * time.Second)
	return s
}

func TestKilledInAHoldGoesOnAtTheSameHold(t *testing.T) {
	s := inHold(t, 3)
	before := s.a.session.view
	s.f.pass(40 * time.Second) // the phone is gone
	s.f.mono = 5               // a new start has a new clock
	s.start()
	if !s.a.session.waits() {
		t.Fatal("nothing waits after the restart")
	}
	if v := s.a.viewNow(); v.Main != s.a.t(words.GoOn) {
		t.Errorf("the big button says %q", v.Main)
	}
	s.a.startMain()
	v := s.a.session.view
	if v.State != session.Paused || v.Rep != before.Rep || v.Counted != before.Counted || v.Exercise != before.Exercise {
		t.Errorf("resumed at %+v, was %+v", v, before)
	}
	s.a.sessionTap(session.Continue)
	s.tick(11 * time.Second)
	if s.a.session.view.State != session.Holding {
		t.Errorf("after going on the session is %s", s.a.session.view.State)
	}
}

func TestKeptIsSaidOnlyAfterTheRecordIsDurable(t *testing.T) {
	s := inHold(t, 2)
	s.f.full = ErrFull
	s.a.stopFor(rom.StopTired)
	v := s.a.viewSession()
	if strings.Contains(v.Status, s.a.t(words.KeptNow)) || !v.Retry {
		t.Fatalf("nothing is on disk and the screen says %q", v.Status)
	}
	if s.f.kept[draftName] == nil {
		t.Fatal("the draft is gone though the record is not kept")
	}
	if len(s.f.facts.History.Sessions) != 0 {
		t.Fatal("a record appeared")
	}
	s.f.full = nil
	s.a.leaveSession() // "try again"
	if v := s.a.viewSession(); v.Status != s.a.t(words.KeptNow) {
		t.Errorf("after the second try the screen says %q", v.Status)
	}
	if s.f.kept[draftName] != nil || len(s.f.facts.History.Sessions) != 1 {
		t.Errorf("draft %v, %d sessions", s.f.kept[draftName] != nil, len(s.f.facts.History.Sessions))
	}
	body := s.f.facts.History.Sessions[0].Body
	if err := body.Validate(); err != nil || body.Counted() != 1 || body.Stop != rom.StopTired {
		t.Errorf("the record is %+v (%v)", body, err)
	}
}

func TestDraftOfAnotherDayIsClosedAsItStands(t *testing.T) {
	s := inHold(t, 3)
	s.f.now = s.f.now.Add(24 * time.Hour)
	s.start()
	if s.a.session.waits() {
		t.Error("yesterday's session waits")
	}
	if n := len(s.f.facts.History.Sessions); n != 1 {
		t.Fatalf("%d sessions recorded", n)
	}
	if got := s.f.facts.History.Sessions[0].Body; got.Ended != rom.Interrupted || got.Counted() != 2 {
		t.Errorf("recorded %+v", got)
	}
	if s.f.kept[draftName] != nil {
		t.Error("the draft is still there")
	}
}

func TestDamagedDraftIsNoTrap(t *testing.T) {
	for _, data := range []string{"{", `{"draft":{}}`, `{"at":"2026-03-22T10:00:00Z","draft":{"v":1,"items":[]}}`, strings.Repeat("x", 1<<16)} {
		s := on(t, 20, 10)
		s.f.kept[draftName] = []byte(data)
		s.start()
		if s.a.session.waits() || s.a.viewNow().Main != s.a.t(words.StartNow) {
			t.Errorf("a damaged draft of %d bytes blocks the day", len(data))
		}
	}
}

func TestNarrowerPlanHoldsAtOnce(t *testing.T) {
	s := inHold(t, 2)
	was := *s.a.session.view.Limit
	s.revise(func(p *rom.Plan) {
		for i := range p.Phases {
			for j := range p.Phases[i].Limits {
				if l := &p.Phases[i].Limits[j]; l.Motion == rom.ForwardFlexion && !l.Open {
					l.Ceiling -= rom.Deg(30)
					l.Floor, l.ActiveCeil = 0, 0
				}
			}
		}
	})
	v := s.a.session.view
	if v.Limit == nil || *v.Limit != was-rom.Deg(30) || v.State == session.Holding {
		t.Errorf("the session still obeys the old limit: %+v", v)
	}
	if shown := s.a.viewSession().Notice; shown != words.Guided(words.English, string(session.NoticeNarrowed), 0) {
		t.Errorf("the screen says %q", shown)
	}
	s.revise(func(p *rom.Plan) { p.State, p.Why = rom.Stopped, "We must see you first." })
	e := s.a.viewSession()
	if e.Kind != kindEnd || !e.Alert || !e.Calls {
		t.Errorf("a stopped plan shows %+v", e)
	}
	if n := len(s.f.facts.History.Sessions); n != 1 || s.f.facts.History.Sessions[0].Body.Ended != rom.ByClinic {
		t.Errorf("the session was not recorded as ended by the clinic")
	}
}

func TestSomethingIsWrongHaltsTheProgramme(t *testing.T) {
	s := inHold(t, 1)
	s.a.sessionTap(session.Stop)
	if s.a.session.running() {
		t.Error("the timer runs on behind the question")
	}
	s.a.stopFor(rom.StopWrong)
	v := s.a.viewSession()
	if v.Kind != kindEnd || !v.Calls || !v.Alert || len(v.Figures) != 1 {
		t.Errorf("the stop screen is %+v", v)
	}
	s.a.leaveSession()
	if s.a.day.State != schedule.Halted {
		t.Fatalf("the day is %s", s.a.day.State)
	}
	now := s.a.viewNow()
	if now.Main != "" || !now.Calls || !now.Urgent {
		t.Errorf("the first screen offers %q", now.Main)
	}
	s.a.startMain()
	if s.a.session.m != nil {
		t.Error("a session starts though the programme is halted")
	}
}

func TestHiddenAppHoldsTheSession(t *testing.T) {
	s := inHold(t, 1)
	s.a.Hidden()
	if s.a.session.view.State != session.Paused || s.a.Ticking() {
		t.Errorf("a hidden app leaves the session %s", s.a.session.view.State)
	}
	s.a.Arrive("/help", "")
	s.a.helpBack()
	if s.a.place != PlaceSession {
		t.Errorf("back from help leads to %s", s.a.place)
	}
}

func TestLeavingBeforeAnythingWasDoneIsNoRecord(t *testing.T) {
	s := on(t, 20, 10)
	s.a.startMain()
	s.a.forgetSession()
	if s.a.session.waits() || len(s.f.appended) != 0 {
		t.Errorf("leaving left %v", s.f.kinds)
	}
}

func TestMutedSessionIsSilent(t *testing.T) {
	s := on(t, 20, 10)
	s.a.setSound(false)
	s.a.setVoice(false)
	s.f.said, s.f.tones = nil, nil
	s.a.startMain()
	s.a.sessionPain(0)
	s.a.sessionTap(session.Start)
	s.tick(40 * time.Second)
	if len(s.f.said)+len(s.f.tones) != 0 {
		t.Errorf("said %v, tones %v", s.f.said, s.f.tones)
	}
	if s.f.vibrated == 0 {
		t.Error("nothing vibrated")
	}
}

// TestPreviewEndsWithinFiveSeconds: what moves by itself stops within five
// seconds (WCAG 2.2, success criterion 2.2.2).
func TestPreviewEndsWithinFiveSeconds(t *testing.T) {
	s := on(t, 20, 10)
	s.a.startMain()
	s.a.sessionPain(0)
	if !s.a.Ticking() {
		t.Fatal("the preview does not move")
	}
	drawn := map[string]bool{}
	changes := 0
	for i := 0; i < 50; i++ {
		s.f.pass(quick)
		if s.a.Tick() {
			changes++
			drawn[s.a.viewSession().Figures[0]] = true
		}
	}
	if len(drawn) < 10 || changes < len(drawn) {
		t.Errorf("the preview showed %d pictures in %d changes", len(drawn), changes)
	}
	if s.a.Ticking() {
		t.Error("the preview still moves after five seconds")
	}
	s.a.prefs.Still = true
	s.a.replay()
	if s.a.Ticking() || len(s.a.viewSession().Figures) != 2 {
		t.Error("a patient who wants still pictures sees a moving one")
	}
}

func TestPrefsSurviveAndOddOnesFallBack(t *testing.T) {
	s := on(t, 20, 10)
	s.a.setHand(rom.Right)
	s.a.setSize(2)
	s.a.chooseLanguage(words.Spanish)
	s.start()
	if p := s.a.prefs; p.FreeHand != rom.Right || p.Size != 2 || p.Language != words.Spanish {
		t.Errorf("after a restart: %+v", p)
	}
	odd, _ := json.Marshal(map[string]any{"lang": "xx", "hand": "third", "size": 99, "first": -4})
	if p := readPrefs(odd, About{Languages: []string{"es"}}); p.Language != words.Spanish || p.FreeHand != rom.Right || p.Size != 2 || p.First != 0 {
		t.Errorf("odd preferences give %+v", p)
	}
}

// TestMedicineBeforeASession: yes, no and not said are three answers, and the last is nobody's guess.
func TestMedicineBeforeASession(t *testing.T) {
	yes, no := true, false
	for _, c := range []struct {
		tap  func(*App)
		want *bool
		view Answer
	}{
		{func(*App) {}, nil, NotKnown},
		{func(a *App) { a.tookMedicine(true) }, &yes, Yes},
		{func(a *App) { a.tookMedicine(true); a.tookMedicine(false) }, &no, No},
	} {
		s := on(t, 20, 10)
		s.a.startMain()
		c.tap(s.a)
		if got := s.a.viewSession().Med; got != c.view {
			t.Errorf("the page shows %v, want %v", got, c.view)
		}
		s.a.sessionPain(1)
		s.a.sessionTap(session.Stop)
		s.a.stopFor(rom.StopNoTime)
		r := s.a.session.record
		if r == nil || (r.Medicine == nil) != (c.want == nil) || r.Medicine != nil && *r.Medicine != *c.want {
			t.Errorf("the record says %+v, want %v", r, c.want)
		}
	}
}

// TestEndSaysWhatComesNext: an hour that has passed is nothing to wait for.
func TestEndSaysWhatComesNext(t *testing.T) {
	s := on(t, 20, 10)
	due, ok := s.a.day.NextDue()
	if from := max(due.From, due.NotBefore); !ok || (s.a.nextSession() != "") != (from > s.a.day.Minute) {
		t.Errorf("at minute %d, next from %d: %q", s.a.day.Minute, from, s.a.nextSession())
	}
	s.a.day.Minute = max(due.From, due.NotBefore) - 1
	if want := "Next session: " + s.a.f(words.FromHour, clockOf(max(due.From, due.NotBefore))); s.a.nextSession() != want {
		t.Errorf("a minute before: %q, want %q", s.a.nextSession(), want)
	}
	s.a.day.Minute += 1
	if got := s.a.nextSession(); got != "" {
		t.Errorf("when its hour has come: %q", got)
	}
	s.a.day.Due, s.a.day.DoneForToday = nil, true
	if got := s.a.nextSession(); got != s.a.t(words.DoneToday) {
		t.Errorf("a day that is done: %q", got)
	}
}

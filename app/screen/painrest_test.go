package screen

import (
	"errors"
	"strings"
	"testing"
	"time"

	"unsling/app/words"
	"unsling/engine/rom"
	"unsling/engine/schedule"
)

// rests reports that the day's page offers no way to begin and says why, and that no tap begins.
func (s *scene) rests(t *testing.T, when string, why words.Text, calls bool) {
	t.Helper()
	s.a.Arrive("/", "")
	v := s.a.viewNow()
	if v.Main != "" || v.Card == nil || v.Card.When != s.a.t(why) || v.Card.About == "" || v.Calls != calls {
		t.Errorf("%s: main %q, calls %t, card %+v", when, v.Main, v.Calls, v.Card)
	}
	for _, x := range v.Tasks {
		if strings.HasPrefix(x.ID, "measure-") {
			t.Errorf("%s: %s is offered", when, x.ID)
		}
	}
	was := s.a.session.m
	s.a.startMain()
	if s.a.session.m != was || s.a.place != PlaceNow {
		t.Errorf("%s: a tap begins a session", when)
	}
}

// A high score before a session ends it: no second answer a moment later starts it, and the day's page knows.
func TestPainBeforeASession(t *testing.T) {
	s := on(t, 20, 10)
	s.a.startMain()
	s.a.sessionPain(8)
	s.rests(t, "at once", words.RestScore, false)
	p, ok := s.f.appended[len(s.f.appended)-1].(rom.Pain)
	if !ok || p.Score != 8 || p.When != rom.PainAtRest || p.Validate() != nil {
		t.Errorf("kept %+v", s.f.appended)
	}
	s.f.pass(14 * time.Minute)
	s.rests(t, "after 14 minutes", words.RestScore, false)
	s.start() // the app was killed
	s.rests(t, "after a start anew", words.RestScore, false)
	s.f.pass(time.Minute)
	s.a.Arrive("/", "")
	if v := s.a.viewNow(); v.Main != s.a.t(words.StartNow) {
		t.Fatalf("after a quarter of an hour: %q", v.Main)
	}
	s.a.startMain()
	s.a.sessionPain(s.a.day.PainCap)
	if v := s.a.viewSession(); v.Kind != kindReady {
		t.Errorf("a score at the cap leads to %s", v.Kind)
	}
}

// The score holds though nothing can be kept.
func TestPainBeforeASessionOnAFullDisk(t *testing.T) {
	s := on(t, 20, 10)
	s.a.startMain()
	s.f.full = errors.New("full")
	s.a.sessionPain(8)
	s.rests(t, "not kept", words.RestScore, false)
	s.f.full = nil
	s.a.keepLate()
	if p, ok := s.f.appended[len(s.f.appended)-1].(rom.Pain); !ok || p.Score != 8 {
		t.Errorf("kept later: %+v", s.f.appended)
	}
}

// A session stopped for pain closes the programme until the gap is over, then pain is asked again.
func TestStoppedForPain(t *testing.T) {
	s := inHold(t, 1)
	s.a.stopFor(rom.StopPain)
	if s.a.viewSession().Kind == kindPain {
		s.a.sessionPain(7)
	}
	s.a.leaveSession()
	s.rests(t, "at once", words.RestStopped, false)
	gap := max(time.Hour, time.Duration(s.a.day.Plan.LeastGap)*time.Minute)
	s.f.pass(gap - time.Minute)
	s.rests(t, "before the gap is over", words.RestStopped, false)
	s.f.pass(2 * time.Minute)
	s.a.Arrive("/", "")
	if v := s.a.viewNow(); v.Main == "" {
		t.Fatalf("after the gap: %+v", v.Card)
	}
	s.a.startMain()
	if v := s.a.viewSession(); v.Kind != kindPain {
		t.Errorf("pain is not asked again: %s", v.Kind)
	}
}

// A bad night closes the day.
func TestBadNight(t *testing.T) {
	s := on(t, 20, 8)
	s.a.openMorning()
	s.a.morningScore(8)
	s.a.morningWorn("as-asked")
	s.rests(t, "in the morning", words.RestNight, true)
	s.f.pass(12 * time.Hour)
	s.rests(t, "in the evening", words.RestNight, true)
	s.f.pass(12 * time.Hour)
	s.a.Arrive("/", "")
	if s.a.day.PainRest != nil {
		t.Errorf("the next morning: %+v", s.a.day.PainRest)
	}
}

// A session ended when tired is taken up for its rest, with one verb and one time.
func TestRestOfATiredSession(t *testing.T) {
	s := inHold(t, 1)
	before := s.a.session.m.Draft().Config.Items
	s.tick(21 * time.Second)
	s.a.stopFor(rom.StopTired)
	if s.a.viewSession().Kind == kindPain {
		s.a.sessionPain(1)
	}
	s.a.leaveSession()
	s.a.Arrive("/", "")
	due, ok := s.a.day.NextDue()
	if !ok || due.Status != schedule.Partly || !due.Open {
		t.Fatalf("%+v", due)
	}
	v := s.a.viewNow()
	if v.Main != s.a.t(words.GoOn) || v.Card.About != "" || strings.Contains(v.Card.Kicker, ":") {
		t.Errorf("main %q, card %+v", v.Main, v.Card)
	}
	s.a.startMain()
	items := s.a.session.m.Draft().Config.Items
	if len(items) == 0 || items[0].Exercise != before[0].Exercise || items[0].Dose.Reps != before[0].Dose.Reps-1 {
		t.Errorf("%d of %d are asked again", items[0].Dose.Reps, before[0].Dose.Reps)
	}
}

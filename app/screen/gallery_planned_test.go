package screen

import (
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/engine/session"
)

// planned is a phone some days before a booked operation, with a plan or
// without one.
func planned(t testing.TB, plan bool) *scene {
	t.Helper()
	s := on(t, 20, 10)
	if !plan {
		s.f.facts.History.Plans = nil
		s.f.facts.Following = 0
	}
	h := &s.f.facts.History
	h.Episodes, h.Clearances = nil, nil
	for i := range h.Plans {
		h.Plans[i].Body.On = operated.Add(-30)
	}
	s.f.facts.Sending.Contact, s.f.facts.Sending.Confirmed = time.Time{}, time.Time{}
	s.episode(rom.Planned)
	s.f.now = operated.Add(-9).Time().Add(10 * time.Hour)
	s.start()
	return s
}

// practising is a practice whose question of pain was answered.
func practising(t testing.TB) *scene {
	s := planned(t, true)
	s.a.startPractice()
	s.a.sessionPain(1)
	return s
}

// plannedShots are the pages of the time before the operation.
func plannedShots(t testing.TB) []shot {
	var out []shot
	add := func(name string, s *scene) { out = append(out, shot{name, s.a}) }
	begun := func() *scene {
		s := planned(t, true)
		s.a.prefs.Planned = plannedPrefs{Episode: episodeID, Practised: operated.Add(-10), Tried: []string{"hand", "strap"}}
		for _, side := range []rom.Side{rom.Left, rom.Right} {
			s.f.facts.History.Readings = append(s.f.facts.History.Readings, rom.Entry[rom.Reading]{Meta: s.meta(60, operated.Add(-10)), Body: rom.Reading{
				Episode: episodeID, Side: side, Motion: rom.ForwardFlexion, Class: rom.Passive, Method: rom.Photo, Angle: rom.Deg(150), SE: rom.Deg(5), Baseline: true}})
		}
		s.a.look()
		return s
	}
	add("planned-begun", begun())
	s := begun()
	s.f.facts.History.Episodes[0].Body.Postponed = true
	s.a.look()
	add("planned-postponed", s)
	s = begun()
	s.f.facts.History.Plans[0].Body.State, s.f.facts.History.Plans[0].Body.Why = rom.Paused, "We want to see you first."
	s.a.look()
	add("planned-paused", s)
	s = begun()
	s.a.goTo(PlaceMeasure)
	add("planned-measure", s)
	add("planned-set-up", func() *scene {
		s := begun()
		s.a.goTo(PlaceMeasure)
		s.a.chooseRow(rom.ERSide, rom.Right)
		s.a.chooseWay(0)
		return s
	}())
	s = begun()
	s.a.goTo(PlaceDays)
	add("planned-sling", s)

	s = planned(t, true)
	s.a.startPractice()
	add("practice-pain", s)
	add("practice-ready", practising(t))
	hold := func() *scene {
		s := practising(t)
		s.a.sessionTap(session.Start)
		s.tick(5 * time.Second)
		s.tick(5 * time.Second)
		s.tick(3 * time.Second)
		return s
	}
	add("practice-hold", hold())
	s = hold()
	s.a.sessionTap(session.Pause)
	add("practice-paused", s)
	s = hold()
	s.tick(7 * time.Second)
	add("practice-rest", s)
	s = hold()
	s.a.sessionTap(session.Stop)
	add("practice-stop-sheet", s)
	add("practice-asks-pain", func() *scene {
		s := hold()
		s.a.sessionTap(session.Stop)
		s.a.stopFor(rom.StopPain)
		return s
	}())
	s = hold()
	s.a.stopFor(rom.StopPain)
	s.a.sessionPain(6)
	add("practice-pain-stop", s)
	s = hold()
	s.a.stopFor(rom.StopWrong)
	add("practice-wrong", s)
	s = practising(t)
	s.toTheEnd()
	add("practice-done", s)
	s = planned(t, true)
	s.f.facts.History.Plans[0].Body.Closed = []rom.ExerciseID{rom.TableSlideFlexion, rom.TableSlideAbduction}
	s.a.look()
	s.a.startPractice()
	s.a.sessionPain(0)
	add("practice-hand", s)

	s = on(t, 20, 8)
	s.f.now = operated.Add(20).Time().Add(7*time.Hour + 10*time.Minute)
	s.a.look()
	add("now-before-its-hour", s)
	return out
}

// toTheEnd does the practice at hand and answers its last question.
func (s *scene) toTheEnd() {
	s.t.Helper()
	s.a.sessionTap(session.Start)
	for range 400 {
		switch s.a.session.view.State {
		case session.Moving:
			if s.a.session.view.NoHold {
				s.tick(time.Second)
				s.a.sessionTap(session.Done)
				continue
			}
		case session.Asking:
			s.a.sessionPain(1)
			return
		}
		s.tick(time.Second)
	}
	s.t.Fatal("the practice has no end")
}

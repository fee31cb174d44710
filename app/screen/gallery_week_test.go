package screen

import (
	"testing"
	"time"

	"unsling/engine/rom"
)

// weekShots are the pages of the week, of the reminders, and what else is
// told between sessions.
func weekShots(t testing.TB) []shot {
	var out []shot
	add := func(name string, s *scene) { out = append(out, shot{name, s.a}) }
	week := func() *scene {
		s := on(t, 60, 10)
		s.reading(48, rom.ForwardFlexion, 84)
		s.reading(58, rom.ForwardFlexion, 106)
		h := &s.f.facts.History
		h.Visits = append(h.Visits, rom.Entry[rom.Visit]{Meta: s.meta(70, operated.Add(40)), Body: rom.Visit{Episode: episodeID, On: operated.Add(40), Next: operated.Add(66), By: surgeon}})
		s.a.look()
		s.a.Arrive("/week", "")
		return s
	}
	s := week()
	s.a.askForVisit()
	s.a.weekly.text = "May I drive now?"
	s.a.keepForVisit()
	add("week", s)
	add("week-quiet", func() *scene { s := on(t, 20, 10); s.a.Arrive("/week", ""); return s }())
	s = week()
	s.a.askForVisit()
	add("week-ask", s)
	s = week()
	s.a.askNights()
	s.a.setNight(4)
	s.a.setSleep(rom.SleptWoke)
	add("week-nights", s)
	s = week()
	s.a.askNights()
	s.f.full = ErrFull
	s.a.setNight(4)
	s.a.setSleep(rom.SleptBad)
	s.a.keepNights()
	add("week-not-kept", s)

	s = on(t, 182, 10)
	for i, v := range []int{84, 96, 104, 118, 122, 131} {
		s.reading(60+22*i, rom.ForwardFlexion, v)
		s.reading(60+22*i, rom.ERSide, 14+4*i)
	}
	s.a.look()
	s.a.Arrive("/so-far", "")
	add("so-far-band", s)

	remind := func() *scene {
		s := on(t, 20, 10)
		s.a.Arrive("/reminders", "")
		return s
	}
	add("reminders", remind())
	s = remind()
	s.a.saveReminders()
	s.a.moveTime(s.a.reminderTimes()[0], -reminderStep)
	add("reminders-changed", s)
	s = on(t, 20, 9)
	s.a.setTimes([]int{9*60 + 15})
	s.a.setRemindOpen(true)
	s.f.pass(16 * time.Minute)
	s.a.Changed()
	add("now-reminded", s)
	return out
}

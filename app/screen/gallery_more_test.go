package screen

import (
	"testing"
	"time"

	"unsling/engine/gonio"
	"unsling/engine/rom"
	"unsling/engine/session"
)

// moreShots are further screens with invented data.
func moreShots(t testing.TB) []shot {
	var out []shot
	add := func(name string, s *scene) { out = append(out, shot{name, s.a}) }
	at := func(day int, place string) *scene {
		s := on(t, day, 10)
		s.a.Arrive(place, "")
		return s
	}

	photo := func() *scene {
		s := at(45, "/measure")
		s.reading(43, rom.ForwardFlexion, 92)
		s.a.look()
		s.a.chooseRow(rom.ForwardFlexion, rom.Right)
		s.a.measure.wanted = 1
		s.a.chooseWay(0)
		s.f.picture = Picture{URL: inventedPicture, Width: 900, Height: 1200}
		return s
	}
	live := func(g gonio.Sample) *scene {
		s := photo()
		s.a.openCamera()
		for i := 0; i < 30; i++ {
			s.f.tilt(g)
			s.f.pass(30 * time.Millisecond)
		}
		return s
	}
	add("measure-live-level", live(gonio.Sample{Y: 9.81}))
	s := live(gonio.Sample{X: -3, Y: 9.1, Z: 1})
	s.a.selfTimer()
	s.f.pass(4 * time.Second)
	for i := 0; i < 30; i++ {
		s.f.tilt(gonio.Sample{X: -3, Y: 9.1, Z: 1})
	}
	add("measure-live-timer", s)
	s = photo()
	s.a.takePhoto()
	s.marksAt(100)
	s.a.dragMark("down", 790, 640)
	s.a.dragMark("move", 800, 650)
	add("measure-loupe", s)
	s = photo()
	s.a.takePhoto()
	s.marksAt(40)
	s.a.useAngle()
	add("measure-odd", s)
	s = photo()
	s.reading(44, rom.ForwardFlexion, 80)
	s.a.look()
	s.a.takePhoto()
	s.marksAt(104)
	s.a.useAngle()
	add("measure-result-last", s)

	back := func() *scene {
		s := at(100, "/measure")
		s.a.chooseRow(rom.HandBehindBack, rom.Right)
		return s
	}
	add("measure-level-how", back())
	s = back()
	s.a.chooseWay(0)
	add("measure-level", s)
	s = back()
	s.a.chooseWay(0)
	s.a.setPlace(rom.LevelL3)
	add("measure-level-chosen", s)
	s = back()
	s.a.chooseWay(0)
	s.a.setPlace(rom.LevelL3)
	s.a.usePlace()
	add("measure-level-result", s)
	s = back()
	s.a.chooseWay(1)
	add("measure-level-photo", s)
	day1 := on(t, 1, 10)
	day1.f.facts.History.Episodes[len(day1.f.facts.History.Episodes)-1].Body.BlockHours = 36
	day1.a.look()
	add("now-day-1", day1)
	s = on(t, 1, 10)
	s.f.facts.History.Episodes[len(s.f.facts.History.Episodes)-1].Body.BlockHours = 36
	s.a.Arrive("/first-days", "")
	add("days", s)
	planned := func(place string) *scene {
		s := on(t, 20, 10)
		s.f.facts.History = rom.History{}
		s.f.facts.Following = 0
		s.f.facts.Sending.Contact, s.f.facts.Sending.Confirmed = time.Time{}, time.Time{}
		s.episode(rom.Planned)
		s.f.now = operated.Add(-9).Time().Add(10 * time.Hour)
		s.a.look()
		s.a.Arrive(place, "")
		return s
	}
	for _, id := range []string{"numb", "sling", "not", "hand", "wash", "sleep", "ice", "dress", "wound"} {
		s := on(t, 1, 10)
		s.f.facts.History.Episodes[len(s.f.facts.History.Episodes)-1].Body.BlockHours = 36
		s.a.Arrive("/first-days", "")
		s.a.openTopic(id)
		add("days-"+id, s)
	}
	add("days-planned", planned("/first-days"))
	s = planned("/")
	s.a.openLearn()
	s.f.pass(2 * time.Second)
	add("learn", s)
	add("helper", at(20, "/helper"))
	add("may-i", at(30, "/may-i"))
	add("may-i-none", at(100, "/may-i"))
	s = on(t, 20, 10)
	s.a.startMain()
	s.a.sessionPain(1)
	s.a.sessionTap(session.PainNow)
	add("session-too-much-pain", s)
	s = on(t, 20, 8)
	s.a.openMorning()
	add("morning-pain", s)
	s = on(t, 20, 8)
	s.a.openMorning()
	s.a.morningScore(2)
	add("morning-sling", s)
	s = on(t, 20, 8)
	s.a.openMorning()
	s.a.morningScore(7)
	s.a.morningWorn("partly")
	add("morning-stop", s)
	s = on(t, 20, 10)
	s.revise(func(p *rom.Plan) {
		p.State, p.Why, p.On = rom.Stopped, "We want to see you first.", operated.Add(20)
		p.Signed = rom.Signature{Name: "Ada Vega (invented)", Role: "surgeon"}
	})
	add("now-stopped-by", s)
	for _, k := range []Kind{Apple, Other} {
		s = on(t, 20, 10)
		s.f.about.Installed, s.f.about.Kind = false, k
		s.a.look()
		s.a.prefs.First = firstInstall
		add("first-install-"+string(k), s)
	}
	s = on(t, 20, 10)
	s.a.prefs.Letters = "AR"
	add("now-letters", s)
	s = on(t, 20, 10)
	s.f.facts.NeedsUpdate = true
	s.a.look()
	add("now-needs-update", s)
	s = on(t, 20, 10)
	s.f.facts.Account.Forgotten = true
	s.a.look()
	add("now-forgotten", s)
	for _, o := range []otherRecord{otherAsked, otherNot} {
		s = on(t, 20, 10)
		s.f.facts.Account.Forgotten = true
		s.a.look()
		s.a.goTo(PlaceEnrol)
		s.a.enrol.other = o
		add("enrol-other-"+string(o), s)
	}
	s = on(t, 20, 10)
	s.f.facts = Facts{}
	s.f.about.LastPhone = "+1 555 0100"
	s.start()
	add("loading", s)
	return out
}

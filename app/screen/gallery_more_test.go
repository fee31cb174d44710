package screen

import (
	"testing"
	"time"

	"unsling/engine/gonio"
	"unsling/engine/rom"
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
	return out
}

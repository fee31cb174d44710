package screen

import (
	"testing"
	"time"

	"unsling/engine/session"
)

// What is measured belongs to the hold in which the picture was taken: one taken when the arm was back says nothing of that
// hold, one whose marks come late belongs to the hold before.
func TestPictureOfItsHold(t *testing.T) {
	for name, late := range map[string]bool{"taken in the hold": false, "taken in the rest": true} {
		s := inHold(t, 1)
		s.f.picture = Picture{URL: "blob:invented", Width: 900, Height: 1200}
		s.a.measureHold()
		s.a.measure.wanted = 1
		s.a.chooseWay(0)
		if !late {
			s.a.takePhoto()
		}
		s.until(t, func() bool { return s.a.session.view.State != session.Holding })
		if late {
			s.a.takePhoto()
		}
		s.marksAt(40)
		s.a.useAngle()
		holds := s.a.session.m.Draft().Items[0].Holds
		if len(holds) != 1 || (holds[0].Angle == nil) != late {
			t.Errorf("%s: %+v", name, holds)
		}
		if len(s.f.facts.History.Readings) != 1 {
			t.Errorf("%s: the reading itself is not kept", name)
		}
	}
}

// until lets time go by until something holds.
func (s *scene) until(t *testing.T, holds func() bool) {
	t.Helper()
	for range 300 {
		if holds() {
			return
		}
		s.tick(time.Second)
	}
	t.Fatalf("it does not come: the session is %s at %q", s.a.session.view.State, s.a.place)
}

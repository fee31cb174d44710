package screen

import (
	"fmt"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/engine/session"
)

// The tap that ends the last hold may come twice: the second answers no question that nobody has read.
func TestDoubleTapSkipsNoQuestion(t *testing.T) {
	s := inHold(t, 1)
	for range 100 { // the rest is skipped, the last question comes
		if s.a.session.view.State == session.Asking {
			break
		}
		s.a.sessionTap(session.Skip)
		s.a.skipFor(rom.SkipNoTime)
	}
	if s.a.session.view.State != session.Asking {
		t.Fatalf("the last question is not asked: %s", s.a.session.view.State)
	}
	s.f.pass(250 * time.Millisecond)
	s.a.sessionTap(session.NoAnswer)
	if s.a.session.view.State != session.Asking {
		t.Error("a second tap has skipped the last question")
	}
	s.f.pass(time.Second)
	s.a.sessionTap(session.NoAnswer)
	if s.a.session.view.State == session.Asking {
		t.Error("the last question cannot be left without an answer")
	}
}

// What is kept under one name is written in the order in which it was asked for, whatever the disk does first; of what
// waits the newest is enough.
func TestDraftsKeepTheirOrder(t *testing.T) {
	s := on(t, 20, 10)
	type job struct{ work, then func() }
	var jobs []job
	s.a.run = func(work, then func()) { jobs = append(jobs, job{work, then}) }
	told := ""
	for i := range 4 {
		s.a.keepInOrder("x", []byte(fmt.Sprint(i)), func(err error) { told += fmt.Sprint(i, err == nil, " ") })
	}
	for len(jobs) > 0 { // the newest first, as a slow disk may
		j := jobs[len(jobs)-1]
		jobs = jobs[:len(jobs)-1]
		s.f.away(j.work, j.then)
	}
	if got := s.f.kept["x"]; string(got) != "3" {
		t.Errorf("kept %q", got)
	}
	if told != "0 true 1 true 2 true 3 true " {
		t.Errorf("told %q", told)
	}
}

package clinic

import (
	"net/http"
	"strings"
	"testing"

	"unsling/app/words"
	"unsling/engine/rom"
	"unsling/engine/schedule"
)

// A wrong side or date is put right by two people only, and nothing of the
// programme is permitted meanwhile (Joint Commission, Universal Protocol
// UP.01.01.01: the site is verified by more than one member of the team;
// memory).
func TestCorrection(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	at := x.base + "/correction"
	today := func() schedule.Day { return schedule.On(x.history(), x.episode().ID, p.today(), 600, schedule.With{}) }
	was, e := today(), x.episode()
	if was.State != schedule.Running || e.Side != rom.Right {
		t.Fatalf("begins %s, %s", was.State, e.Side)
	}
	w := p.as(quill)
	w.taken(w.post(x.base+"/episode", change(t, w.get(x.base+"/episode"), "other-arm", "act", "other-arm", "motions", "FF")))
	rev := x.plan().Rev
	ask := change(t, w.get(at), "ask", "act", "ask")
	for _, c := range []struct{ field, value, says string }{
		{"reason", "", "Please say in a few words how you know"},
		{"side", "", "Please choose the side"},
		{"surgery", "2031-01-01", "Please check the date"},
		{"surgery", "soon", "is not a date"},
	} {
		form := change(t, w.get(at), "ask", "act", "ask", "side", "left", "surgery", e.Surgery.String(), "reason", "operation note")
		form.Set(c.field, c.value)
		w.refused(w.post(at, form), http.StatusUnprocessableEntity, c.says)
	}
	ask.Set("reason", "operation note")
	w.refused(w.post(at, ask), http.StatusUnprocessableEntity, "That is what the record says already.")
	earlier := e.Surgery.Add(-3)
	ask.Set("side", "left")
	ask.Set("surgery", earlier.String())
	w.taken(w.post(at, ask))

	got := x.episode()
	if got.Side != rom.Right || got.Surgery != e.Surgery || got.Correction == nil || got.Correction.By != quill || got.Correction.Rev != rev+1 {
		t.Fatalf("asked: %+v", got)
	}
	if d := today(); d.State != schedule.Stopped || d.Why != words.CorrectionStop.In(words.English) {
		t.Errorf("meanwhile the phone says %s, %q", d.State, d.Why)
	}
	if a := w.get(x.base); !strings.Contains(alerts(a), "A correction of side or date waits") {
		t.Error("the patient's page does not say that a correction waits")
	}
	// Nobody lets the programme go on beside it, not even the surgeon.
	s := p.as(vega)
	s.refused(s.post(x.base+"/plan", change(t, s.get(x.base+"/plan"), "save", "act", "save", "state", "running", "reason", "go on")), http.StatusUnprocessableEntity, "A correction of side or date waits")
	s.refused(s.post(x.base+"/episode", change(t, s.get(x.base+"/episode"), "other-arm", "act", "other-arm")), http.StatusUnprocessableEntity, "A correction of side or date waits")
	// The same person, and an assistant, are refused.
	form := change(t, w.get(at), "refuse", "act", "confirm", "side", "left", "surgery", earlier.String())
	w.refused(w.post(at, form), http.StatusForbidden, "a second person has to do this")
	a := p.as(marsh)
	form.Del("once")
	a.refused(a.post(at, form), http.StatusForbidden, "your role may not do this")
	// The second person reads the note alone: another date is no confirmation.
	form = change(t, s.get(at), "confirm", "act", "confirm", "side", "left", "surgery", e.Surgery.String())
	s.refused(s.post(at, form), http.StatusUnprocessableEntity, "Side and date are not those that were asked for.")
	page := s.get(at)
	if !strings.Contains(page.page.words(), "side right → left, surgery "+e.Surgery.String()+" → "+earlier.String()) {
		t.Error("the page does not say what changes")
	}
	s.taken(s.post(at, change(t, page, "confirm", "act", "confirm", "side", "left", "surgery", earlier.String(), "resume", "yes")))

	got, plan := x.episode(), x.plan()
	if got.Side != rom.Left || got.Surgery != earlier || got.Correction != nil || len(got.OtherArm) != 0 || got.ConfirmedBy == got.SideBy {
		t.Errorf("confirmed: %+v", got)
	}
	if plan.Rev != rev+2 || plan.State != rom.Running || !strings.Contains(plan.Reason, "side right → left") || plan.By != vega {
		t.Errorf("plan: rev %d %s %q", plan.Rev, plan.State, plan.Reason)
	}
	if d := today(); d.State != schedule.Running || d.Number != was.Number+3 {
		t.Errorf("afterwards %s, day %d, was %d", d.State, d.Number, was.Number)
	}
	// What stood before stays in the log, and both acts in the audit.
	if n := len(x.history().Episodes); n < 5 {
		t.Errorf("only %d versions of the episode", n)
	}
	entries, err := p.store.Audit(1, 10000)
	p.must(err)
	actors := map[string]bool{}
	for _, e := range entries {
		if e.Patient == string(x.id) && e.Act != "patient.view" {
			actors[e.Actor] = true
		}
	}
	if !actors[string(quill)] || !actors[string(vega)] {
		t.Errorf("audit names %v", actors)
	}
}

// Without a surgeon the programme stays stopped, and a correction can be
// turned down.
func TestCorrectionStaysStopped(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	at := x.base + "/correction"
	a, w := p.as(marsh), p.as(quill)
	asked := func() {
		a.taken(a.post(at, change(t, a.get(at), "ask", "act", "ask", "surgery", x.episode().Surgery.Add(2).String(), "reason", "operation note")))
	}
	asked()
	w.taken(w.post(at, change(t, w.get(at), "refuse", "act", "refuse", "reason", "the note was of somebody else")))
	if e := x.episode(); e.Correction != nil || e.Surgery != p.today().Add(-30) || x.plan().State != rom.Stopped {
		t.Errorf("turned down: %+v %s", e, x.plan().State)
	}
	asked()
	want := x.episode().Correction.Surgery
	form := change(t, w.get(at), "confirm", "act", "confirm", "side", "right", "surgery", want.String(), "resume", "yes")
	w.refused(w.post(at, form), http.StatusForbidden, "Only a surgeon can let the programme go on")
	form.Del("resume")
	w.taken(w.post(at, form))
	if e := x.episode(); e.Surgery != want || x.plan().State != rom.Stopped || x.plan().Why != words.CorrectionDone.In(words.English) {
		t.Errorf("corrected: %+v %s", e, x.plan().State)
	}
	// Two at once: the second sees the episode as it is now.
	one := change(t, w.get(at), "ask", "act", "ask", "side", "left", "reason", "x")
	two := change(t, a.get(at), "ask", "act", "ask", "side", "left", "reason", "y")
	w.taken(w.post(at, one))
	a.refused(a.post(at, two), http.StatusConflict, "Somebody else changed this episode")
}

// Before the operation only the side is corrected so, and a half of a
// confirmation does not survive it.
func TestCorrectionWhilePlanned(t *testing.T) {
	p := newPractice(t)
	p.adopt(rom.CuffRepair)
	x := p.enrol(enrolForm1("Ada Rowe"))
	at := x.base + "/correction"
	s, w := p.as(vega), p.as(quill)
	s.taken(s.post(x.base+"/episode", change(t, s.get(x.base+"/episode"), "confirm", "act", "confirm", "side", "right", "surgery", "2026-03-01", "block_hours", "0")))
	w.taken(w.post(at, change(t, w.get(at), "ask", "act", "ask", "side", "left", "reason", "booked wrong")))
	s.taken(s.post(at, change(t, s.get(at), "confirm", "act", "confirm", "side", "left")))
	if e := x.episode(); e.Side != rom.Left || e.ConfirmedBy != "" || e.State != rom.Planned {
		t.Errorf("%+v", e)
	}
}

// A transfer ends the episode and tells the patient who goes on.
func TestTransfer(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(quill)
	at := x.base + "/episode"
	form := change(t, w.get(at), "transfer", "act", "transfer", "to", "Harbour Clinic (invented)", "reason", "moved")
	w.refused(w.post(at, form), http.StatusUnprocessableEntity, "Please name the clinic that goes on")
	form.Set("to_phone", "+353 20 922 0000")
	w.taken(w.post(at, form))
	e := x.episode()
	if e.State != rom.Withdrawn || e.Transfer == nil || e.Transfer.Phone != "+353 20 922 0000" || e.Ended != p.today() {
		t.Errorf("%+v", e)
	}
	if got := w.get(at).page.words(); !strings.Contains(got, "Care goes on at Harbour Clinic (invented)") {
		t.Error("the page does not say where")
	}
}

package clinic

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/sync/wire"
)

func planForm(t *testing.T, w *person, x *patient, set ...string) url.Values {
	t.Helper()
	form := change(t, w.get(x.base+"/plan"), "save", append([]string{"act", "save", "reason", "for the test"}, set...)...)
	return form
}

func phaseOf(t *testing.T, p rom.Plan, key string) rom.Phase {
	t.Helper()
	ph, ok := p.Phase(key)
	if !ok {
		t.Fatalf("no phase %q", key)
	}
	return ph
}

// The form as it stands is the plan as it stands: nothing is lost or changed
// by showing it and sending it back.
func TestPlanFormIsThePlan(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(vega)
	before := x.plan()
	w.refused(w.post(x.base+"/plan", planForm(t, w, x)), http.StatusUnprocessableEntity, "Nothing is different from the present plan.")
	if len(x.history().Plans) != 2 || x.plan().Rev != before.Rev {
		t.Errorf("%d revisions", len(x.history().Plans))
	}
}

// Every kind of change that the desk offers, by the therapist within the
// protocol, and the history that says who, what, when, why and whether the
// phone has it.
func TestChangePlan(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	ph := x.phone()
	before := x.plan()
	p.now = p.now.Add(time.Hour)
	w := p.as(quill)
	form := planForm(t, w, x, "p.passive.l.FF.ceil", "75,5", "p.passive.pain", "2", "p.assisted.from", "49", "p.passive.x.table-slide-flexion/FF.hold", "30",
		"p.passive.add", "wrist-and-hand", "reason", "Sore after the <b>weekend</b>")
	form["therapy"] = []string{"2", "4"}
	form.Set("p.passive.x.pendulum/.drop", "yes")
	a := w.taken(w.post(x.base+"/plan", form))
	plan := x.plan()
	passive := phaseOf(t, plan, "passive")
	if l := passive.Limit(rom.ForwardFlexion); l.Ceiling != 755 || l.From != (rom.Source{Key: "CLINIC", Mark: rom.Clinic}) {
		t.Errorf("limit %+v", l)
	}
	if l, was := passive.Limit(rom.Abduction), phaseOf(t, before, "passive").Limit(rom.Abduction); l != was {
		t.Errorf("a row that was not touched changed: %+v from %+v", l, was)
	}
	if passive.PainCap != 2 || phaseOf(t, plan, "assisted").From != 49 || plan.TherapyDays[0] != time.Tuesday || len(plan.TherapyDays) != 2 {
		t.Errorf("plan %+v", plan)
	}
	doses := map[rom.ExerciseID]rom.Dose{}
	for _, rx := range passive.Prescriptions {
		doses[rx.Exercise] = rx.Dose
	}
	if doses[rom.TableSlideFlexion].Hold != 30 || doses[rom.WristHand].Reps == 0 || doses[rom.Pendulum].Reps != 0 {
		t.Errorf("doses %+v", doses)
	}
	if plan.Rev != before.Rev+1 || plan.Base != before.Rev || plan.By != quill || plan.On != p.today() {
		t.Errorf("revision %d from %d by %s on %s", plan.Rev, plan.Base, plan.By, plan.On)
	}
	words := a.page.words()
	for _, want := range []string{"Revision 3 replaces 2", "Ravi Quill, Mon 2 Mar 2026 11:00", "Sore after the <b>weekend</b>", "passive, Forward flexion: passive to 90 → passive to 75.5",
		"passive, Pendulum: 1 x 300 s, rest 0 s, 3 a day → none", "assisted, first day: day 42 → day 49", "No phone has followed it",
		"narrows or stops the plan and is NOT on the phone yet. Call the patient."} {
		if !strings.Contains(words, want) {
			t.Errorf("the history lacks %q", want)
		}
	}
	if got := w.get(x.base); !got.page.says("alert", "NOT on the phone yet: revision 3 stops or narrows the plan, and the phone still follows revision 2.") {
		t.Errorf("the patient's page: %s", alerts(got))
	}
	// The phone is back: the clinic sees since when.
	p.now = p.now.Add(10 * time.Minute)
	ph.exchange()
	words = w.get(x.base + "/plan/history").page.words()
	if !strings.Contains(words, "The newest revision is on the phone since Mon 2 Mar 2026 11:10.") || !strings.Contains(words, "On the phone since 2 Mar 2026 11:10") {
		t.Errorf("the history does not say since when: %.600s", words)
	}
	if got := w.get(x.base); strings.Contains(alerts(got), "NOT on the phone") || !strings.Contains(got.page.words(), "on the phone since Mon 2 Mar 2026 11:10") {
		t.Errorf("the patient's page: %s", alerts(got))
	}
}

// What each role may: a therapist changes inside the protocol, narrows,
// pauses and stops; only a surgeon passes a ceiling, opens a lock, waives or
// gives a clearance and resumes after a stop; an assistant changes nothing.
func TestWhoMayChangeWhat(t *testing.T) {
	stop := []string{"state", "stopped", "why", "Please wait for us"}
	for _, c := range []struct {
		name      string
		set       []string
		stopped   bool // from a plan that is stopped
		therapist string
	}{
		{"narrow a limit", []string{"p.passive.l.FF.ceil", "70"}, false, ""},
		{"lock a motion", []string{"p.passive.l.ABD.class", "locked"}, false, ""},
		{"pause", []string{"state", "paused", "why", "Rest a week"}, false, ""},
		{"stop", stop, false, ""},
		{"change a dose", []string{"p.passive.x.table-slide-flexion/FF.reps", "8"}, false, ""},
		{"past the ceiling", []string{"p.passive.l.FF.ceil", "110"}, false, "going past the clinic's protocol"},
		{"no ceiling", []string{"p.passive.l.FF.ceil", ""}, false, "going past the clinic's protocol"},
		{"a higher class", []string{"p.passive.l.FF.class", "active"}, false, "going past the clinic's protocol"},
		{"open a locked motion", []string{"p.passive.l.IR90.class", "passive", "p.passive.l.IR90.ceil", "20"}, false, "going past the clinic's protocol"},
		{"more pain", []string{"p.passive.pain", "6"}, false, "going past the clinic's protocol"},
		{"less sling", []string{"p.passive.sling", "off"}, false, "going past the clinic's protocol"},
		{"an earlier phase", []string{"p.assisted.from", "20"}, false, "going past the clinic's protocol"},
		{"without clearance", []string{"p.assisted.waive", "yes"}, false, "letting a phase open without clearance"},
		{"open a lock", []string{"opened", "side-lying-internal-rotation"}, false, "opening an exercise that the procedure locks"},
		{"resume after a stop", []string{"state", "running", "why", ""}, true, "resuming after a stop"},
		{"pause after a stop", []string{"state", "paused", "why", "Rest"}, true, "resuming after a stop"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := newPractice(t)
			x := p.running("Ada Rowe")
			if c.stopped {
				w := p.as(quill)
				w.taken(w.post(x.base+"/plan", planForm(t, w, x, stop...)))
			}
			before := x.plan().Rev
			w := p.as(marsh)
			form := planForm(t, w, x, c.set...)
			if a := w.post(x.base+"/plan", form); a.StatusCode != http.StatusForbidden {
				t.Errorf("the assistant: %d %s", a.StatusCode, alerts(a))
			}
			w = p.as(quill)
			form = planForm(t, w, x, c.set...)
			if c.therapist == "" {
				w.taken(w.post(x.base+"/plan", form))
				return
			}
			a := w.refused(w.post(x.base+"/plan", form), http.StatusForbidden, "your role may not do this ("+c.therapist+")")
			back := a.page.form(t, "save").values()
			for i := 0; i < len(c.set); i += 2 {
				if back.Get(c.set[i]) != c.set[i+1] && c.set[i] != "why" {
					t.Errorf("%s came back as %q", c.set[i], back.Get(c.set[i]))
				}
			}
			if back.Get("reason") != "for the test" {
				t.Errorf("the reason came back as %q", back.Get("reason"))
			}
			if x.plan().Rev != before {
				t.Fatal("the therapist's change was saved")
			}
			w = p.as(vega)
			w.taken(w.post(x.base+"/plan", planForm(t, w, x, c.set...)))
			if x.plan().Rev != before+1 {
				t.Error("the surgeon's change was not saved")
			}
		})
	}
}

// A therapist may narrow what a surgeon had let past the protocol, though it
// stays past it.
func TestNarrowWhatIsPast(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(vega)
	w.taken(w.post(x.base+"/plan", planForm(t, w, x, "p.passive.l.FF.ceil", "120")))
	w = p.as(quill)
	a := w.get(x.base + "/plan")
	if !strings.Contains(a.page.words(), "Past the clinic's protocol") {
		t.Error("the form does not show what is past the protocol")
	}
	w.taken(w.post(x.base+"/plan", planForm(t, w, x, "p.passive.l.FF.ceil", "110")))
	w.refused(w.post(x.base+"/plan", planForm(t, w, x, "p.passive.l.FF.ceil", "115")), http.StatusForbidden, "going past the clinic's protocol")
}

func TestPlanRefused(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(vega)
	for _, c := range []struct {
		set  []string
		says string
	}{
		{[]string{"reason", "", "p.passive.pain", "1"}, "Please say why the plan is changed."},
		{[]string{"reason", strings.Repeat("x", 501), "p.passive.pain", "1"}, "Please say it in 500 letters."},
		{[]string{"state", "stopped", "why", ""}, "Please say to the patient why the plan is stopped."},
		{[]string{"state", "running fast"}, ""},
		{[]string{"p.passive.l.FF.ceil", "ninety"}, `Phase passive, Forward flexion: "ninety" is not an angle from -30 to 200 degrees.`},
		{[]string{"p.passive.l.FF.ceil", "999"}, `"999" is not an angle`},
		{[]string{"p.passive.l.FF.ceil", "NaN"}, `"NaN" is not an angle`},
		{[]string{"p.passive.l.FF.ceil", "1e400"}, `"1e400" is not an angle`},
		{[]string{"p.passive.l.FF.class", "flying"}, "Phase passive, Forward flexion: please choose a class."},
		{[]string{"p.passive.from", "soon"}, `Phase passive, first day: "soon" is not a whole number from 0 to 730.`},
		{[]string{"p.passive.from", "900"}, `"900" is not a whole number`},
		{[]string{"p.assisted.from", "5"}, "phase assisted: the first day must not lie before the phase ahead of it"},
		{[]string{"p.passive.pain", "11"}, `Phase passive, highest pain: "11" is not a whole number from 0 to 10.`},
		{[]string{"p.passive.sling", "on the head"}, "phase passive: the sling is not a way of wearing a sling"},
		{[]string{"p.passive.x.table-slide-flexion/FF.hold", "-5"}, `Phase passive, Table slide, flexion, hold: "-5" is not a whole number from 0 to 600.`},
		{[]string{"p.passive.x.table-slide-flexion/FF.reps", "0"}, "repetitions"},
		{[]string{"p.passive.add", "handstand"}, "please choose an exercise of the list"},
		{[]string{"p.passive.add", "table-slide-flexion"}, "Table slide, flexion is prescribed already"},
		{[]string{"base", "first"}, `The revision: "first" is not a whole number`},
		{[]string{"p.passive.pain", "1", "act", "preview", "preview_on", "2026-02-31"}, `Date of the preview: "2026-02-31" is not a date.`},
	} {
		form := planForm(t, w, x, c.set...)
		a := w.post(x.base+"/plan", form)
		if a.StatusCode != http.StatusUnprocessableEntity || !a.page.says("alert", c.says) {
			t.Errorf("%q: %d %s", c.set, a.StatusCode, alerts(a))
			continue
		}
		if form.Get("base") == "first" {
			continue
		}
		back := a.page.form(t, "save").values()
		for i := 0; i < len(c.set); i += 2 {
			f := c.set[i]
			if f == "act" || f == "state" || f == "preview_on" || strings.HasSuffix(f, ".add") || strings.HasSuffix(f, ".class") || strings.HasSuffix(f, ".sling") {
				continue // a choice that is not on the list cannot be shown
			}
			if back.Get(f) != c.set[i+1] {
				t.Errorf("%q: %s came back as %q", c.set, f, back.Get(f))
			}
		}
	}
	if n := len(x.history().Plans); n != 2 {
		t.Errorf("%d revisions", n)
	}
}

// Two people change the plan at once: nothing is overwritten, both texts are
// shown, and what was typed lies over the newest revision.
func TestTwoEditors(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	surgeon, therapist := p.as(vega), p.as(quill)
	mine := planForm(t, therapist, x, "p.passive.l.FF.ceil", "80", "p.passive.pain", "1", "p.passive.l.ABD.class", "locked", "p.passive.x.table-slide-flexion/FF.hold", "40", "reason", "slower, please")
	theirs := planForm(t, surgeon, x, "p.passive.l.FF.ceil", "70", "p.passive.l.ER0.ceil", "10", "reason", "Scan seen")
	surgeon.taken(surgeon.post(x.base+"/plan", theirs))
	a := therapist.refused(therapist.post(x.base+"/plan", mine), http.StatusConflict, "Somebody else changed this plan while you were writing.")
	if n := len(x.history().Plans); n != 3 {
		t.Fatalf("%d revisions: one was overwritten", n)
	}
	words := a.page.words()
	for _, want := range []string{"Meanwhile Dr Ines Vega wrote revision 3: Scan seen", "passive, External rotation at the side: passive to 20 → passive to 10",
		"You both changed the same", "theirs → yours, passive, Forward flexion: passive to 70 → passive to 80", "Different from revision 3"} {
		if !strings.Contains(words, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	form := a.page.form(t, "save").values()
	for field, want := range map[string]string{"base": "3", "p.passive.l.FF.ceil": "80", "p.passive.l.ER0.ceil": "10", "p.passive.pain": "1",
		"p.passive.l.ABD.class": "locked", "p.passive.x.table-slide-flexion/FF.hold": "40", "reason": "slower, please"} {
		if form.Get(field) != want {
			t.Errorf("%s is %q, want %q", field, form.Get(field), want)
		}
	}
	// 80 would be wider than what the surgeon just set: that is the
	// therapist's to take back or the surgeon's to allow, and 80 lies within
	// the protocol.
	form.Set("act", "save")
	therapist.taken(therapist.post(x.base+"/plan", form))
	passive := phaseOf(t, x.plan(), "passive")
	if passive.Limit(rom.ForwardFlexion).Ceiling != rom.Deg(80) || passive.Limit(rom.ERSide).Ceiling != rom.Deg(10) || passive.Limit(rom.Abduction).Class != rom.Locked || passive.PainCap != 1 {
		t.Errorf("merged: %+v", passive)
	}
}

// A preview shows what the phone would say on a day, keeps what was typed,
// and writes nothing; rows that went away in it stay away when it is saved.
func TestPreview(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(vega)
	form := planForm(t, w, x, "act", "preview", "p.passive.l.ABD.class", "locked", "p.passive.l.IR90.class", "passive", "p.passive.l.IR90.ceil", "15", "p.passive.x.pendulum/.drop", "yes")
	a := w.post(x.base+"/plan", form)
	words := a.page.words()
	for _, want := range []string{"What the phone would show on Mon 2 Mar 2026", "Internal rotation at 90° abduction: passive, to 15°", "Table slide, abduction: locked", "passive, Abduction: passive to 60 → locked"} {
		if !strings.Contains(words, want) {
			t.Errorf("the preview lacks %q", want)
		}
	}
	if n := len(x.history().Plans); n != 2 {
		t.Fatalf("a preview wrote revision %d", n)
	}
	form = a.page.form(t, "save").values()
	form.Set("act", "preview")
	form.Set("preview_on", "2026-03-16")
	a = w.post(x.base+"/plan", form)
	if !strings.Contains(a.page.words(), "What the phone would show on Mon 16 Mar 2026") {
		t.Errorf("another day: %s", alerts(a))
	}
	form = a.page.form(t, "save").values()
	form.Set("act", "save")
	w.taken(w.post(x.base+"/plan", form))
	passive := phaseOf(t, x.plan(), "passive")
	if passive.Limit(rom.Abduction).Class != rom.Locked || passive.Limit(rom.IR90).Ceiling != rom.Deg(15) {
		t.Errorf("limits after two previews: %+v", passive.Limits)
	}
	for _, rx := range passive.Prescriptions {
		if rx.Exercise == rom.Pendulum {
			t.Error("the pendulum came back")
		}
	}
	// And back again: a locked motion can be opened by the form.
	w.taken(w.post(x.base+"/plan", planForm(t, w, x, "p.passive.l.ABD.class", "passive", "p.passive.l.ABD.ceil", "60")))
	if l := phaseOf(t, x.plan(), "passive").Limit(rom.Abduction); l.Class != rom.Passive || l.Ceiling != rom.Deg(60) {
		t.Errorf("opened again: %+v", l)
	}
}

// A phase is cleared by a surgeon, and that can be taken back with a reason.
func TestClearance(t *testing.T) {
	p := newPractice(t)
	p.adopt(rom.CuffRepair)
	form := enrolForm1("Ada Rowe")
	form.Set("surgery", p.today().Add(-30).String())
	x := p.enrol(form)
	clear := url.Values{"episode": {string(x.episode().ID)}, "phase": {"passive"}, "act": {"clear"}}
	w := p.as(vega)
	w.refused(w.post(x.base+"/clearance", clear), http.StatusUnprocessableEntity, "once the operation and the side are confirmed")
	x.operated()
	phase := func() string {
		return schedule.On(x.history(), x.episode().ID, p.today(), 600, schedule.With{}).Phase.Key
	}
	if phase() != "protect" {
		t.Fatalf("30 days after surgery without clearance: %q", phase())
	}
	w = p.as(quill)
	if a := w.get(x.base); len(a.page.all(func(k *node) bool { return k.attr["value"] == "clear" })) != 0 {
		t.Error("the therapist is offered to clear")
	}
	w.refused(w.post(x.base+"/clearance", clear), http.StatusForbidden, "your role may not do this")
	w = p.as(vega)
	a := w.get(x.base)
	if !strings.Contains(a.page.words(), "The day of “passive” has come") || !strings.Contains(a.page.words(), "It waits for a surgeon's clearance.") {
		t.Errorf("the page does not say what is waited for")
	}
	w.taken(w.post(x.base+"/clearance", change(t, a, "clear", "act", "clear")))
	if phase() != "passive" {
		t.Errorf("after clearance: %q", phase())
	}
	a = w.get(x.base)
	if !strings.Contains(a.page.words(), "cleared by Dr Ines Vega, Mon 2 Mar 2026") {
		t.Error("the page does not say who cleared it")
	}
	back := change(t, a, "withdraw", "act", "withdraw")
	w.refused(w.post(x.base+"/clearance", back), http.StatusUnprocessableEntity, "Please say why the clearance is withdrawn.")
	back.Set("reason", "Scan shows a gap")
	w.taken(w.post(x.base+"/clearance", back))
	if phase() != "protect" {
		t.Errorf("withdrawn: %q", phase())
	}
	clear.Set("phase", "flying")
	w.refused(w.post(x.base+"/clearance", clear), http.StatusUnprocessableEntity, "The plan has no such phase.")
}

// A report of the patient stops everything on the phone, until a surgeon's
// revision answers it.
func TestAnswerReport(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	ph := x.phone()
	ref := ph.write(p.now, wire.KindSign, rom.Sign{Episode: x.episode().ID, Sign: rom.SignPop, Text: "A pop when reaching up"})
	ph.exchange()
	state := func() schedule.State {
		return schedule.On(x.history(), x.episode().ID, p.today(), 600, schedule.With{}).State
	}
	if state() != schedule.Halted {
		t.Fatalf("after a pop: %s", state())
	}
	w := p.as(quill)
	a := w.get(x.base + "/plan")
	if !strings.Contains(a.page.words(), "The patient's own report of 2 Mar 2026 (Pop, or sudden weakness) has stopped everything on the phone.") {
		t.Error("the form does not speak of the report")
	}
	w.refused(w.post(x.base+"/plan", planForm(t, w, x, "answer", "yes")), http.StatusForbidden, "resuming after a stop")
	w = p.as(vega)
	shown := planForm(t, w, x, "answer", "yes", "reason", "Seen, repair intact")
	ph.write(p.now, wire.KindSign, rom.Sign{Episode: x.episode().ID, Sign: rom.SignFall})
	ph.exchange()
	w.refused(w.post(x.base+"/plan", shown), http.StatusUnprocessableEntity, "has reported something since you opened this page")
	if state() != schedule.Halted {
		t.Errorf("a fall that nobody saw was answered: %s", state())
	}
	w.taken(w.post(x.base+"/plan", planForm(t, w, x, "answer", "yes", "reason", "Seen, repair intact")))
	if plan := x.plan(); len(plan.Answers) != 2 || plan.Answers[0] != ref || state() != schedule.Running {
		t.Errorf("answers %v, state %s", plan.Answers, state())
	}
	if words := w.get(x.base + "/plan/history").page.words(); !strings.Contains(words, "Answers 2 reports of the patient.") {
		t.Error("the history does not say that a report was answered")
	}
}

// The numbers of the clinic are those of the day on which a revision is made.
func TestNumbersOfToday(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	c := testClinic()
	c.Phone = "+353 20 999 9999"
	p.must(p.store.SetClinic(c, p.trail("server")))
	w := p.as(vega)
	w.taken(w.post(x.base+"/plan", planForm(t, w, x, "reason", "new number")))
	if x.plan().Contact.Phone != c.Phone {
		t.Errorf("the plan carries %q", x.plan().Contact.Phone)
	}
}

package clinic

import (
	"fmt"
	"strings"
	"testing"

	"unsling/app/words"
	"unsling/engine/rom"
	"unsling/engine/schedule"
)

// The programme on paper says what the phone would say: the same exercises,
// doses and limits, in the patient's language, and one box per session due.
func TestProgrammeOnPaper(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(marsh)
	day := schedule.On(x.history(), x.episode().ID, p.today(), 0, schedule.With{})
	if len(day.Phase.Prescriptions) == 0 {
		t.Fatal("the phase prescribes nothing")
	}
	for _, l := range words.Langs {
		a := w.get(x.base + "/programme?lang=" + string(l))
		sheet := a.page.all(func(k *node) bool { return k.name == "article" })
		if len(sheet) != 1 || sheet[0].attr["lang"] != string(l) {
			t.Fatalf("%s: %d sheets", l, len(sheet))
		}
		text := sheet[0].words()
		has := func(what, s string) {
			if !strings.Contains(text, s) {
				t.Errorf("%s: %s %q is missing", l, what, s)
			}
		}
		has("number", p.desk.mustClinic(t).Phone)
		has("side", strings.ToUpper(words.Side(l, rom.Right)))
		has("rule", words.SurgeonRule.In(l))
		has("sign", words.Sign(l, rom.SignPop))
		has("emergency sign", words.Sign(l, rom.SignChest))
		for _, r := range day.Phase.Prescriptions {
			if day.Exercise(r.Exercise).Locked {
				continue
			}
			has("exercise", words.Capital(words.ExerciseName(l, r.Exercise)))
			has("danger", words.Exercise(r.Exercise).Lead.In(l))
			if r.Dose.Hold > 0 {
				has("dose", words.DoseHolds.With(l, r.Dose.Reps, r.Dose.Hold))
			}
		}
		for _, m := range day.Motions {
			switch {
			case m.Locked && strings.Contains(text, words.ToLimit.With(l, words.Capital(words.Motion(l, m.Motion)), m.Limit.Ceiling.Floor())):
				t.Errorf("%s: %s is locked and stands on the sheet", l, m.Motion)
			case !m.Locked && !m.Limit.Open && !m.Motion.ByLevel():
				has("limit", words.ToLimit.With(l, words.Capital(words.Motion(l, m.Motion)), m.Limit.Ceiling.Floor()))
			}
		}
		boxes, want, last := len(sheet[0].all(func(k *node) bool { return k.attr["class"] == "tickbox" })), 0, p.today()
		for n := range 14 {
			d := schedule.On(x.history(), x.episode().ID, p.today().Add(n), 0, schedule.With{LastContact: p.today().Add(n)})
			if d.State != schedule.Running || d.Phase.Key != day.Phase.Key {
				break
			}
			want, last = want+len(d.Due), d.Date
		}
		if boxes != want || want == 0 {
			t.Errorf("%s: %d boxes for %d sessions", l, boxes, want)
		}
		has("last day", words.SheetHolds.With(l, words.Date(l, p.today()), words.Date(l, last)))
	}
	// A stopped plan prints nothing.
	s := p.as(quill)
	s.taken(s.post(x.base+"/plan", change(t, s.get(x.base+"/plan"), "save", "act", "save", "state", "stopped", "why", "Ring us.", "reason", "swelling")))
	a := w.get(x.base + "/programme")
	if len(a.page.named("article")) != 0 || !strings.Contains(a.page.words(), "There is nothing to print: stopped by the clinic.") {
		t.Error("a stopped programme is printed")
	}
}

// The sheet of somebody who is not operated on yet, or not confirmed, has no
// exercise.
func TestProgrammeBeforeConfirmed(t *testing.T) {
	p := newPractice(t)
	p.adopt(rom.CuffRepair)
	x := p.enrol(enrolForm1("Ada Rowe"))
	if a := p.as(quill).get(x.base + "/programme"); len(a.page.named("article")) != 0 || !strings.Contains(a.page.words(), "operation not confirmed") {
		t.Error("an unconfirmed programme is printed")
	}
}

func (d *Desk) mustClinic(t *testing.T) (c struct{ Phone string }) {
	row, err := d.Store.Clinic()
	if err != nil {
		t.Fatal(fmt.Errorf("clinic: %w", err))
	}
	c.Phone = row.Phone
	return c
}

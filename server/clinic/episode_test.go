package clinic

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/sync/wire"
)

// From booking to discharge: nothing runs before the surgeon has confirmed
// the operation and another person the side.
func TestEpisode(t *testing.T) {
	p := newPractice(t)
	p.adopt(rom.CuffRepair, rom.BicepsTenodesis)
	x := p.enrol(enrolForm1("Ada Rowe"))
	at := x.base + "/episode"
	surgeon, assistant := p.as(vega), p.as(marsh)
	state := func() schedule.State {
		return schedule.On(x.history(), x.episode().ID, p.today(), 600, schedule.With{}).State
	}
	if s := state(); s != schedule.NotConfirmed {
		t.Fatalf("operated yesterday, not confirmed: %s", s)
	}
	// The assistant cannot confirm the operation, nor the side before it.
	form := change(t, assistant.get(at), "date")
	form.Set("side", "right")
	form.Set("act", "side")
	assistant.refused(assistant.post(at, form), http.StatusForbidden, "nobody has done the first half of this yet")
	form.Set("act", "confirm")
	assistant.refused(assistant.post(at, form), http.StatusForbidden, "your role may not do this")

	page := surgeon.get(at)
	confirm := change(t, page, "confirm", "act", "confirm", "side", "right", "block_hours", "18")
	confirm["procedures"] = []string{"cuff-repair", "biceps-tenodesis"}
	after := surgeon.taken(surgeon.post(at, confirm))
	e, plan := x.episode(), x.plan()
	if e.State != rom.Planned || e.ConfirmedBy != vega || e.ConfirmedOn != p.today() || e.BlockHours != 18 || len(e.Procedures) != 2 || e.Procedures[0] != rom.CuffRepair || e.SideBy != "" {
		t.Errorf("episode %+v", e)
	}
	if plan.Rev != 2 || plan.Base != 1 || len(plan.Protocol) != 2 || plan.By != vega {
		t.Errorf("the plan was not made of what was done: %+v", plan)
	}
	if s := state(); s != schedule.NotConfirmed {
		t.Errorf("after half a confirmation: %s", s)
	}
	// The same person twice is refused.
	again := after.page.form(t, "confirm").values()
	again.Set("act", "side")
	again.Set("side", "right")
	surgeon.refused(surgeon.post(at, again), http.StatusForbidden, "a second person has to do this")
	// The second person meets the wrong side, then none, then the right one.
	form = change(t, assistant.get(at), "side", "act", "side", "side", "left")
	assistant.refused(assistant.post(at, form), http.StatusUnprocessableEntity, "This episode is about the right shoulder")
	form.Del("side")
	assistant.refused(assistant.post(at, form), http.StatusUnprocessableEntity, "Please choose the side from the operation note.")
	form.Set("side", "right")
	done := assistant.taken(assistant.post(at, form))
	if !done.page.says("status", "the programme has started") || state() != schedule.Running || x.episode().SideBy != marsh || x.episode().State != rom.Ongoing {
		t.Errorf("after both: %s, %+v", state(), x.episode())
	}
	// Once confirmed, the date is not changed by one person.
	form.Del("once")
	form.Set("act", "date")
	form.Set("surgery", "2026-02-20")
	form.Set("version", "4")
	assistant.refused(assistant.post(at, form), http.StatusUnprocessableEntity, "Its date can only be corrected by two people")

	// Discharge: a surgeon, with a reason.
	w := p.as(quill)
	end := change(t, w.get(at), "withdraw", "act", "discharge", "reason", "Full range")
	w.refused(w.post(at, end), http.StatusForbidden, "your role may not do this")
	end = change(t, surgeon.get(at), "discharge", "act", "discharge")
	surgeon.refused(surgeon.post(at, end), http.StatusUnprocessableEntity, "Please say in a few words why.")
	end.Set("reason", "Full range, back at work")
	done = surgeon.taken(surgeon.post(at, end))
	if e = x.episode(); e.State != rom.Discharged || e.Ended != p.today() || e.Reason != "Full range, back at work" || state() != schedule.Ended {
		t.Errorf("discharged: %+v", e)
	}
	if !strings.Contains(done.page.words(), "Full range, back at work") {
		t.Error("the page does not say why it ended")
	}
	if got := surgeon.get(x.base).page.words(); !strings.Contains(got, "Monitoring has ended") {
		t.Error("the patient's page does not say that nobody monitors")
	}
	end.Del("once")
	end.Set("version", "99")
	surgeon.refused(surgeon.post(at, end), http.StatusConflict, "Somebody else changed this episode")
	end.Set("version", "5")
	surgeon.refused(surgeon.post(at, end), http.StatusUnprocessableEntity, "This episode cannot be discharged while it is discharged.")
	// Nothing is planned or sent any more.
	plain := url.Values{"episode": {string(e.ID)}, "text": {"hello"}}
	surgeon.refused(surgeon.post(x.base+"/entry/note", plain), http.StatusUnprocessableEntity, "The episode has ended")
}

func TestConfirmRefused(t *testing.T) {
	p := newPractice(t)
	p.adopt(rom.CuffRepair, rom.AnteriorLabralRepair)
	x := p.enrol(enrolForm1("Ada Rowe"))
	w := p.as(vega)
	at := x.base + "/episode"
	for _, c := range []struct {
		field string
		value []string
		says  string
	}{
		{"surgery", []string{""}, "can be confirmed from the day on which it was done"},
		{"surgery", []string{"2026-03-03"}, "can be confirmed from the day on which it was done"},
		{"surgery", []string{"1999-03-01"}, "can be confirmed from the day on which it was done"},
		{"surgery", []string{"yesterday"}, `Date of surgery: "yesterday" is not a date.`},
		{"side", []string{"left"}, "The episode was booked for the right shoulder."},
		{"side", nil, "The episode was booked for the right shoulder."},
		{"procedures", nil, "Please tick what was done."},
		{"procedures", []string{"slap-repair"}, "No surgeon of this clinic has adopted a protocol for SLAP repair."},
		{"block_hours", []string{"two days"}, `The hours of the nerve block: "two days" is not a whole number`},
		{"block_hours", []string{"500"}, `"500" is not a whole number from 0 to 120.`},
		{"act", []string{"other"}, "Please choose what to do with this episode."},
	} {
		form := change(t, w.get(at), "confirm", "act", "confirm", "side", "right", "block_hours", "24", "surgery", "2026-03-01")
		form[c.field] = c.value
		a := w.refused(w.post(at, form), http.StatusUnprocessableEntity, c.says)
		if c.field == "act" {
			continue
		}
		back := a.page.form(t, "confirm").values()
		for _, field := range []string{"surgery", "block_hours", "side"} {
			if back.Get(field) != form.Get(field) {
				t.Errorf("%s %q: %s came back as %q, not %q", c.field, c.value, field, back.Get(field), form.Get(field))
			}
		}
	}
	if len(x.history().Episodes) != 1 {
		t.Error("something was written")
	}
	// Two people at once: the second looks at the episode as it is now.
	first := change(t, w.get(at), "date", "act", "date", "surgery", "2026-03-02")
	second := change(t, w.get(at), "date", "act", "postpone")
	w.taken(w.post(at, first))
	w.refused(w.post(at, second), http.StatusConflict, "Somebody else changed this episode in the meantime.")
}

// A postponed operation freezes everything until there is a new date.
func TestPostponed(t *testing.T) {
	p := newPractice(t)
	p.adopt(rom.CuffRepair)
	x := p.enrol(enrolForm1("Ada Rowe"))
	w := p.as(marsh)
	at := x.base + "/episode"
	w.taken(w.post(at, change(t, w.get(at), "date", "act", "postpone")))
	if day := schedule.On(x.history(), x.episode().ID, p.today(), 600, schedule.With{}); day.State != schedule.Postponed {
		t.Errorf("postponed: %s", day.State)
	}
	for _, date := range []string{"", "2036-01-01", "1990-01-01"} {
		w.refused(w.post(at, change(t, w.get(at), "date", "act", "date", "surgery", date)), http.StatusUnprocessableEntity, "within two years of today")
	}
	w.taken(w.post(at, change(t, w.get(at), "date", "act", "date", "surgery", "2026-04-01")))
	if e := x.episode(); e.Postponed || e.Surgery != rom.MakeDate(2026, 4, 1) {
		t.Errorf("%+v", e)
	}
}

// Side is confirmed by staff and tapped by the patient; a mismatch stops.
func TestSideTapped(t *testing.T) {
	p := newPractice(t)
	p.adopt(rom.CuffRepair)
	x := p.enrol(enrolForm1("Ada Rowe"))
	ph := x.phone()
	ph.write(p.now, wire.KindInstall, rom.Install{App: "1", Platform: "test", Language: "en", FreeHand: rom.Left, SideTapped: rom.Left})
	ph.exchange()
	w := p.as(vega)
	at := x.base + "/episode"
	a := w.get(at)
	if !a.page.says("alert", "The patient tapped the LEFT shoulder, the episode says RIGHT.") {
		t.Errorf("nobody is told: %s", alerts(a))
	}
	w.taken(w.post(at, change(t, a, "confirm", "act", "confirm", "side", "right")))
	w = p.as(quill)
	form := change(t, w.get(at), "side", "act", "side", "side", "right")
	w.refused(w.post(at, form), http.StatusUnprocessableEntity, "The patient tapped the left shoulder.")
	form.Set("sure", "yes")
	w.taken(w.post(at, form))
	if x.episode().State != rom.Ongoing {
		t.Errorf("state %s", x.episode().State)
	}
}

// A clinic without hours, out-of-hours number and deputy starts no programme.
func TestNobodyWatches(t *testing.T) {
	p := newPractice(t)
	p.adopt(rom.CuffRepair)
	x := p.enrol(enrolForm1("Ada Rowe"))
	c := testClinic()
	c.AfterHours = ""
	p.must(p.store.SetClinic(c, p.trail("server")))
	w := p.as(vega)
	at := x.base + "/episode"
	w.taken(w.post(at, change(t, w.get(at), "confirm", "act", "confirm", "side", "right")))
	w = p.as(marsh)
	if list := w.get("/clinic/"); !list.page.says("alert", "Monitoring is off") {
		t.Error("the watch list does not say that monitoring is off")
	}
	e := x.episode()
	form := url.Values{"episode": {string(e.ID)}, "version": {"2"}, "act": {"side"}, "side": {"right"}}
	w.refused(w.post(at, form), http.StatusUnprocessableEntity, "No programme can start yet")
	p.must(p.store.SetClinic(testClinic(), p.trail("server")))
	w.taken(w.post(at, form))
}

// The other arm is a reference only where staff say so.
func TestOtherArm(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(quill)
	at := x.base + "/episode"
	form := change(t, w.get(at), "other-arm", "act", "other-arm")
	form["motions"] = []string{"FF", "ER0", "nonsense"}
	w.taken(w.post(at, form))
	if e := x.episode(); !e.Usable(rom.ForwardFlexion) || !e.Usable(rom.ERSide) || e.Usable(rom.Abduction) || len(e.OtherArm) != 2 {
		t.Errorf("usable: %v", e.OtherArm)
	}
}

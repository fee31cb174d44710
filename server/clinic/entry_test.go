package clinic

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"unsling/engine/rom"
)

// Both arms in one go, and each slip in one sentence with everything kept.
func TestReadings(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(quill)
	at := x.base + "/entry/reading"
	form := change(t, w.get(at), "method", "on", "2026-03-01", "method", "inclinometer", "position", "seated", "FF-right", "87,5", "FF-left", "165°", "ER0-right", "-5", "HBB-right", "17")
	w.taken(w.post(at, form))
	got := map[string]rom.Reading{}
	for _, e := range x.history().Readings {
		got[string(e.Body.Motion)+"-"+string(e.Body.Side)] = e.Body
	}
	if len(got) != 4 || got["FF-right"].Angle != 875 || got["FF-left"].Angle != rom.Deg(165) || got["ER0-right"].Angle != rom.Deg(-5) || got["HBB-right"].Level != rom.LevelL5 {
		t.Errorf("readings %+v", got)
	}
	r := got["FF-right"]
	if r.By != quill || r.Method != rom.Inclinometer || r.Position != rom.Seated || r.On != rom.MakeDate(2026, 3, 1) || r.Class != rom.Passive || r.Baseline || got["HBB-right"].Method != rom.LevelMethod {
		t.Errorf("reading %+v", r)
	}
	if words := w.get(x.base).page.words(); !strings.Contains(words, "88° inclinometer, yesterday") || !strings.Contains(words, "165°") {
		t.Error("the patient's page does not show them")
	}
	before := len(x.history().Readings)
	for _, c := range []struct{ field, value, says string }{
		{"FF-right", "ninety", `Forward flexion, right arm: "ninety" is not an angle from -60 to 200 degrees.`},
		{"FF-right", "250", `"250" is not an angle`},
		{"ER0-left", "121", `External rotation at the side, left arm: "121" is not an angle from -60 to 120 degrees.`},
		{"FF-right", "Inf", "is not an angle"},
		{"HBB-right", "99", "Please choose the level from the list."},
		{"HBB-right", "T7", "Please choose the level from the list."},
		{"on", "2026-03-03", "A reading lies in the past two years."},
		{"on", "2016-03-03", "A reading lies in the past two years."},
		{"on", "03/04/2026", "is not a date"},
		{"method", "by feel", "Please choose how it was measured."},
	} {
		form := change(t, w.get(at), "method", "ABD-right", "55", "ER0-right", "12", c.field, c.value)
		a := w.refused(w.post(at, form), http.StatusUnprocessableEntity, c.says)
		back := a.page.form(t, "method").values()
		if back.Get("ABD-right") != "55" || c.field != "method" && !strings.HasPrefix(c.field, "HBB") && back.Get(c.field) != c.value {
			t.Errorf("%s %q: came back as %q, ABD %q", c.field, c.value, back.Get(c.field), back.Get("ABD-right"))
		}
	}
	w.refused(w.post(at, change(t, w.get(at), "method")), http.StatusUnprocessableEntity, "Nothing was entered.")
	if n := len(x.history().Readings); n != before {
		t.Errorf("%d readings were written by refused forms", n-before)
	}
	m := p.as(marsh)
	form.Del("once") // the form was another person's
	m.refused(m.post(at, form), http.StatusForbidden, "your role may not do this")
}

// Before surgery both arms are the baseline.
func TestBaseline(t *testing.T) {
	p := newPractice(t)
	p.adopt(rom.CuffRepair)
	form := enrolForm1("Ada Rowe")
	form.Set("surgery", "2026-03-20")
	x := p.enrol(form)
	w := p.as(vega)
	at := x.base + "/entry/reading"
	w.taken(w.post(at, change(t, w.get(at), "method", "FF-right", "150", "FF-left", "168")))
	for _, e := range x.history().Readings {
		if !e.Body.Baseline {
			t.Errorf("no baseline: %+v", e.Body)
		}
	}
}

func TestTherapyAndVisit(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(quill)
	e := string(x.episode().ID)
	w.taken(w.post(x.base+"/entry/therapy", change(t, w.get(x.base+"/entry/therapy"), "outcome", "outcome", "missed", "on", "2026-02-27")))
	w.taken(w.post(x.base+"/entry/visit", change(t, w.get(x.base+"/entry/visit"), "next", "next", "2026-04-13", "text", "Line one\nline two")))
	h := x.history()
	if len(h.Therapies) != 1 || h.Therapies[0].Body.Outcome != "missed" || h.Therapies[0].Body.On != rom.MakeDate(2026, 2, 27) || h.Therapies[0].Body.By != quill {
		t.Errorf("therapy %+v", h.Therapies)
	}
	if len(h.Visits) != 1 || h.Visits[0].Body.Text != "Line one\nline two" || h.Visits[0].Body.Next != rom.MakeDate(2026, 4, 13) {
		t.Errorf("visit %+v", h.Visits)
	}
	if words := w.get(x.base).page.words(); !strings.Contains(words, "Next visit Mon 13 Apr 2026") {
		t.Error("the next visit is not on the patient's page")
	}
	for _, c := range []struct {
		what string
		set  url.Values
		says string
	}{
		{"therapy", url.Values{"on": {""}, "outcome": {"missed"}}, "lies in the past two years"},
		{"therapy", url.Values{"on": {"2026-03-09"}, "outcome": {"missed"}}, "lies in the past two years"},
		{"therapy", url.Values{"on": {"2026-03-01"}, "outcome": {"perhaps"}}, "Please choose whether therapy took place."},
		{"visit", url.Values{"on": {"2026-03-09"}, "text": {"kept"}}, "A visit that took place lies in the past two years."},
		{"visit", url.Values{"on": {"2026-03-01"}, "next": {"2026-02-01"}, "text": {"kept"}}, "The next visit lies after this one"},
		{"visit", url.Values{"on": {"2026-03-01"}, "text": {strings.Repeat("x", 4001)}}, "Please say it in 4000 letters."},
		{"note", url.Values{"text": {"  "}}, "Please write the message."},
		{"note", url.Values{"text": {strings.Repeat("x", 1001)}}, "Please say it in 1000 letters."},
		{"note", url.Values{"text": {"kept"}, "author": {"a1"}, "n": {"first"}}, "The question that this answers is not known."},
	} {
		c.set.Set("episode", e)
		a := w.refused(w.post(x.base+"/entry/"+c.what, c.set), http.StatusUnprocessableEntity, c.says)
		for field, want := range c.set {
			if field == "outcome" {
				continue
			}
			if back := a.page.form(t, "episode").values(); strings.TrimSpace(back.Get(field)) != strings.TrimSpace(want[0]) {
				t.Errorf("%s: %s came back as %.40q", c.what, field, back.Get(field))
			}
		}
	}
}

func TestTeam(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	at := x.base + "/team"
	w := p.as(quill)
	w.taken(w.post(at, url.Values{"staff": {"moss"}, "act": {"add"}}))
	if a := p.as(moss).get(x.base); a.StatusCode != 200 {
		t.Errorf("added to the team: %d", a.StatusCode)
	}
	a := w.post(at, url.Values{"staff": {"moss"}, "act": {"remove"}})
	w.taken(a)
	if a := p.as(moss).get(x.base); a.StatusCode != 404 {
		t.Errorf("removed from the team: %d", a.StatusCode)
	}
	w.refused(w.post(at, url.Values{"staff": {"vega"}, "act": {"remove"}}), http.StatusConflict, "A surgeon must stay in the care team.")
	w.refused(w.post(at, url.Values{"staff": {"fenn"}, "act": {"add"}}), http.StatusUnprocessableEntity, "This person cannot be in a care team.")
	w.refused(w.post(at, url.Values{"staff": {"gone"}, "act": {"add"}}), http.StatusUnprocessableEntity, "This person cannot be in a care team.")
	w.refused(w.post(at, url.Values{"staff": {"nobody"}, "act": {"add"}}), http.StatusUnprocessableEntity, "There is no such person at the clinic.")
	w.refused(w.post(at, url.Values{"staff": {"moss"}, "act": {"praise"}}), http.StatusUnprocessableEntity, "Please choose whether to add or remove.")
	m := p.as(marsh)
	m.refused(m.post(at, url.Values{"staff": {"moss"}, "act": {"add"}}), http.StatusForbidden, "your role may not do this")
}

func TestPhones(t *testing.T) {
	p := newPractice(t)
	x, y := p.running("Ada Rowe"), p.running("Bo Lind")
	ph, other := x.phone(), y.phone()
	w := p.as(marsh)
	at := x.base + "/phone"
	w.refused(w.post(at, url.Values{"author": {string(other.author)}, "act": {"revoke"}}), http.StatusNotFound, "This phone does not belong to this patient.")
	w.refused(w.post(at, url.Values{"author": {string(ph.author)}, "act": {"confirm"}}), http.StatusConflict, "The phone is not in the state for this any more.")
	w.refused(w.post(at, url.Values{"author": {string(ph.author)}, "act": {"praise"}}), http.StatusUnprocessableEntity, "Please choose what to do with this phone.")
	after := w.taken(w.post(at, url.Values{"author": {string(ph.author)}, "act": {"revoke"}}))
	if !strings.Contains(after.page.words(), "phone · revoked") {
		t.Error("the page does not say that the phone is out")
	}
	if row, _ := p.store.Author(other.author); row.State != "active" {
		t.Errorf("the other patient's phone: %s", row.State)
	}
}

func TestSettings(t *testing.T) {
	p := newPractice(t)
	for _, who := range []rom.StaffID{quill, marsh} {
		w := p.as(who)
		if a := w.get("/clinic/settings"); a.StatusCode != 200 || len(a.page.all(func(k *node) bool { return k.words() == "Save" && k.name == "button" })) != 0 {
			t.Errorf("%s may save the clinic's numbers", who)
		}
		w.refused(w.post("/clinic/settings", url.Values{"name": {"x"}}), http.StatusForbidden, "your role may not do this")
	}
	w := p.as(fenn)
	if a := w.get("/clinic/"); a.Header.Get("Location") != "/clinic/settings" {
		t.Errorf("the administrator's first page: %d %q", a.StatusCode, a.Header.Get("Location"))
	}
	for _, c := range []struct{ field, value, says string }{
		{"name", "", "The clinic needs a name."},
		{"phone", "", "The clinic needs a number"},
		{"from1", "8 o'clock", "Monday: hours must be written as 08:00 and 17:00"},
		{"to5", "07:00", "Friday: hours must be written as 08:00 and 17:00"},
		{"zone", "Mars", `"Mars" is not the name of a time zone.`},
		{"deputy", "fenn", "The deputy must be a clinician or assistant of this clinic."},
		{"phone", strings.Repeat("1", 41), "The name or a number is too long."},
		{"after_hours", "", "can be changed and not taken away"},
		{"deputy", "", "can be changed and not taken away"},
	} {
		form := change(t, w.get("/clinic/settings"), "after_hours", c.field, c.value)
		a := w.refused(w.post("/clinic/settings", form), http.StatusUnprocessableEntity, c.says)
		if back := a.page.form(t, "after_hours").values(); c.field != "deputy" && back.Get(c.field) != c.value {
			t.Errorf("%s came back as %q", c.field, back.Get(c.field))
		}
	}
	form := change(t, w.get("/clinic/settings"), "after_hours", "name", "Quay, newly named", "emergency", "911", "from6", "09:00", "to6", "12:30", "zone", "America/New_York", "confirm", "yes")
	form.Del("from5")
	form.Del("to5")
	w.taken(w.post("/clinic/settings", form))
	c, err := p.store.Clinic()
	p.must(err)
	if c.Name != "Quay, newly named" || c.Settings["emergency"] != "911" || c.Zone != "America/New_York" || !c.Confirm || len(c.Hours) != 5 || !c.Demo || c.Deputy != quill {
		t.Errorf("clinic %+v", c)
	}
}

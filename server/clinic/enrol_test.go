package clinic

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/server/access"
	"unsling/server/ledger"
)

// The assistant enrols at the desk from the surgeon's adopted protocol, and
// ends on a sheet that opens one phone.
func TestEnrol(t *testing.T) {
	p := newPractice(t)
	p.adopt(rom.CuffRepair)
	w := p.as(marsh)
	page := w.get("/clinic/enrol")
	form := change(t, page, "name", "name", "  Ada   Rowe ", "born", "1961-05-04", "number", "N1", "side", "right", "surgery", "2026-03-20", "main", "cuff-repair")
	if form.Get("surgeon") != "" {
		t.Error("a surgeon was chosen although there are two")
	}
	form.Set("surgeon", "vega")
	sheet := w.taken(w.post("/clinic/enrol", form))
	id := rom.PatientID(strings.Split(strings.TrimPrefix(sheet.Request().URL.Path, "/clinic/patients/"), "/")[0])
	x := &patient{p, id, "/clinic/patients/" + string(id)}
	row, err := p.store.Patient(id)
	p.must(err)
	if row.Name != "Ada Rowe" || row.Born != "1961-05-04" || row.Number != "N1" || row.Zone != "Europe/Dublin" {
		t.Errorf("row %+v", row)
	}
	e := x.episode()
	if e.State != rom.Planned || e.Side != rom.Right || e.Surgery != rom.MakeDate(2026, 3, 20) || e.BornYear != 1961 || e.By != marsh || e.Version != 1 {
		t.Errorf("episode %+v", e)
	}
	plan := x.plan()
	if plan.Rev != 1 || plan.Base != 0 || len(plan.Phases) == 0 || plan.Contact.Phone != testClinic().Phone || plan.Contact.AfterHours == "" || len(plan.TherapyDays) != 3 {
		t.Errorf("plan %+v", plan)
	}
	team, err := p.store.Team(id)
	p.must(err)
	if len(team) != 3 { // whoever enrols, the surgeon, and the deputy, who gets what they leave
		t.Errorf("team %+v", team)
	}
	// The sheet: both secrets, how long they are good, the cautions.
	words := sheet.page.words()
	for _, want := range []string{"RIGHT shoulder", "Stop and call", "emergency number, 112", "Nobody watches your phone day and night", "+353 20 911 0000", "+353 20 911 0099", "Good until Mon 2 Mar 2026 10:15"} {
		if !strings.Contains(words, want) {
			t.Errorf("the sheet lacks %q", want)
		}
	}
	var link string
	for _, a := range sheet.page.named("a") {
		if strings.HasPrefix(a.attr["href"], "https://clinic.test/enrol#") {
			link = a.attr["href"]
		}
	}
	code := sheet.page.all(func(k *node) bool { return strings.Contains(k.attr["class"], "code") })[0].words()
	for name, text := range map[string]string{"QR": strings.TrimPrefix(link, "https://clinic.test/enrol#"), "typed": code} {
		typed, err := access.ReadCode(text)
		if err != nil {
			t.Errorf("%s secret %q: %v", name, text, err)
			continue
		}
		invitations, err := p.store.Invitations(id)
		p.must(err)
		if len(invitations) != 1 || invitations[0].Kind != ledger.AtDesk || !contains(invitations[0].Secrets, access.CodeMAC(p.desk.Codes, typed.Secret)) {
			t.Errorf("the %s secret on the sheet opens nothing: %+v", name, invitations)
		}
	}
	if svg := sheet.page.named("svg"); len(svg) != 1 {
		t.Errorf("%d pictures on the sheet", len(svg))
	}
	// Shown for its time and to this session only.
	if a := p.as(marsh).get(sheet.Request().URL.RequestURI()); a.StatusCode != http.StatusGone {
		t.Errorf("the sheet in another session: %d", a.StatusCode)
	}
	p.now = p.now.Add(14*time.Minute + 59*time.Second)
	w.get("/clinic/")
	p.now = p.now.Add(2 * time.Second)
	w.refused(w.get(sheet.Request().URL.RequestURI()), http.StatusGone, "This invitation is shown once, to whoever made it, and not any more.")
	// The planned patient is on the list, and nothing of the programme runs.
	day := schedule.On(x.history(), e.ID, p.today(), 600, schedule.With{})
	if day.State != schedule.BeforeOp {
		t.Errorf("a planned episode is %s", day.State)
	}
}

func contains(list []string, x string) bool {
	for _, y := range list {
		if x == y {
			return true
		}
	}
	return false
}

// Every slip gets one sentence, and what was typed comes back.
func TestEnrolRefused(t *testing.T) {
	p := newPractice(t)
	p.adopt(rom.CuffRepair)
	w := p.as(marsh)
	for _, c := range []struct{ field, value, sentence string }{
		{"name", "", "Please write the patient's name."},
		{"name", strings.Repeat("n", 201), "The name is too long."},
		{"side", "", "Please choose the side of the operation."},
		{"side", "both", "Please choose the side of the operation."},
		{"main", "", "Please choose the main procedure."},
		{"main", "appendectomy", "Please choose the main procedure."},
		{"main", "slap-repair", "No surgeon of this clinic has adopted a protocol for SLAP repair."},
		{"surgery", "1926-03-01", "is more than two years away from today"},
		{"surgery", "2062-03-01", "is more than two years away from today"},
		{"surgery", "2026-02-30", `Date of surgery: "2026-02-30" is not a date.`},
		{"surgery", "tomorrow", `Date of surgery: "tomorrow" is not a date.`},
		{"surgery", "0026-03-01", "is not a date"},
		{"born", "2030-01-01", "The date of birth cannot be right."},
		{"born", "1901-01-01", "The date of birth cannot be right."},
		{"born", "4 May", `Date of birth: "4 May" is not a date.`},
		{"zone", "Mars/Olympus", "The time zone of the patient's home is not known."},
		{"zone", "Local", "The time zone of the patient's home is not known."},
		{"lang", "xx", "Please choose the language of the phone."},
		{"surgeon", "", "Please choose the surgeon"},
		{"surgeon", "quill", "Please choose the surgeon from the list."},
		{"surgeon", "nobody", "Please choose the surgeon from the list."},
		{"therapist", "gone", "Please choose the therapist from the list."},
		{"number", strings.Repeat("1", 61), "number or the telephone number is too long"},
	} {
		form := enrolForm1("Ada Rowe")
		form["also"] = []string{}
		form.Set(c.field, c.value)
		a := w.refused(w.post("/clinic/enrol", form), http.StatusUnprocessableEntity, c.sentence)
		back := a.page.form(t, "name").values()
		for field, want := range form {
			// A choice that is not on the list cannot be shown as chosen.
			if field == c.field && (field == "side" || field == "main" || field == "lang" || field == "surgeon" || field == "therapist") || field == "also" {
				continue
			}
			if strings.Join(back[field], ",") != strings.Join(want, ",") {
				t.Errorf("%s %q: %s came back as %q, not %q", c.field, c.value, field, back[field], want)
			}
		}
	}
	if panel, _ := p.store.Panel(marsh); len(panel) != 0 {
		t.Errorf("%d patients were made", len(panel))
	}
}

func TestEnrolSamePersonTwice(t *testing.T) {
	p := newPractice(t)
	p.adopt(rom.CuffRepair)
	p.enrol(enrolForm1("Ada Rowe"))
	w := p.as(marsh)
	form := enrolForm1("ada rowe")
	form.Set("number", "another")
	a := w.refused(w.post("/clinic/enrol", form), http.StatusUnprocessableEntity, "Somebody of this name or number is already in your care.")
	again := a.page.form(t, "name").values()
	if again.Get("name") != "ada rowe" || again.Get("number") != "another" || again.Get("surgery") != form.Get("surgery") {
		t.Errorf("typed text lost: %v", again)
	}
	// Another name than the one that was warned about is asked about again.
	other := url.Values{}
	for k, v := range again {
		other[k] = v
	}
	other.Set("number", "N-Ada Rowe")
	w.refused(w.post("/clinic/enrol", other), http.StatusUnprocessableEntity, "already in your care")
	again.Set("number", "another")
	w.taken(w.post("/clinic/enrol", again))
	if panel, _ := p.store.Panel(marsh); len(panel) != 2 {
		t.Errorf("%d patients", len(panel))
	}
	// Who is in somebody else's care is not given away.
	if a := p.as(moss).post("/clinic/enrol", enrolForm1("Ada Rowe")); a.StatusCode != http.StatusSeeOther {
		t.Errorf("a stranger learns of the patient: %s", alerts(a))
	}
}

// A protocol must have been adopted by a surgeon of the clinic, and only a
// surgeon can.
func TestAdopt(t *testing.T) {
	p := newPractice(t)
	const at = "/clinic/protocols/cuff-repair-small-medium"
	for _, who := range []rom.StaffID{quill, marsh} {
		w := p.as(who)
		if page := w.get(at); len(page.page.named("form")) != 1 { // sign-out
			t.Errorf("%s is offered to adopt", who)
		}
		w.refused(w.post(at, url.Values{"reviewed": {"yes"}}), http.StatusForbidden, "your role may not do this")
	}
	p.as(fenn).refused(p.as(fenn).get(at), http.StatusForbidden, "your role may not do this")
	w := p.as(vega)
	a := w.get(at)
	if !strings.Contains(a.page.words(), "A draft. It cannot be prescribed") || !strings.Contains(a.page.words(), "memory") {
		t.Error("the page does not say that it is a draft from memory")
	}
	a = w.refused(w.post(at, change(t, a, "reviewed", "note", "As discussed")), http.StatusUnprocessableEntity, "Please tick that you have reviewed every value")
	if got := a.page.form(t, "reviewed").values().Get("note"); got != "As discussed" {
		t.Errorf("the note came back as %q", got)
	}
	a = w.taken(w.post(at, change(t, a, "reviewed", "reviewed", "yes")))
	if !strings.Contains(a.page.words(), "Adopted by Dr Ines Vega") || !strings.Contains(a.page.words(), "As discussed") {
		t.Errorf("after adoption: %.400s", a.page.words())
	}
	w.taken(w.post(at, change(t, a, "reviewed", "reviewed", "yes")))
	rows, err := p.store.Adoptions()
	p.must(err)
	if len(rows) != 2 || rows[1].Version != 2 || rows[0].Note != "As discussed" || rows[0].By != vega {
		t.Errorf("adoptions: %+v", rows)
	}
	w.refused(w.get("/clinic/protocols/none"), http.StatusNotFound, "There is no page")
}

// A letter to take home has no typed code, lasts a week and needs the number
// that is said aloud and not printed.
func TestTakeHome(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(marsh)
	a := w.taken(w.post(x.base+"/invite", url.Values{"kind": {"take-home"}}))
	if codes := a.page.all(func(k *node) bool { return strings.Contains(k.attr["class"], "code") }); len(codes) != 0 {
		t.Error("a typed code is on the letter")
	}
	pins := a.page.all(func(k *node) bool { return k.attr["class"] == "bignum" })
	if len(pins) != 1 || len(pins[0].words()) != 6 {
		t.Fatalf("the number to say: %d", len(pins))
	}
	up := pins[0]
	for up != nil && !strings.Contains(up.attr["class"], "noprint") {
		up = up.up
	}
	if up == nil {
		t.Error("the number would be printed")
	}
	if !strings.Contains(a.page.words(), "Good until Mon 9 Mar 2026") {
		t.Error("the letter does not say how long it is good")
	}
}

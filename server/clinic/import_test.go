package clinic

import (
	"bytes"
	"errors"
	"fmt"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
)

// upload posts a file as a browser does.
func (w *person) upload(file string) *answer {
	w.p.t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	for k, v := range map[string]string{"act": "check", "surgeon": string(vega), "therapist": string(quill)} {
		w.p.must(m.WriteField(k, v))
	}
	part, err := m.CreateFormFile("file", "people.csv")
	w.p.must(err)
	_, err = part.Write([]byte(file))
	w.p.must(err)
	w.p.must(m.Close())
	r := httptest.NewRequest("POST", "https://clinic.test/clinic/import", &b)
	r.Header.Set("Content-Type", m.FormDataContentType())
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return w.send(r)
}

func (w *person) confirm(a *answer, more ...string) *answer {
	w.p.t.Helper()
	form := change(w.p.t, a, "confirm", append([]string{"act", "confirm"}, more...)...)
	return w.post("/clinic/import", form)
}

func (p *practice) panel() []ledger.PanelRow {
	p.t.Helper()
	rows, err := p.store.Heads(vega)
	p.must(err)
	return rows
}

const twoPeople = "name,side,procedure,surgery,born,number\r\nAda Rowe,left,cuff-repair,2026-03-10,1961-05-04,N-1\r\n\"Lind, Bo\",R,\"Rotator cuff repair, small or medium tear\",,,\r\n"

// Two people of a table: looked at first, nothing written; then brought in,
// each with a planned episode that waits for the surgeon like any other; the
// same file again brings nobody in twice.
func TestBringPatientsIn(t *testing.T) {
	p := newPractice(t)
	p.adopt(rom.CuffRepair)
	w := p.as(marsh)
	looked := w.upload(twoPeople)
	if looked.StatusCode != http.StatusOK || !strings.Contains(looked.page.words(), "2 new patients") || len(p.panel()) != 0 {
		t.Fatalf("%d %s, %d are in", looked.StatusCode, alerts(looked), len(p.panel()))
	}
	done := w.taken(w.confirm(looked))
	if !done.page.says("status", "Brought in.") {
		t.Errorf("%s", done.page.words())
	}
	rows := p.panel()
	if len(rows) != 2 {
		t.Fatalf("%d are in", len(rows))
	}
	for _, row := range rows {
		x := &patient{p, row.Patient.ID, "/clinic/patients/" + string(row.Patient.ID)}
		e := x.episode()
		if e.State != rom.Planned || e.ConfirmedBy != "" || e.By != marsh || len(x.plan().Phases) == 0 {
			t.Errorf("%s: %+v", row.Patient.Name, e)
		}
		switch row.Patient.Name {
		case "Ada Rowe":
			if e.Side != rom.Left || e.Surgery.String() != "2026-03-10" || e.BornYear != 1961 || row.Patient.Number != "N-1" {
				t.Errorf("%+v %+v", row.Patient, e)
			}
		case "Lind, Bo":
			if e.Side != rom.Right || !e.Surgery.IsZero() {
				t.Errorf("%+v %+v", row.Patient, e)
			}
		default:
			t.Errorf("who is %q", row.Patient.Name)
		}
		team, err := p.store.Team(row.Patient.ID)
		p.must(err)
		if len(team) != 3 {
			t.Errorf("%d in the team", len(team))
		}
	}
	again := w.upload(twoPeople)
	if !strings.Contains(again.page.words(), "2 brought in from this file before") {
		t.Errorf("again: %s", again.page.words())
	}
	w.taken(w.confirm(again, "twins", "yes"))
	if n := len(p.panel()); n != 2 {
		t.Errorf("the same file twice: %d are in", n)
	}
	said := 0
	entries, err := p.store.Audit(1, 0)
	p.must(err)
	for _, e := range entries {
		if e.Actor == string(marsh) && e.Resource == "2 from a file" {
			said++
		}
	}
	if said != 1 {
		t.Errorf("%d times in the audit log", said)
	}
}

// One line with a fault: every fault of every line is named with its line,
// and nothing of the file can be brought in.
func TestFaultsLineByLine(t *testing.T) {
	p := newPractice(t)
	p.adopt(rom.CuffRepair)
	w := p.as(marsh)
	file := strings.Join([]string{"name;side;procedure;surgery;born;zone;lang;also",
		"Good Person;left;cuff-repair;;;;;",
		";left;cuff-repair;;;;;",
		"B;up;cuff-repair;10/03/2026;;;;",
		"C;;knee;;2030-01-01;;;",
		"=HYPERLINK(1);left;cuff-repair;1999-01-01;;;;",
		"D;left;cuff-repair;;;Mars/Base;fr;knee",
		"E;left;capsular-release;;;;;",
		"F;left;cuff-repair;;;;;;;too many"}, "\r\n")
	a := w.upload(file)
	rows := map[string]string{}
	for _, tr := range a.page.all(func(k *node) bool { return k.name == "tr" }) {
		line, rest, _ := strings.Cut(tr.words(), " ")
		rows[line] = rest
	}
	for line, want := range map[string][]string{
		"2": {"Good Person New."}, "3": {"the name is missing"}, "4": {`the side is "up", and not left or right`, `date of surgery: "10/03/2026" is not a date. Write it as 2026-01-31`},
		"5": {"the side is missing", `"knee" is none of the procedures: cuff-repair`, "the date of birth 2030-01-01 cannot be right"},
		"6": {"the name begins like a formula", "more than two years away"}, "7": {`the time zone "Mars/Base" is not known`, `"knee" is none`, `the phone does not speak "fr": English is taken`},
		"8": {"No surgeon of this clinic has adopted a protocol for Capsular release or manipulation"}, "9": {"the row has 10 cells, the header has 8"},
	} {
		for _, x := range want {
			if !strings.Contains(rows[line], x) {
				t.Errorf("line %s lacks %q: %q", line, x, rows[line])
			}
		}
	}
	if !strings.Contains(a.page.words(), "7 lines have faults: nothing is brought in") || strings.Contains(a.body, `value="confirm"`) || len(p.panel()) != 0 {
		t.Errorf("%s, %d are in", a.page.words(), len(p.panel()))
	}
}

// Who may be here already is left out unless somebody says that these are
// other people.
func TestTwins(t *testing.T) {
	p := newPractice(t)
	p.running("Ada Rowe")
	w := p.as(vega)
	file := "name,side,procedure,number\nADA ROWE,left,cuff-repair,\nBo Lind,left,cuff-repair,N-9\nCy Moor,left,cuff-repair,N-9\n"
	a := w.upload(file)
	text := a.page.words()
	for _, want := range []string{"1 new patient, 2 who may be here already", "somebody of this name is in your care already", "the same name or number stands in line 3"} {
		if !strings.Contains(text, want) {
			t.Errorf("lacks %q: %s", want, text)
		}
	}
	w.taken(w.confirm(a))
	if n := len(p.panel()); n != 2 {
		t.Errorf("%d are in", n)
	}
	w.taken(w.confirm(w.upload(file), "twins", "yes"))
	if n := len(p.panel()); n != 4 {
		t.Errorf("%d are in", n)
	}
}

// failing is a store whose disk is full after some patients.
type failing struct {
	Store
	left int
}

func (f *failing) CreatePatient(p ledger.Patient, team []rom.StaffID, d []ledger.Draft, t ledger.Trail) error {
	if f.left--; f.left < 0 {
		return errors.New("no space left")
	}
	return f.Store.CreatePatient(p, team, d, t)
}

// Interrupted in the middle, the same file goes on where it stopped.
func TestImportGoesOn(t *testing.T) {
	p := newPractice(t)
	p.adopt(rom.CuffRepair)
	file := "name,side,procedure\n"
	for i := range 7 {
		file += fmt.Sprintf("Person Number%d,left,cuff-repair\n", i)
	}
	w := p.as(vega)
	whole := p.desk.Store
	p.desk.Store = &failing{whole, 3}
	w.refused(w.confirm(w.upload(file)), http.StatusServiceUnavailable, "The server stopped after 3 of the file. They are in and complete.")
	if n := len(p.panel()); n != 3 {
		t.Fatalf("%d are in", n)
	}
	p.desk.Store = whole
	a := w.upload(file)
	if !strings.Contains(a.page.words(), "4 new patients, 3 brought in from this file before") {
		t.Errorf("%s", a.page.words())
	}
	w.taken(w.confirm(a))
	if n := len(p.panel()); n != 7 {
		t.Errorf("%d are in", n)
	}
}

// A Bundle that another program, or this one, wrote.
func TestBringABundleIn(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(vega)
	bundle := w.post(x.base+"/export/fhir", url.Values{}).body
	a := w.upload(bundle)
	if text := a.page.words(); !strings.Contains(text, "the number N-Ada Rowe is in your care already") {
		t.Errorf("%s", text)
	}
	q := newPractice(t) // another clinic
	q.adopt(rom.CuffRepair)
	w = q.as(vega)
	a = w.upload(bundle)
	if !strings.Contains(a.page.words(), "1 new patient") || !strings.Contains(a.page.words(), "plans of the file are left out") {
		t.Fatalf("%d %s", a.StatusCode, a.page.words())
	}
	w.taken(w.confirm(a))
	row := q.panel()[0]
	e := (&patient{q, row.Patient.ID, ""}).episode()
	if row.Patient.Name != "Ada Rowe" || row.Patient.Born != "1961-05-04" || e.Side != rom.Right || e.Surgery.String() != "2026-01-31" || e.State != rom.Planned || e.ConfirmedBy != "" {
		t.Errorf("%+v %+v", row.Patient, e)
	}
}

// Hostile files are refused in one sentence; a file that waits is of one
// person only, runs out, and is brought in only after a fresh proof.
func TestHostileImports(t *testing.T) {
	p := newPractice(t)
	p.adopt(rom.CuffRepair)
	w := p.as(marsh)
	many := "name,side,procedure\n" + strings.Repeat("A,left,cuff-repair\n", importMost+1)
	for what, c := range map[string]struct {
		file, says string
		status     int
	}{
		"empty":       {"", "Please choose a file.", 422},
		"huge":        {strings.Repeat("x", importBody), "The file is larger than 1 MiB.", 413},
		"a megabyte":  {"name,side,procedure\n" + strings.Repeat("x", 1<<20), "larger than 1024 KiB", 422},
		"utf-16":      {"\xff\xfen\x00", "UTF-16", 422},
		"latin-1":     {"name,side,procedure\nJos\xe9,left,cuff-repair\n", "line 2", 422},
		"a workbook":  {"PK\x03\x04", "it is a spreadsheet", 422},
		"json":        {`{"resourceType":"Patient"}`, "not a Bundle", 422},
		"cut":         {`{"resourceType":`, "it is not JSON", 422},
		"deep":        {strings.Repeat("[", 9999), "nests deeper", 422},
		"many people": {many, "500 is the most at once", 422},
	} {
		a := w.upload(c.file)
		if a.StatusCode != c.status || !strings.Contains(alerts(a), c.says) {
			t.Errorf("%s: %d %s", what, a.StatusCode, alerts(a))
		}
	}
	bom := w.upload("\xef\xbb\xbf" + strings.ReplaceAll("name,side,procedure\nZoë <b>例</b>,left,cuff-repair\n", ",", ";"))
	if !strings.Contains(bom.page.words(), "1 new patient") || strings.Contains(bom.body, "<b>例") {
		t.Errorf("with a mark and semicolons: %d %s", bom.StatusCode, alerts(bom))
	}
	form := change(t, bom, "confirm", "act", "confirm")
	other := p.as(vega)
	form.Del("once") // bound to its writer; here the file's own lock is asked
	other.refused(other.post("/clinic/import", form), http.StatusGone, "This file is not kept any more.")
	p.now = p.now.Add(access.FreshFor + time.Minute)
	if a := w.post("/clinic/import", form); a.StatusCode != http.StatusUnauthorized || !strings.Contains(a.page.words(), "Is it still you?") {
		t.Errorf("without a fresh proof: %d", a.StatusCode)
	}
	if a := w.upload(twoPeople); a.StatusCode != http.StatusOK {
		t.Errorf("looking at a file needs no fresh proof: %d %s", a.StatusCode, alerts(a))
	}
	w = p.as(marsh)
	a := w.upload(twoPeople)
	p.now = p.now.Add(importWaits + time.Minute)
	w = p.as(marsh)
	w.refused(w.post("/clinic/import", change(t, a, "confirm", "act", "confirm")), http.StatusGone, "This file is not kept any more.")
	if len(p.panel()) != 0 {
		t.Error("somebody is in")
	}
	admin := p.as(fenn)
	admin.refused(admin.upload(twoPeople), http.StatusForbidden, "your role may not do this")
}

package clinic

import (
	"bytes"
	stdcsv "encoding/csv"
	"encoding/json"
	"errors"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// table reads a file of an export.
func table(t *testing.T, files map[string][]byte, name string) (rows []map[string]string) {
	t.Helper()
	all, err := stdcsv.NewReader(bytes.NewReader(files[name])).ReadAll()
	if err != nil || len(all) == 0 {
		t.Fatalf("%s: %v", name, err)
	}
	for _, r := range all[1:] {
		row := map[string]string{}
		for i, c := range r {
			row[all[0][i]] = c
		}
		rows = append(rows, row)
	}
	return rows
}

// measured is a patient with a reading of each kind, a session and a second
// revision of the plan whose reason is a formula.
func (p *practice) measured(name string) *patient {
	p.t.Helper()
	x := p.running(name)
	e := x.episode()
	ph := x.phone()
	ph.write(p.now.Add(-time.Hour), wire.KindReading, own(e, rom.ForwardFlexion, 84))
	three := 3
	ph.write(p.now, wire.KindSession, rom.Session{Episode: e.ID, ID: "s1", Due: p.today(), Slot: 1, Phase: "passive", Seconds: 300, Ended: rom.Finished, After: &three,
		Items: []rom.SessionItem{{Exercise: rom.TableSlideFlexion, Motion: rom.ForwardFlexion, Dose: rom.Dose{Hold: 20, Reps: 5}, Holds: []rom.Hold{{Tenths: 205, Counted: true}, {Tenths: 100}}}}})
	ph.exchange()
	w := p.as(quill)
	rec := &visit{desk: p.desk, at: p.now, clinic: testClinic(), asOf: p.desk.source().AsOf(testClinic(), p.now)}
	rec.patient.ID, rec.staff.ID = x.id, quill
	p.must(rec.record(wire.KindReading, rom.Reading{Episode: e.ID, Side: e.Side, Motion: rom.ER20, Class: rom.Passive, Method: rom.Goniometer, Angle: rom.Deg(-4), SE: rom.Deg(4), By: quill}))
	w.taken(w.post(x.base+"/plan", change(p.t, w.get(x.base+"/plan"), "save", "act", "save", "state", "paused", "reason", `=HYPERLINK("http://evil.test","x")`, "why", "rest")))
	return x
}

// The tables of one patient hold what the record holds, no name, no formula,
// and the dictionary has every column of every table with its meaning, unit
// and source.
func TestTablesOfAPatient(t *testing.T) {
	p := newPractice(t)
	x := p.measured("Ada Rowe")
	w := p.as(vega)
	a := w.post(x.base+"/export/csv", url.Values{})
	if a.StatusCode != http.StatusOK || a.Header.Get("Content-Type") != "application/zip" {
		t.Fatalf("%d %s", a.StatusCode, alerts(a))
	}
	files := unzip(t, []byte(a.body))
	readings := table(t, files, "readings.csv")
	if len(readings) != 2 {
		t.Fatalf("%v", readings)
	}
	self := slices.IndexFunc(readings, func(r map[string]string) bool { return r["by"] == "" })
	if r := readings[self]; r["angle"] != "84" || r["motion"] != "FF" || r["method"] != "photo" || r["standard_error"] != "7" || r["day"] != "30" || r["operated"] != "yes" || r["on"] != "2026-03-02" {
		t.Errorf("own reading: %v", r)
	}
	if r := readings[1-self]; r["angle"] != "-4" || r["motion"] != "ER20" || r["by"] != string(quill) {
		t.Errorf("the clinic's: %v", r)
	}
	if s := table(t, files, "sessions.csv"); len(s) != 1 || s[0]["done_repetitions"] != "1" || s[0]["held"] != "30.5" || s[0]["asked_repetitions"] != "5" || s[0]["pain_after"] != "3" || s[0]["pain_before"] != "" {
		t.Errorf("session: %v", s)
	}
	plans := table(t, files, "plans.csv")
	last := plans[len(plans)-1]
	if last["state"] != "paused" || last["reason"] != `'=HYPERLINK("http://evil.test","x")` || !strings.Contains(last["changes"], "state") {
		t.Errorf("the last revision: %v", last)
	}
	if e := table(t, files, "episodes.csv"); len(e) != 1 || e[0]["side"] != "right" || e[0]["surgery"] != "2026-01-31" || strings.TrimPrefix(e[0]["patient"], "'") != string(x.id) { // an id that begins like a formula is guarded as one
		t.Errorf("episode: %v", e)
	}
	dict := table(t, files, "dictionary.csv")
	for name, text := range files {
		if bytes.Contains(text, []byte("Rowe")) || bytes.Contains(text, []byte("900 0000")) {
			t.Errorf("%s names the patient", name)
		}
		if !strings.HasSuffix(name, ".csv") || name == "dictionary.csv" {
			continue
		}
		head, _, _ := strings.Cut(string(text), "\r\n")
		for c := range strings.SplitSeq(head, ",") {
			i := slices.IndexFunc(dict, func(r map[string]string) bool { return r["file"] == name && r["column"] == c })
			if i < 0 || dict[i]["means"] == "" || dict[i]["unit"] == "" || dict[i]["source"] == "" {
				t.Errorf("%s, %s is not explained", name, c)
			}
		}
	}
	assistant := p.as(marsh)
	assistant.refused(assistant.post(x.base+"/export/csv", url.Values{}), http.StatusForbidden, "your role may not do this")
}

// A FHIR Bundle of one patient: with the name, everything hangs together, and
// the act is in the audit log. That its form is FHIR's is checked beside
// package fhir.
func TestBundleOfAPatient(t *testing.T) {
	p := newPractice(t)
	x := p.measured("Ada Rowe")
	w := p.as(vega)
	a := w.post(x.base+"/export/fhir", url.Values{})
	var b struct {
		ResourceType, Type string
		Entry              []struct {
			FullURL  string
			Resource struct {
				ResourceType, ID string
				Name             json.RawMessage
			}
		}
	}
	p.must(json.Unmarshal([]byte(a.body), &b))
	kinds := map[string]int{}
	for _, e := range b.Entry {
		kinds[e.Resource.ResourceType]++
		if e.FullURL != "https://clinic.test/fhir/"+e.Resource.ResourceType+"/"+e.Resource.ID {
			t.Errorf("%s", e.FullURL)
		}
	}
	if a.Header.Get("Content-Type") != "application/fhir+json" || b.Type != "collection" || kinds["Patient"] != 1 || kinds["Observation"] != 2 || kinds["CarePlan"] < 2 || kinds["Device"] != 1 || !strings.Contains(a.body, "Ada Rowe") {
		t.Errorf("%v %v", a.Header, kinds)
	}
	found := false
	entries, err := p.store.Audit(1, 0)
	p.must(err)
	for _, e := range entries {
		found = found || e.Act == "patient.export" && e.Resource == "fhir" && e.Actor == string(vega) && e.Patient == string(x.id)
	}
	if !found {
		t.Error("not in the audit log")
	}
}

// Everybody in one's care: nobody else, nobody whose data is restricted, no
// names; and only after one has said again who one is.
func TestFilesOfEverybody(t *testing.T) {
	p := newPractice(t)
	ada, bo := p.measured("Ada Rowe"), p.running("Bo Lind")
	w := p.as(vega)
	rows := table(t, unzip(t, []byte(w.post("/clinic/data/csv", url.Values{}).body)), "episodes.csv")
	if len(rows) != 2 {
		t.Errorf("%v", rows)
	}
	w.taken(w.post(bo.base+"/restriction", url.Values{"act": {"begin"}, "reason": {"the patient objects to it"}}))
	pieces := 0
	p.desk.MoreTime = func(http.ResponseWriter) { pieces++ }
	a := w.post("/clinic/data/fhir", url.Values{})
	if least := len(a.body) / chunk; pieces <= least {
		t.Errorf("%d bytes had time for %d pieces", len(a.body), pieces)
	}
	if last := a.body[strings.LastIndex(strings.TrimSpace(a.body), "\n")+1:]; !strings.Contains(last, "This file is complete: 1 patients, 1 left out.") {
		t.Errorf("the last line is %q", last)
	}
	for line := range strings.SplitSeq(strings.TrimSpace(a.body), "\n") {
		var r struct{ ResourceType string }
		if json.Unmarshal([]byte(line), &r) != nil || r.ResourceType == "" {
			t.Fatalf("%q is no resource", line)
		}
	}
	if !strings.Contains(a.body, `"Patient/`+strings.ReplaceAll(string(ada.id), "_", ".")+`"`) || strings.Contains(a.body, strings.ReplaceAll(string(bo.id), "_", ".")) || strings.Contains(a.body, "Rowe") {
		t.Error("the file holds the wrong people, or their names")
	}
	if rows := table(t, unzip(t, []byte(p.as(orr).post("/clinic/data/csv", url.Values{}).body)), "episodes.csv"); len(rows) != 0 {
		t.Errorf("a surgeon takes out patients of others: %v", rows)
	}
	late := p.as(vega)
	p.now = p.now.Add(access.FreshFor + time.Minute)
	if a := late.post("/clinic/data/csv", url.Values{}); a.StatusCode != http.StatusUnauthorized || !strings.Contains(a.page.words(), "Is it still you?") {
		t.Errorf("after a while: %d", a.StatusCode)
	}
	for _, who := range []rom.StaffID{marsh, fenn} {
		x := p.as(who)
		x.refused(x.post("/clinic/data/csv", url.Values{}), http.StatusForbidden, "your role may not do this")
	}
}

// shortWriter takes so many bytes and then fails, as a connection that is gone.
type shortWriter struct {
	*httptest.ResponseRecorder
	room int
}

func (w *shortWriter) Write(b []byte) (int, error) {
	if len(b) > w.room {
		return 0, errors.New("the reader is gone")
	}
	w.room -= len(b)
	return w.ResponseRecorder.Write(b)
}

// A file that is cut while it is sent has no last line, and the audit log says that it is not whole.
func TestCutFileIsNotWhole(t *testing.T) {
	p := newPractice(t)
	p.measured("Ada Rowe")
	p.measured("Bo Lind")
	w := p.as(vega)
	whole := w.post("/clinic/data/fhir", url.Values{}).body
	short := &shortWriter{httptest.NewRecorder(), len(whole) - 10}
	func() {
		defer func() {
			if r := recover(); r != nil && r != http.ErrAbortHandler {
				panic(r)
			}
		}()
		r := httptest.NewRequest("POST", "https://clinic.test/clinic/data/fhir", nil)
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Sec-Fetch-Site", "same-origin")
		r.AddCookie(&http.Cookie{Name: p.desk.Cookies.Name(), Value: w.cookie})
		p.http.ServeHTTP(short, r)
	}()
	if strings.Contains(short.Body.String(), "This file is complete") {
		t.Error("a cut file says that it is complete")
	}
	entries, err := p.store.Audit(1, 0)
	p.must(err)
	if !slices.ContainsFunc(entries, func(e ledger.Entry) bool {
		return e.Act == string(access.ExportAll) && strings.Contains(e.Outcome, "the file is not whole")
	}) {
		t.Error("the audit log does not say that the file was cut")
	}
}

// A token is shown once, to the person, and opens no page of the clinic.
func TestTokenOnThePage(t *testing.T) {
	p := newPractice(t)
	w := p.as(quill)
	a := w.post("/clinic/data/token", url.Values{})
	box := a.page.all(func(k *node) bool { return k.name == "textarea" })
	if len(box) != 1 {
		t.Fatalf("%d %s", a.StatusCode, alerts(a))
	}
	token := box[0].words()
	if got, err := p.desk.Tokens.ParseFHIR(token, p.now); err != nil || got.Staff != string(quill) || got.Scopes.Allows("user", "Observation", 'c') {
		t.Errorf("%+v %v", got, err)
	}
	thief := &person{p: p, cookie: token}
	if a := thief.get("/clinic/"); a.StatusCode != http.StatusSeeOther {
		t.Errorf("as a session: %d", a.StatusCode)
	}
	if strings.Contains(w.get("/clinic/data").body, token[:40]) || strings.Contains(p.log.String(), token[:40]) {
		t.Error("the token stands somewhere else too")
	}
}

// A file that breaks off is so in the audit log, and no alarm that could not be
// read is taken for none.
func TestWhatCannotBeReadIsSaid(t *testing.T) {
	p := newPractice(t)
	x, y := p.running("Ada Rowe"), p.running("Bo Lind")
	w := p.as(vega)
	mend := p.breaks(func(call, about string) bool { return call == "Quarantine" && about == string(y.id) })
	if a := w.post("/clinic/data/csv", url.Values{}); a.StatusCode != http.StatusInternalServerError {
		t.Errorf("%d", a.StatusCode)
	}
	mend()
	entries, err := p.store.Audit(1, 0)
	p.must(err)
	if !slices.ContainsFunc(entries, func(e ledger.Entry) bool {
		return e.Act == string(access.ExportAll) && strings.Contains(e.Outcome, "nothing was handed out")
	}) {
		t.Error("the audit log does not say that it broke off")
	}
	const unknown = "It could not be read whether somebody used emergency access."
	defer p.breaks(func(call, _ string) bool { return call == "GlassOn" || call == "Breaks" })()
	for _, at := range []string{x.base, "/clinic/"} {
		if s := w.get(at).page.words(); !strings.Contains(s, unknown) {
			t.Errorf("%s shows no alarm and does not say that it could not look", at)
		}
	}
}

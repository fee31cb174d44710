package clinic

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

// addresses makes a request of every route of the table, with the patient and
// plausible rest filled in.
func addresses(d *Desk, patient rom.PatientID) (out [][2]string) {
	for pattern := range d.routes() {
		method, path, _ := strings.Cut(pattern, " ")
		path = strings.NewReplacer("{patient}", string(patient), "{file}", "desk.css", "{protocol}", "cuff-repair-small-medium", "{what}", "reading", "{$}", "").Replace(path)
		out = append(out, [2]string{method, path})
	}
	slices.SortFunc(out, func(a, b [2]string) int { return strings.Compare(a[1]+a[0], b[1]+b[0]) })
	return out
}

func (w *person) request(method, path string) *answer {
	if method == "POST" {
		return w.post(path, url.Values{})
	}
	return w.get(path)
}

// Whoever is not in the care team is told that there is no such patient, on
// every route there is; generated from the table, so that a new route cannot
// be forgotten (OWASP ASVS 5.0, 8.2.2 and 8.4.1).
func TestEveryPatientRouteAsksTheCareTeam(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	before := len(x.history().Plans) + len(x.history().Notes) + len(x.history().Tasks)
	seen := 0
	for _, at := range addresses(p.desk, x.id) {
		if !strings.Contains(at[1], string(x.id)) {
			continue
		}
		seen++
		for _, who := range []rom.StaffID{orr, moss, fenn} {
			a := p.as(who).request(at[0], at[1])
			if a.StatusCode != http.StatusNotFound || !strings.Contains(alerts(a), "There is no such patient in your care.") {
				t.Errorf("%s %s as %s: %d %s", at[0], at[1], who, a.StatusCode, alerts(a))
			}
			if strings.Contains(a.body, "Ada Rowe") {
				t.Errorf("%s %s as %s: the page names the patient", at[0], at[1], who)
			}
			// The same answer as for somebody who does not exist.
			other := p.as(who).request(at[0], strings.Replace(at[1], string(x.id), "nobody", 1))
			if other.StatusCode != a.StatusCode || alerts(other) != alerts(a) {
				t.Errorf("%s %s as %s: %q, but for nobody %q", at[0], at[1], who, alerts(a), alerts(other))
			}
		}
		nobody := &person{p: p}
		a := nobody.request(at[0], at[1])
		switch {
		case at[0] == "GET" && (a.StatusCode != http.StatusSeeOther || !strings.HasPrefix(a.Header.Get("Location"), "/clinic/sign-in?next=")):
			t.Errorf("%s signed out: %d %q", at[1], a.StatusCode, a.Header.Get("Location"))
		case at[0] == "POST" && a.StatusCode != http.StatusUnauthorized:
			t.Errorf("%s signed out: %d", at[1], a.StatusCode)
		}
		if a := p.as(vega).request(at[0], at[1]); a.StatusCode == http.StatusNotFound && strings.Contains(alerts(a), "no such patient") {
			t.Errorf("%s %s as the surgeon of the team: 404", at[0], at[1])
		}
	}
	if seen < 15 {
		t.Fatalf("only %d patient routes were found", seen)
	}
	if after := len(x.history().Plans) + len(x.history().Notes) + len(x.history().Tasks); after != before {
		t.Error("a stranger's request wrote something")
	}
}

// Opening a patient is audited, with ids only.
func TestReadingIsAudited(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	before, err := p.store.Audit(1, 1000)
	p.must(err)
	p.as(quill).get(x.base)
	after, err := p.store.Audit(1, 1000)
	p.must(err)
	var views []ledger.Entry
	for _, e := range after[len(before):] {
		if e.Act == "patient.view" {
			views = append(views, e)
		}
	}
	if len(views) != 1 || views[0].Actor != string(quill) || views[0].Patient != string(x.id) || views[0].Session == "" {
		t.Errorf("audit: %+v", views)
	}
}

// OWASP secure headers on every answer, errors and the stylesheet included;
// standards of this project: no-store, no frames, no script but our own files.
func TestHeadersEverywhere(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	check := func(what string, a *answer) {
		t.Helper()
		h := a.Header
		for name, want := range map[string]string{
			"Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
			"X-Content-Type-Options":  "nosniff", "Referrer-Policy": "no-referrer", "Cross-Origin-Opener-Policy": "same-origin", "Cross-Origin-Resource-Policy": "same-origin",
		} {
			if h.Get(name) != want {
				t.Errorf("%s (%d): %s is %q", what, a.StatusCode, name, h.Get(name))
			}
		}
		for _, closed := range []string{"camera=()", "microphone=()", "geolocation=()", "accelerometer=()", "gyroscope=()"} {
			if !strings.Contains(h.Get("Permissions-Policy"), closed) {
				t.Errorf("%s: %s is missing", what, closed)
			}
		}
		want := "no-store"
		if strings.Contains(what, "desk.css") {
			want = "no-cache"
		}
		if h.Get("Cache-Control") != want {
			t.Errorf("%s: cache %q", what, h.Get("Cache-Control"))
		}
		if a.StatusCode != http.StatusSeeOther && a.Header.Get("Content-Type") == "" {
			t.Errorf("%s: no content type", what)
		}
		if a.page != nil {
			for _, bad := range a.page.all(func(k *node) bool {
				return k.name == "script" && !ownScript(k) || k.attr["style"] != "" || k.attr["onclick"] != "" || k.name == "style"
			}) {
				t.Errorf("%s: <%s> would break the policy", what, bad.name)
			}
		}
	}
	for _, at := range addresses(p.desk, x.id) {
		check(at[0]+" "+at[1], p.as(vega).request(at[0], at[1]))
		check("signed out "+at[0]+" "+at[1], (&person{p: p}).request(at[0], at[1]))
	}
	w := p.as(vega)
	check("unknown address", w.get("/clinic/nothing/here"))
	check("unknown file", w.get("/clinic/assets/other.css"))
	check("unknown patient", w.get("/clinic/patients/nobody"))
	r := httptest.NewRequest("DELETE", "https://clinic.test"+x.base, nil)
	check("another method", w.send(r))
}

// ownScript reports whether an element is one of the desk's own script files.
func ownScript(k *node) bool {
	return k.name == "script" && strings.HasPrefix(k.attr["src"], "/clinic/assets/") && k.words() == ""
}

// CSRF: a form of another site changes nothing (http.CrossOriginProtection;
// OWASP cross-site request forgery sheet).
func TestOtherSitesForms(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	form := url.Values{"episode": {string(x.episode().ID)}, "text": {"from elsewhere"}}
	for name, set := range map[string]func(http.Header){
		"cross-site": func(h http.Header) { h.Set("Sec-Fetch-Site", "cross-site") },
		"same-site":  func(h http.Header) { h.Set("Sec-Fetch-Site", "same-site") },
		"old browser": func(h http.Header) {
			h.Set("Origin", "https://evil.test")
		},
	} {
		r := httptest.NewRequest("POST", "https://clinic.test"+x.base+"/entry/note", strings.NewReader(form.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		set(r.Header)
		w := p.as(vega)
		a := w.refused(w.send(r), http.StatusForbidden, "This form came from another site. Nothing was changed.")
		if a.Header.Get("Content-Security-Policy") == "" {
			t.Errorf("%s: no policy on the refusal", name)
		}
	}
	if n := len(x.history().Notes); n != 0 {
		t.Errorf("%d notes were written", n)
	}
}

func TestWrongContent(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(vega)
	send := func(kind, body string) *answer {
		r := httptest.NewRequest("POST", "https://clinic.test"+x.base+"/entry/note", strings.NewReader(body))
		r.Header.Set("Content-Type", kind)
		return w.send(r)
	}
	w.refused(send("application/json", `{"text":"x"}`), http.StatusUnsupportedMediaType, "takes only the forms of these pages")
	w.refused(send("multipart/form-data; boundary=x", "--x--"), http.StatusUnsupportedMediaType, "takes only the forms of these pages")
	w.refused(send("", "text=x"), http.StatusUnsupportedMediaType, "takes only the forms of these pages")
	w.refused(send("application/x-www-form-urlencoded", "text=%zz"), http.StatusBadRequest, "The form could not be read.")
	w.refused(send("application/x-www-form-urlencoded", "text="+strings.Repeat("x", maxBody)), http.StatusRequestEntityTooLarge, "too much text for one form. Nothing was changed.")
	w.refused(w.get("/clinic/nowhere"), http.StatusNotFound, "There is no page at this address.")
	w.refused(w.get(x.base+"?episode=unknown"), http.StatusNotFound, "There is no page at this address.")
	w.refused(w.get(x.base+"/plan?episode=unknown"), http.StatusNotFound, "")
	w.refused(w.post(x.base+"/entry/note", url.Values{"episode": {"unknown"}, "text": {"x"}}), http.StatusUnprocessableEntity, "This episode does not exist any more.")
	w.refused(w.get(x.base+"/entry/other"), http.StatusNotFound, "There is no page at this address.")
	r := httptest.NewRequest("HEAD", "https://clinic.test"+x.base, nil)
	if a := w.send(r); a.StatusCode != 200 {
		t.Errorf("HEAD: %d", a.StatusCode)
	}
	if n := len(x.history().Notes); n != 0 {
		t.Errorf("%d notes were written", n)
	}
}

// A double click, or the browser's "send again", is one act.
func TestSentTwice(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(quill)
	form := change(t, w.get(x.base+"/entry/reading"), "method", "FF-right", "92")
	one, two := w.post(x.base+"/entry/reading", form), w.post(x.base+"/entry/reading", form)
	if one.StatusCode != http.StatusSeeOther || two.StatusCode != http.StatusSeeOther || one.Header.Get("Location") != two.Header.Get("Location") {
		t.Errorf("%d %q, then %d %q", one.StatusCode, one.Header.Get("Location"), two.StatusCode, two.Header.Get("Location"))
	}
	if n := len(x.history().Readings); n != 1 {
		t.Errorf("%d readings from one form sent twice", n)
	}
	// The form again, as a new one, is a second reading.
	w.taken(w.post(x.base+"/entry/reading", change(t, w.get(x.base+"/entry/reading"), "method", "FF-right", "95")))
	if n := len(x.history().Readings); n != 2 {
		t.Errorf("%d readings", n)
	}
	// A form that was refused may be sent again.
	form = change(t, w.get(x.base+"/entry/reading"), "method", "FF-right", "ninety")
	w.refused(w.post(x.base+"/entry/reading", form), http.StatusUnprocessableEntity, "is not an angle")
	form.Set("FF-right", "90")
	w.taken(w.post(x.base+"/entry/reading", form))
}

// Nothing of a patient reaches the log.
func TestLogIsBare(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	p.desk.History = func([]byte) (rom.History, error) { return rom.History{}, http.ErrBodyNotAllowed }
	w := p.as(vega)
	w.refused(w.get(x.base), http.StatusInternalServerError, "Something went wrong on the server.")
	w.refused(w.get("/clinic/"), http.StatusInternalServerError, "Something went wrong on the server.")
	if s := p.log.String(); strings.Contains(s, "Ada") || strings.Contains(s, string(x.id)) || !strings.Contains(s, "clinic page failed") {
		t.Errorf("log: %s", s)
	}
}

package clinic

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
)

// What widens, exports or hands out a code asks again who is there when the
// last proof is older than five minutes (OWASP ASVS 5.0, 7.5.3). The form is
// not lost by it, the session gets a new id (7.2.4), and what was refused once
// is taken then.
func TestAskedAgain(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(vega)
	form := change(t, w.get(x.base), "kind", "kind", "desk")
	p.now = p.now.Add(access.FreshFor)
	if a := w.post(x.base+"/invite", form); a.StatusCode != http.StatusSeeOther {
		t.Fatalf("after five minutes: %d %s", a.StatusCode, alerts(a))
	}
	p.now = p.now.Add(time.Second)
	old := *w
	form = change(t, w.get(x.base), "kind", "kind", "desk")
	a := w.post(x.base+"/invite", form)
	if a.StatusCode != http.StatusUnauthorized || !strings.Contains(a.page.words(), "Is it still you?") {
		t.Fatalf("a second later: %d %s", a.StatusCode, alerts(a))
	}
	if strings.Contains(a.body, "desk\"") {
		t.Error("the form that waits can be read in the page")
	}
	again := w.refused(w.post("/clinic/again", change(t, a, "password", "password", "not this one at all")), http.StatusUnauthorized, "The password is wrong.")
	a = w.post("/clinic/again", change(t, again, "password", "password", password))
	send := a.page.form(t, "kind")
	if a.StatusCode != http.StatusOK || send.attr["action"] != x.base+"/invite" || !strings.Contains(a.body, "data-send") {
		t.Fatalf("after the proof: %d, to %q", a.StatusCode, send.attr["action"])
	}
	if sheet := w.taken(w.post(send.attr["action"], send.values())); !strings.Contains(sheet.page.words(), "shown once") {
		t.Errorf("no sheet: %s", sheet.page.words())
	}
	if a := old.get("/clinic/"); a.StatusCode != http.StatusSeeOther {
		t.Errorf("the session's old id still opens: %d", a.StatusCode)
	}
	// The absolute end did not move.
	for start := p.now; p.now.Sub(start) < access.SessionLife+20*time.Minute; p.now = p.now.Add(10 * time.Minute) {
		if a := w.get("/clinic/"); a.StatusCode != http.StatusOK {
			if since := p.now.Sub(monday); since < access.SessionLife-10*time.Minute {
				t.Errorf("signed out after %v", since)
			}
			return
		}
	}
	t.Error("a proof made the session longer")
}

// Stopping and narrowing never wait for a proof, whatever the clock says.
func TestStopIsNotHeldUp(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(vega)
	p.now = p.now.Add(14 * time.Minute)
	page := w.get(x.base + "/plan")
	a := w.post(x.base+"/plan", change(t, page, "state", "state", "stopped", "reason", "swollen and hot", "why", "Please stop and ring us."))
	if a.StatusCode == http.StatusUnauthorized {
		t.Fatal("a stop was held up by the question who is there")
	}
	w.taken(a)
	if plan := x.plan(); plan.State != rom.Stopped {
		t.Errorf("the plan is %v", plan.State)
	}
	// To resume, the proof is asked for.
	p.now = p.now.Add(time.Minute)
	a = w.post(x.base+"/plan", change(t, w.get(x.base+"/plan"), "state", "state", "running", "why", "", "reason", "all well again"))
	if a.StatusCode != http.StatusUnauthorized {
		t.Errorf("resumed without a proof: %d %s", a.StatusCode, alerts(a))
	}
}

// What was written comes back to the person who wrote it and to nobody else,
// however the session ended; a form opened by one person is not taken from
// another who has signed in since.
func TestFormsStayWithTheirWriter(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(vega)
	form := change(t, w.get(x.base+"/entry/note"), "text", "text", "for Ada only")
	late := func(cookie string) *answer {
		t.Helper()
		w := &person{p: p, cookie: cookie}
		return w.post(x.base+"/entry/note", form)
	}
	p.now = p.now.Add(access.SessionIdle)
	for what, cookie := range map[string]string{"with the old cookie": w.cookie, "without any": "", "with another's old cookie": ""} {
		a := late(cookie)
		if !strings.Contains(alerts(a), "What you wrote is kept") {
			t.Fatalf("%s: %s", what, alerts(a))
		}
		if strings.Contains(a.body, "for Ada only") {
			t.Errorf("%s: what was written can be read at the door", what)
		}
		other := &person{p: p}
		b := other.post("/clinic/sign-in", change(t, a, "login", "login", "quill", "password", password))
		if b.StatusCode != http.StatusSeeOther || b.Header.Get("Location") != "/clinic/?done=others" || strings.Contains(b.body, "for Ada only") {
			t.Errorf("%s: another person gets %d to %q", what, b.StatusCode, b.Header.Get("Location"))
		}
		same := &person{p: p}
		b = same.post("/clinic/sign-in", change(t, a, "login", "login", "vega", "password", password))
		if got := b.page.form(t, "text").values().Get("text"); b.StatusCode != 200 || got != "for Ada only" {
			t.Errorf("%s: the writer gets %q, %d", what, got, b.StatusCode)
		}
	}
	q := p.as(quill)
	q.refused(q.post(x.base+"/entry/note", form), http.StatusConflict, "opened by somebody else")
	if n := len(x.history().Notes); n != 0 {
		t.Errorf("%d notes were written", n)
	}
	// Made up, or a day old, nothing comes back.
	a := late(w.cookie)
	kept := a.page.form(t, "login").values().Get("kept")
	same := &person{p: p}
	for what, text := range map[string]string{"made up": "AAAA", "cut": kept[:len(kept)-2]} {
		b := same.post("/clinic/sign-in", url.Values{"login": {"vega"}, "password": {password}, "kept": {text}})
		if b.StatusCode != http.StatusSeeOther {
			t.Errorf("%s: %d", what, b.StatusCode)
		}
	}
	p.now = p.now.Add(carryLife + time.Hour)
	if b := same.post("/clinic/sign-in", url.Values{"login": {"vega"}, "password": {password}, "kept": {kept}}); b.StatusCode != http.StatusSeeOther {
		t.Errorf("a day later: %d", b.StatusCode)
	}
}

// A page left alone is locked by its script: the session ends at once, and
// what was being written waits, sealed, for its writer.
func TestLocked(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(vega)
	copied := *w
	once := w.get(x.base+"/entry/note").page.form(t, "text").values().Get("once")
	a := w.post("/clinic/lock", url.Values{"page": {x.base + "/entry/note"}, "to": {x.base + "/entry/note"}, "body": {"text=half+a+sent"}, "once": {once}})
	if a.StatusCode != http.StatusUnauthorized || w.cookie != "" || !strings.Contains(alerts(a), "sign in to go on") || strings.Contains(a.body, "half") {
		t.Fatalf("%d, cookie %q, %s", a.StatusCode, w.cookie, alerts(a))
	}
	if a := copied.get("/clinic/"); a.StatusCode != http.StatusSeeOther {
		t.Errorf("a copy of the cookie still opens: %d", a.StatusCode)
	}
	a = w.post("/clinic/sign-in", change(t, a, "login", "login", "vega", "password", password))
	form := a.page.form(t, "text")
	if form.values().Get("text") != "half a sent" || form.attr["data-page"] != x.base+"/entry/note" || strings.Contains(a.body, "data-send") {
		t.Fatalf("%d %v", a.StatusCode, form.attr)
	}
	back := w.post("/clinic/kept", url.Values{"kept": {form.attr["data-kept"]}})
	if back.StatusCode != 200 || !strings.Contains(back.body, `"text":["half a sent"]`) {
		t.Errorf("%d %s", back.StatusCode, back.body)
	}
	q := p.as(quill)
	q.refused(q.post("/clinic/kept", url.Values{"kept": {form.attr["data-kept"]}}), http.StatusNotFound, "nothing of yours")
}

// The script is told how long is left without making it longer; staying is an
// act of its own.
func TestSessionTimes(t *testing.T) {
	p := newPractice(t)
	w := p.as(vega)
	times := func() string { return w.get("/clinic/session").body }
	if got := times(); !strings.Contains(got, `"left":900,"end":43200`) {
		t.Errorf("at first: %s", got)
	}
	p.now = p.now.Add(10 * time.Minute)
	if got := times(); !strings.Contains(got, `"left":300,"end":42600`) {
		t.Errorf("after ten minutes: %s", got)
	}
	if a := w.post("/clinic/stay", nil); !strings.Contains(a.body, `"left":900`) {
		t.Errorf("stay: %d %s", a.StatusCode, a.body)
	}
	p.now = p.now.Add(access.SessionIdle)
	if got := times(); !strings.Contains(got, `"left":0,"end":0,"who":""`) {
		t.Errorf("after the end: %s", got)
	}
}

package clinic

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"unsling/server/access"
)

func TestSignIn(t *testing.T) {
	p := newPractice(t)
	w := &person{p: p}
	a := w.get("/clinic/enrol?x=1")
	if a.StatusCode != http.StatusSeeOther || a.Header.Get("Location") != "/clinic/sign-in?next=%2Fclinic%2Fenrol%3Fx%3D1" {
		t.Fatalf("signed out: %d to %q", a.StatusCode, a.Header.Get("Location"))
	}
	page := w.get(a.Header.Get("Location"))
	form := change(t, page, "login", "login", " Vega ", "password", password)
	if form.Get("next") != "/clinic/enrol?x=1" {
		t.Errorf("the place is lost: %q", form.Get("next"))
	}
	a = w.post("/clinic/sign-in", form)
	if a.StatusCode != http.StatusSeeOther || a.Header.Get("Location") != "/clinic/enrol?x=1" {
		t.Fatalf("sign in: %d to %q %s", a.StatusCode, a.Header.Get("Location"), alerts(a))
	}
	c := a.Cookies()[0]
	if c.Name != "__Host-sid" || !c.Secure || !c.HttpOnly || c.SameSite != http.SameSiteStrictMode || c.Path != "/" {
		t.Errorf("cookie %+v", c)
	}
	if got := w.get("/clinic/"); got.StatusCode != 200 || !strings.Contains(got.page.words(), "Dr Ines Vega") {
		t.Errorf("after sign-in: %d", got.StatusCode)
	}
}

// An unknown login, a wrong password and a person who left are one answer
// (OWASP ASVS 5.0, 6.3.8).
func TestSignInRefused(t *testing.T) {
	p := newPractice(t)
	var first string
	for _, c := range []struct{ name, login, password string }{
		{"wrong password", "vega", "not this one at all"}, {"unknown", "nobody", password}, {"left", "gone", password}, {"empty", "", ""},
	} {
		w := &person{p: p}
		a := w.refused(w.post("/clinic/sign-in", url.Values{"login": {c.login}, "password": {c.password}, "next": {"/clinic/enrol"}}), http.StatusUnauthorized, "Login or password is wrong.")
		if w.cookie != "" {
			t.Errorf("%s: a cookie was set", c.name)
		}
		back := a.page.form(t, "login").values()
		if back.Get("login") != c.login || back.Get("next") != "/clinic/enrol" || back.Get("password") != "" {
			t.Errorf("%s: the form came back as %v", c.name, back)
		}
		if first == "" {
			first = alerts(a)
		} else if alerts(a) != first {
			t.Errorf("%s: another sentence, %q", c.name, alerts(a))
		}
	}
}

func TestSignInLimited(t *testing.T) {
	p := newPractice(t)
	w := &person{p: p}
	wrong := url.Values{"login": {"vega"}, "password": {"wrong"}}
	for range 5 {
		w.post("/clinic/sign-in", wrong)
	}
	a := w.refused(w.post("/clinic/sign-in", url.Values{"login": {"vega"}, "password": {password}}), http.StatusTooManyRequests, "Too many wrong tries.")
	if a.Header.Get("Retry-After") == "" {
		t.Error("nobody says when to try again")
	}
	p.now = p.now.Add(time.Minute)
	if a := w.post("/clinic/sign-in", url.Values{"login": {"vega"}, "password": {password}}); a.StatusCode != http.StatusSeeOther {
		t.Errorf("after the wait: %d %s", a.StatusCode, alerts(a))
	}
}

// next never leads away from these pages.
func TestNextStaysHere(t *testing.T) {
	for next, want := range map[string]string{
		"/clinic/enrol": "/clinic/enrol", "/clinic/patients/x?episode=y": "/clinic/patients/x?episode=y",
		"https://evil.test/clinic/": "/clinic/", "//evil.test/clinic/": "/clinic/", "/v1/hello": "/clinic/", "/clinic/sign-out": "/clinic/",
		"javascript:alert(1)": "/clinic/", "/clinic/../v1/hello": "/clinic/", "": "/clinic/", "/clinic/\r\nSet-Cookie: x=y": "/clinic/",
	} {
		if got := safeNext(next); got != want {
			t.Errorf("%q leads to %q, want %q", next, got, want)
		}
	}
}

func TestSessionEnds(t *testing.T) {
	p := newPractice(t)
	w := p.as(vega)
	// In use it is renewed: three hours, a page every ten minutes.
	for range 18 {
		p.now = p.now.Add(10 * time.Minute)
		if a := w.get("/clinic/"); a.StatusCode != 200 {
			t.Fatalf("in use since %v: %d", p.now.Sub(monday), a.StatusCode)
		}
	}
	// Idle it ends.
	p.now = p.now.Add(access.SessionIdle)
	if a := w.get("/clinic/"); a.StatusCode != http.StatusSeeOther {
		t.Errorf("idle: %d", a.StatusCode)
	}
	// And it ends in any case.
	w = p.as(vega)
	for start := p.now; p.now.Sub(start) < access.SessionLife; p.now = p.now.Add(10 * time.Minute) {
		if a := w.get("/clinic/"); a.StatusCode != 200 {
			t.Fatalf("after %v: %d", p.now.Sub(start), a.StatusCode)
		}
	}
	if a := w.get("/clinic/"); a.StatusCode != http.StatusSeeOther {
		t.Errorf("after %v: %d", access.SessionLife, a.StatusCode)
	}
}

// The row of the person is read on every request.
func TestDisabledAtOnce(t *testing.T) {
	p := newPractice(t)
	w := p.as(quill)
	row, err := p.store.Staff(quill)
	p.must(err)
	row.Disabled = true
	p.must(p.store.PutStaff(row, p.trail(fenn)))
	if a := w.get("/clinic/"); a.StatusCode != http.StatusSeeOther {
		t.Errorf("disabled: %d", a.StatusCode)
	}
}

// Signing out ends the row, not only the cookie, and leaves the origin's
// storage alone: a phone's unsent log may lie there.
func TestSignOut(t *testing.T) {
	p := newPractice(t)
	w := p.as(vega)
	copied := *w
	a := w.post("/clinic/sign-out", nil)
	if a.StatusCode != http.StatusSeeOther || w.cookie != "" || a.Header.Get("Clear-Site-Data") != "" {
		t.Errorf("%d, cookie %q, Clear-Site-Data %q", a.StatusCode, w.cookie, a.Header.Get("Clear-Site-Data"))
	}
	if a := copied.get("/clinic/"); a.StatusCode != http.StatusSeeOther {
		t.Errorf("a copy of the cookie still opens the door: %d", a.StatusCode)
	}
}

// A form that comes after the session has ended is carried over the sign-in,
// and taken when the person sends it.
func TestFormSurvivesSignIn(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(vega)
	form := change(t, w.get(x.base+"/entry/note"), "text", "text", "Please keep the sling on.\n<b>Always</b>")
	p.now = p.now.Add(access.SessionIdle)
	a := w.refused(w.post(x.base+"/entry/note", form), http.StatusUnauthorized, "What you wrote is kept")
	a = w.post("/clinic/sign-in", change(t, a, "login", "login", "vega", "password", password))
	if a.StatusCode != 200 || w.cookie == "" {
		t.Fatalf("sign in again: %d %s", a.StatusCode, alerts(a))
	}
	send := a.page.form(t, "text")
	if send.attr["action"] != x.base+"/entry/note" {
		t.Errorf("it would be sent to %q", send.attr["action"])
	}
	w.taken(w.post(send.attr["action"], send.values()))
	notes := x.history().Notes
	if len(notes) != 1 || notes[0].Body.Text != "Please keep the sling on.\n<b>Always</b>" {
		t.Errorf("notes: %+v", notes)
	}
}

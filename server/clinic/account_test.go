package clinic

import (
	"encoding/base32"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"unsling/server/access"
	"unsling/server/ledger"
)

// strict makes the practice one that asks for a second factor.
func (p *practice) strict() {
	p.t.Helper()
	c := testClinic()
	c.Demo = false
	p.must(p.store.SetClinic(c, p.trail("server")))
}

// door is a browser at the sign-in page.
func (p *practice) door(login, word string) (*person, *answer) {
	p.t.Helper()
	w := &person{p: p}
	return w, w.post("/clinic/sign-in", change(p.t, w.get("/clinic/sign-in"), "login", "login", login, "password", word))
}

// withApp sets up an authenticator app over the page and returns its secret
// and the recovery codes.
func (w *person) withApp() (secret []byte, codes []string) {
	p := w.p
	p.t.Helper()
	page := w.get("/clinic/account/app")
	text := strings.ReplaceAll(page.page.one(p.t, "secret").words(), " ", "")
	secret, err := base32.StdEncoding.WithPadding(base32.NoPadding).DecodeString(text)
	p.must(err)
	wrong := w.post("/clinic/account/app", change(p.t, page, "code", "code", "000000"))
	w.refused(wrong, http.StatusUnprocessableEntity, "The secret is unchanged")
	if again := strings.ReplaceAll(wrong.page.one(p.t, "secret").words(), " ", ""); again != text {
		p.t.Errorf("after a wrong code the page shows another secret")
	}
	a := w.post("/clinic/account/app", change(p.t, wrong, "code", "code", access.TOTPCode(secret, p.now)))
	if a.StatusCode != http.StatusOK {
		p.t.Fatalf("app not set up: %d %s", a.StatusCode, alerts(a))
	}
	for _, li := range a.page.one(p.t, "codes").all(func(k *node) bool { return k.name == "li" }) {
		codes = append(codes, li.words())
	}
	if len(codes) != access.RecoveryCodes {
		p.t.Fatalf("%d recovery codes are shown", len(codes))
	}
	return secret, codes
}

// one is the element with that class.
func (n *node) one(t testing.TB, class string) *node {
	t.Helper()
	for _, k := range n.all(func(k *node) bool { return strings.Contains(" "+k.attr["class"]+" ", " "+class+" ") }) {
		return k
	}
	t.Fatalf("nothing of class %s", class)
	return nil
}

// In a clinic that asks for a second factor the password alone opens nothing
// but the own account (OWASP ASVS 5.0, 6.3.3); with the app's code it opens
// everything; each code is good once (6.5.1), and a recovery code too (6.5.2).
func TestSecondFactor(t *testing.T) {
	p := newPractice(t)
	p.strict()
	w, a := p.door("vega", password)
	if a.StatusCode != http.StatusSeeOther || !strings.HasPrefix(a.Header.Get("Location"), "/clinic/account") {
		t.Fatalf("the first time: %d to %q", a.StatusCode, a.Header.Get("Location"))
	}
	for _, path := range []string{"/clinic/", "/clinic/enrol", "/clinic/settings", "/clinic/patients/x", "/clinic/emergency"} {
		if a := w.get(path); a.StatusCode != http.StatusSeeOther || !strings.HasPrefix(a.Header.Get("Location"), "/clinic/account") {
			t.Errorf("%s without a second factor: %d", path, a.StatusCode)
		}
	}
	secret, codes := w.withApp()
	if a := w.get("/clinic/"); a.StatusCode != http.StatusOK {
		t.Fatalf("with the app set up: %d", a.StatusCode)
	}
	row, err := p.store.Staff(vega)
	p.must(err)
	if strings.Contains(string(row.Factors.TOTP.Secret), string(secret)) {
		t.Error("the secret lies in the store as it is")
	}

	second := func(code string) (*person, *answer) {
		t.Helper()
		w, a := p.door("vega", password)
		if a.StatusCode != http.StatusOK || w.cookie != "" || !strings.Contains(a.page.words(), "Second step") {
			t.Fatalf("the password alone: %d, cookie %q", a.StatusCode, w.cookie)
		}
		return w, w.post("/clinic/sign-in/code", change(t, a, "code", "code", code))
	}
	in := func(what, code string, want bool) {
		t.Helper()
		w, a := second(code)
		if got := a.StatusCode == http.StatusSeeOther && w.cookie != ""; got != want {
			t.Errorf("%s: signed in %v, %d %s", what, got, a.StatusCode, alerts(a))
		}
		if want {
			if a := w.get("/clinic/"); a.StatusCode != 200 {
				t.Errorf("%s: the list answers %d", what, a.StatusCode)
			}
		}
	}
	in("the code that set up the app", access.TOTPCode(secret, p.now), false)
	p.now = p.now.Add(time.Minute)
	in("the code of now", access.TOTPCode(secret, p.now), true)
	in("the same once more", access.TOTPCode(secret, p.now), false)
	in("a recovery code", strings.ToLower(codes[4]), true)
	in("the same recovery code", codes[4], false)
	p.now = p.now.Add(time.Minute)
	in("a minute from now", access.TOTPCode(secret, p.now.Add(time.Minute)), false)
	in("one step early", access.TOTPCode(secret, p.now.Add(access.TOTPStep)), true)
	row, err = p.store.Staff(vega)
	p.must(err)
	if len(row.Factors.Recovery) != access.RecoveryCodes-1 {
		t.Errorf("%d recovery codes left", len(row.Factors.Recovery))
	}

	// Six digits cannot be guessed: after a few tries they wait, from any
	// address, and a recovery code waits with them.
	p.now = p.now.Add(time.Hour)
	limited := false
	for range 8 {
		_, a := second("000000")
		limited = limited || a.StatusCode == http.StatusTooManyRequests
	}
	if !limited {
		t.Error("eight wrong codes are not limited")
	}
	// A state of the first step is good for five minutes, and dies with the password.
	w, a = p.door("vega", password)
	form := change(t, a, "code", "code", codes[5])
	p.now = p.now.Add(pendingLife + time.Second)
	w.refused(w.post("/clinic/sign-in/code", form), http.StatusUnauthorized, "That took too long.")
	w.refused(w.post("/clinic/sign-in/code", url.Values{"state": {"made up"}, "code": {codes[5]}}), http.StatusUnauthorized, "That took too long.")
}

// A changed password ends every session but the one that changed it.
func TestPasswordChange(t *testing.T) {
	p := newPractice(t)
	one, two := p.as(vega), p.as(vega)
	old := *one
	page := one.get("/clinic/account")
	one.refused(one.post("/clinic/account/password", change(t, page, "repeat", "new", "short", "repeat", "short")), http.StatusUnprocessableEntity, "too short")
	one.refused(one.post("/clinic/account/password", change(t, page, "repeat", "new", "a good long sentence", "repeat", "another good sentence")), http.StatusUnprocessableEntity, "differ")
	fresh := "gulls over the harbour wall"
	one.taken(one.post("/clinic/account/password", change(t, page, "repeat", "new", fresh, "repeat", fresh)))
	if a := one.get("/clinic/"); a.StatusCode != 200 {
		t.Errorf("here: %d", a.StatusCode)
	}
	for what, w := range map[string]*person{"elsewhere": two, "a copy of the old cookie": &old} {
		if a := w.get("/clinic/"); a.StatusCode != http.StatusSeeOther {
			t.Errorf("%s: %d", what, a.StatusCode)
		}
	}
	if _, a := p.door("vega", password); a.StatusCode != http.StatusUnauthorized {
		t.Errorf("the old password: %d", a.StatusCode)
	}
	if w, _ := p.door("vega", fresh); w.cookie == "" {
		t.Error("the new password was refused")
	}
}

// Nobody takes away the own last way in.
func TestLastFactorStays(t *testing.T) {
	p := newPractice(t)
	p.strict()
	w, _ := p.door("vega", password)
	w.withApp()
	w.refused(w.post("/clinic/account/app-off", nil), http.StatusConflict, "this is your only one")
	w.refused(w.post("/clinic/account/remove", url.Values{"id": {"k"}}), http.StatusUnprocessableEntity, "not yours")
	w.refused(w.post("/clinic/account/nothing", nil), http.StatusNotFound, "no page")
	_, err := p.store.ChangeStaff(vega, "x", p.trail(vega), func(s *ledger.Staff) error {
		s.Password = ""
		s.Factors = ledger.Factors{Passkeys: []ledger.Passkey{{ID: "k", Name: "laptop", Record: []byte("{}")}}}
		return nil
	})
	p.must(err)
	w = p.as(vega)
	w.refused(w.post("/clinic/account/remove", url.Values{"id": {"k"}}), http.StatusConflict, "your only way to sign in")
	w.taken(w.post("/clinic/account/rename", url.Values{"id": {"k"}, "name": {"desk <b>key</b>"}}))
	if a := w.get("/clinic/account"); !strings.Contains(a.body, "desk &lt;b&gt;key&lt;/b&gt;") {
		t.Error("the new name is not shown, or not escaped")
	}
}

// Unknown people and known ones, right passwords and wrong ones behind a
// second step: the answer to whoever does not know the password is one, and
// takes the same work (OWASP ASVS 5.0, 6.3.8): exactly one hash, whatever the
// order in which they come.
func TestSignInTiming(t *testing.T) {
	p := newPractice(t)
	p.strict()
	w, _ := p.door("vega", password)
	w.withApp()
	logins := []string{"vega", "nobody", "gone", "quill"}
	for round := range 6 {
		for i := range logins { // each in each place
			login := logins[(i+round)%len(logins)]
			p.now = p.now.Add(20 * time.Minute) // no limit stands in the way
			before := p.desk.Passwords.Hashes()
			_, a := p.door(login, "not this one at all")
			if n := p.desk.Passwords.Hashes() - before; n != 1 {
				t.Fatalf("%s: %d hashes", login, n)
			}
			if a.StatusCode != http.StatusUnauthorized || !strings.HasPrefix(alerts(a), wrongSignIn+" | ") {
				t.Fatalf("%s: %d %s", login, a.StatusCode, alerts(a))
			}
		}
	}
}

// A stranger who guesses passwords slows down, and the right person still
// gets in from elsewhere: by another address, and by passkey at once.
func TestSprayingKeepsNobodyOut(t *testing.T) {
	p := newPractice(t)
	limited := 0
	for range 60 {
		w := &person{p: p, addr: "198.51.100.7:1"}
		a := w.post("/clinic/sign-in", url.Values{"login": {"vega"}, "password": {"guess"}})
		if a.StatusCode == http.StatusTooManyRequests {
			limited++
		}
		p.now = p.now.Add(time.Second)
	}
	if limited < 30 {
		t.Errorf("only %d of 60 guesses were held back", limited)
	}
	p.now = p.now.Add(time.Minute)
	w := &person{p: p, addr: "203.0.113.9:1"}
	if a := w.post("/clinic/sign-in", url.Values{"login": {"vega"}, "password": {password}}); a.StatusCode != http.StatusSeeOther {
		t.Errorf("the right person a minute later: %d %s", a.StatusCode, alerts(a))
	}
}

package main

import (
	"bytes"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"
)

func outsideTeam(a *assault) (string, error) {
	admin, err := a.signIn(a.person("administrator"), "127.0.0.1")
	if err != nil {
		return "", err
	}
	spare, err := a.signIn(a.login("spare"), "127.0.0.1")
	if err != nil {
		return "", err
	}
	ids := spare.patients()
	if len(ids) == 0 {
		return "", fmt.Errorf("no patient was found to ask for")
	}
	if got := admin.patients(); len(got) > 0 {
		return "", fmt.Errorf("the administrator's list names %d patients", len(got))
	}
	for _, id := range ids[:min(3, len(ids))] {
		for _, path := range []string{"", "/plan", "/phones", "/explain"} {
			if r := admin.get("/clinic/patients/" + id + path); r.status != http.StatusNotFound {
				return "", fmt.Errorf("the administrator asks for %s: %d", path, r.status)
			}
		}
	}
	// Nobody at all.
	nobody := &seat{a: a}
	for _, path := range []string{"/clinic/", "/clinic/patients/" + ids[0], "/clinic/settings", "/clinic/enrol", "/clinic/protocols", "/clinic/nowhere"} {
		if r := nobody.get(path); r.status != http.StatusSeeOther || !strings.HasPrefix(r.head.Get("Location"), "/clinic/sign-in") {
			return "", fmt.Errorf("without a session %s: %d", path, r.status)
		}
	}
	// What the role does not allow, posted past the page that does not offer it.
	assistant, err := a.signIn(a.person("assistant"), "127.0.0.1")
	if err != nil {
		return "", err
	}
	own := assistant.patients()
	if len(own) == 0 {
		return "", fmt.Errorf("the assistant has no patients to try")
	}
	for path, form := range map[string]url.Values{
		"/clinic/settings":                           {"name": {"Taken over"}, "phone": {"1"}, "zone": {"UTC"}},
		"/clinic/patients/" + own[0] + "/clearance":  {"phase": {"active"}},
		"/clinic/protocols/cuff-repair-small-medium": {"reviewed": {"yes"}},
	} {
		if r := assistant.post(path, form); r.status < 400 || r.status > 499 {
			return "", fmt.Errorf("the assistant posts to %s: %d", path, r.status)
		}
	}
	return "the administrator sees no patient, nobody without a session sees anything, an assistant does nothing of a surgeon's; one store holds one clinic", nil
}

func hiddenFields(a *assault) (string, error) {
	p := a.newPhone()
	inv := a.take()
	r := p.enrol(inv.secret(), "", map[string]any{"patient": a.phoneA.patient, "state": "active", "role": "surgeon", "revoked": false, "scope": "user/*.cruds"})
	if r.status != http.StatusCreated || p.patient == a.phoneA.patient {
		return "", fmt.Errorf("enrolling with fields of others: %s, patient %q", r, p.patient)
	}
	tok, err := p.signIn()
	if err != nil || tok.Scope != "__exchange" {
		return "", fmt.Errorf("the token's scope is %q, %v", tok.Scope, err)
	}
	form := url.Values{"grant_type": {"client_credentials"}, "client_assertion_type": {"urn:ietf:params:oauth:client-assertion-type:jwt-bearer"},
		"client_assertion": {p.assertion("/v1/token", nil)}, "scope": {"user/*.cruds __staff.manage"}}
	r = a.do(ask{method: "POST", path: "/v1/token", kind: "application/x-www-form-urlencoded", body: []byte(form.Encode())})
	if r.status == http.StatusOK && bytes.Contains(r.body, []byte("user/")) {
		return "", fmt.Errorf("a phone asks for a scope of staff and gets it")
	}
	form = url.Values{"login": {a.person("assistant").Login}, "password": {a.person("assistant").Password}, "role": {"surgeon"}, "scopes": {"user/*.cruds"}, "staff": {"solberg"}}
	s := &seat{a: a}
	if r := s.signInWith(form); r.status != http.StatusSeeOther {
		return "", fmt.Errorf("sign in: %d", r.status)
	}
	if page := string(s.get("/clinic/").body); !strings.Contains(page, "Assistant") || strings.Contains(page, "Surgeon<") {
		return "", fmt.Errorf("an assistant who posts a role gets it")
	}
	return "patient, state, role and scopes posted along: all come from the invitation and the row", nil
}

func sprayed(a *assault) (string, error) {
	victim := a.person("therapist")
	refused, slowed := 0, 0
	for i := range 60 {
		s := &seat{a: a, from: fmt.Sprintf("127.0.9.%d", 1+i%6)}
		r := s.post("/clinic/sign-in", url.Values{"login": {victim.Login}, "password": {fmt.Sprintf("wrong password %d", i)}})
		switch r.status {
		case http.StatusUnauthorized:
			refused++
		case http.StatusTooManyRequests:
			slowed++
		default:
			return "", fmt.Errorf("a wrong password is answered %d", r.status)
		}
	}
	if slowed < 30 {
		return "", fmt.Errorf("of 60 wrong passwords only %d were held up", slowed)
	}
	// The person with a session goes on working, and new sign-ins work again after a short wait: an account is never shut.
	for end := time.Now().Add(5 * time.Minute); ; time.Sleep(2 * time.Second) {
		if _, err := a.signIn(victim, "127.0.0.1"); err == nil {
			break
		} else if time.Now().After(end) {
			return "", fmt.Errorf("the right password does not open the account again: %w", err)
		}
	}
	return fmt.Sprintf("60 wrong passwords from 6 addresses: %d tried, %d held up; the right one opens after a wait", refused, slowed), nil
}

func enumerated(a *assault) (string, error) {
	known := a.person("assistant").Login
	var times [2][]time.Duration
	var bodies [2]string
	for i := range 12 {
		for k, login := range []string{known, "nobody-of-this-name"} {
			s := &seat{a: a, from: fmt.Sprintf("127.0.%d.%d", 10+k, i+1)}
			begin := time.Now()
			r := s.post("/clinic/sign-in", url.Values{"login": {login}, "password": {"wrong"}})
			if r.status == http.StatusTooManyRequests {
				continue
			}
			times[k] = append(times[k], time.Since(begin))
			bodies[k] = fmt.Sprint(r.status, strings.ReplaceAll(string(r.body), login, "LOGIN"))
		}
	}
	if bodies[0] == "" || bodies[0] != bodies[1] {
		return "", fmt.Errorf("a known and an unknown person are answered differently")
	}
	if len(times[0]) == 0 || len(times[1]) == 0 {
		return "", fmt.Errorf("no sign-in was tried")
	}
	for k := range times {
		slices.Sort(times[k])
	}
	one, two := times[0][0], times[1][0] // the quickest: what else the machine does makes any other longer
	if min(one, two)*3 < max(one, two) && (one-two).Abs() > 10*time.Millisecond {
		return "", fmt.Errorf("known %v, unknown %v", one, two)
	}
	// Codes: unknown, used and too old read alike to a stranger in status; a phone's id that is not there tells nothing of patients.
	if r := a.newPhone().askToken(a.newPhone().assertion("/v1/token", nil)); r.status != http.StatusUnauthorized && r.status != http.StatusForbidden && r.status != http.StatusNotFound {
		return "", fmt.Errorf("an unknown phone: %s", r)
	}
	return fmt.Sprintf("known and unknown logins: same words, medians %v and %v", one.Round(time.Millisecond), two.Round(time.Millisecond)), nil
}

// sixDigits tries the second step without the first, and guesses. That each code works once is shown with a clock of its own in
// the tests that the security page names.
func sixDigits(a *assault) (string, error) {
	for i := range 20 {
		s := &seat{a: a, from: fmt.Sprintf("127.0.12.%d", i+1)}
		for _, state := range []string{"", "x", b64(random(48))} {
			r := s.post("/clinic/sign-in/code", url.Values{"state": {state}, "code": {fmt.Sprintf("%06d", i)}})
			if r.status < 400 || r.status > 499 || s.cookie != "" {
				return "", fmt.Errorf("six digits without a password: %d", r.status)
			}
		}
	}
	return "60 tries at the second step without the first: none gives a session", nil
}

func lured(a *assault) (string, error) {
	r := a.do(ask{method: "GET", path: "/clinic/sign-in/options"})
	text := string(r.body)
	if r.status != http.StatusOK || !strings.Contains(text, `"rpId":"localhost"`) || !strings.Contains(text, `"userVerification":"required"`) {
		return "", fmt.Errorf("the question for a passkey is not bound to this host: %d", r.status)
	}
	s := &seat{a: a}
	for _, credential := range []string{"", "{}", `{"id":"AAAA","rawId":"AAAA","type":"public-key","response":{"clientDataJSON":"e30","authenticatorData":"AAAA","signature":"AAAA"}}`} {
		if r := s.post("/clinic/sign-in/passkey", url.Values{"state": {"x"}, "credential": {credential}}); r.status < 400 || r.status > 499 || s.cookie != "" {
			return "", fmt.Errorf("a made-up passkey: %d", r.status)
		}
	}
	for _, next := range []string{"https://evil.example/", "//evil.example/", "/clinic/../../evil", `\\evil.example`, "javascript:alert(1)", "/enrol#x"} {
		s := &seat{a: a}
		p := a.person("assistant")
		r := s.signInWith(url.Values{"login": {p.Login}, "password": {p.Password}, "next": {next}})
		if to := r.head.Get("Location"); r.status != http.StatusSeeOther || !strings.HasPrefix(to, "/clinic/") || strings.Contains(to, "evil") {
			return "", fmt.Errorf("after signing in with next=%s the browser is sent to %q (%d)", next, to, r.status)
		}
	}
	return "passkeys asked for this host only, made-up ones refused, 6 ways to be sent elsewhere lead home", nil
}

func crossSite(a *assault) (string, error) {
	s, err := a.signIn(a.login("spare"), "127.0.0.1")
	if err != nil {
		return "", err
	}
	ids := s.patients()
	paths := map[string]string{
		"/clinic/patients/" + ids[0] + "/invite": "application/x-www-form-urlencoded", "/clinic/settings": "application/x-www-form-urlencoded",
		"/clinic/sign-out": "application/x-www-form-urlencoded", "/v1/exchange": "application/x-ndjson", "/v1/enrol": "application/json", "/v1/leave": "application/json",
	}
	n := 0
	for path, kind := range paths {
		for _, head := range []map[string]string{
			{"Sec-Fetch-Site": "cross-site"}, {"Sec-Fetch-Site": "same-site"}, {"Origin": "https://evil.example"}, {"Origin": "null"},
		} {
			n++
			head["Cookie"], head["Authorization"] = s.cookie, "Bearer "+a.phoneA.token
			if r := a.do(ask{method: "POST", path: path, kind: kind, head: head, body: []byte("kind=desk&way=beside")}); r.status != http.StatusForbidden {
				return "", fmt.Errorf("%s with %v: %d", path, head["Origin"]+head["Sec-Fetch-Site"], r.status)
			}
		}
	}
	// What a foreign form can send without asking: text/plain.
	for _, path := range []string{"/v1/exchange", "/v1/enrol", "/v1/leave", "/v1/token"} {
		n++
		if r := a.do(ask{method: "POST", path: path, kind: "text/plain", head: map[string]string{"Authorization": "Bearer " + a.phoneA.token}, body: []byte("{}")}); r.status != http.StatusUnsupportedMediaType {
			return "", fmt.Errorf("%s as text/plain: %d", path, r.status)
		}
	}
	// GET changes nothing: everything that a POST takes, asked for by GET.
	before := len(s.get("/clinic/patients/" + ids[0] + "/phones").body)
	for _, path := range []string{"/clinic/patients/" + ids[0] + "/invite?kind=desk&way=beside", "/clinic/sign-out", "/clinic/patients/" + ids[0] + "/phone?act=revoke&author=" + string(a.phoneA.id), "/v1/leave", "/v1/enrol", "/v1/exchange"} {
		n++
		r := a.do(ask{method: "GET", path: path, head: map[string]string{"Cookie": s.cookie, "Authorization": "Bearer " + a.phoneA.token}})
		if r.status < 400 || r.status > 499 {
			return "", fmt.Errorf("GET %s: %d", path, r.status)
		}
	}
	if r := s.get("/clinic/"); r.status != http.StatusOK || len(s.get("/clinic/patients/"+ids[0]+"/phones").body) != before {
		return "", fmt.Errorf("after the forged requests something has changed (%d)", r.status)
	}
	if r, _, _ := a.phoneA.exchange(a.phoneA.token, a.phoneA.id, 1); r.status != http.StatusOK {
		return "", fmt.Errorf("the phone was ended by a forged request: %s", r)
	}
	for _, line := range s.raw {
		if !strings.Contains(line, "HttpOnly") || !strings.Contains(line, "SameSite=Strict") || !strings.Contains(line, "Path=/") || strings.Contains(line, "Domain=") {
			return "", fmt.Errorf("a cookie without its guards: %s", line[:strings.IndexByte(line, '=')])
		}
	}
	return fmt.Sprintf("%d forged requests refused; cookies are HttpOnly and SameSite=Strict", n), nil
}

func leftOpen(a *assault) (string, error) {
	s, err := a.signIn(a.login("spare"), "127.0.0.1")
	if err != nil {
		return "", err
	}
	ids := s.patients()
	for _, path := range []string{"/clinic/", "/clinic/patients/" + ids[0], "/clinic/settings", "/clinic/sign-in", "/clinic/nowhere"} {
		r := s.get(path)
		if r.head.Get("Cache-Control") != "no-store" {
			return "", fmt.Errorf("%s may be kept by the browser: %q", path, r.head.Get("Cache-Control"))
		}
	}
	old := s.cookie
	out := s.post("/clinic/sign-out", url.Values{})
	if data := out.head.Get("Clear-Site-Data"); strings.Contains(data, "storage") || strings.Contains(data, "*") {
		return "", fmt.Errorf("signing out would erase a phone's records: %s", data)
	}
	s.cookie = old
	if r := s.get("/clinic/patients/" + ids[0]); r.status != http.StatusSeeOther {
		return "", fmt.Errorf("after signing out the old cookie still opens pages: %d", r.status)
	}
	return "no page is kept by the browser, signing out ends the session at the server", nil
}

// left ends somebody's access by the command, as the runbook says, and tries the session from before.
func left(a *assault) (string, error) {
	p := a.person("therapist")
	s, err := a.signIn(p, "127.0.0.1")
	if err != nil {
		return "", err
	}
	if r := s.get("/clinic/"); r.status != http.StatusOK {
		return "", fmt.Errorf("before: %d", r.status)
	}
	a.t.stop()
	said, err := a.t.command("staff", "disable", "--data", a.t.data, "--login", p.Login)
	if err := a.t.start(); err != nil {
		return "", err
	}
	if err != nil {
		return "", fmt.Errorf("the command: %w: %s", err, said)
	}
	if r := s.get("/clinic/"); r.status != http.StatusSeeOther {
		return "", fmt.Errorf("the session of somebody who has left: %d", r.status)
	}
	if _, err := a.signIn(p, "127.0.0.1"); err == nil {
		return "", fmt.Errorf("somebody who has left can sign in")
	}
	return "the session from before and a new sign-in are refused at once", nil
}

// stalePlan opens the plan's form twice and sends both.
func stalePlan(a *assault) (string, error) {
	s, err := a.signIn(a.person("surgeon"), "127.0.0.1")
	if err != nil {
		return "", err
	}
	for _, id := range s.patients() {
		path := "/clinic/patients/" + id + "/plan"
		one, err := s.get(path).form("reason")
		if err != nil {
			continue
		}
		two, err := s.get(path).form("reason")
		if err != nil || one.Get("base") == "" && one.Get("rev") == "" {
			continue
		}
		for i, form := range []url.Values{one, two} {
			form.Set("reason", fmt.Sprint("paused by ", i))
			form.Set("act", "save")
			form.Set("state", "paused")
			form.Set("why", "Please wait.")
		}
		if r := s.post(path, one); r.status != http.StatusSeeOther {
			continue // another kind of plan; the next patient
		}
		r := s.post(path, two)
		if r.status != http.StatusConflict {
			return "", fmt.Errorf("a form of before the change is taken: %d", r.status)
		}
		return "two forms of one revision: the second is refused with 409 and shown what has changed", nil
	}
	return "", fmt.Errorf("no plan was found to change twice")
}

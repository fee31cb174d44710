package clinic

import (
	"net/http"
	"strings"
	"testing"

	"unsling/engine/rom"
)

// Who gets through the door of every route that is not about one patient:
// written by hand beside the table, so that a new route has to be decided on
// here before this test passes again (OWASP ASVS 5.0, 8.2.1). Letters: N
// nobody signed in, S surgeon, T therapist, A assistant, M administrator.
// Routes about a patient need no line: TestEveryPatientRouteAsksTheCareTeam
// asks all of them.
const doorText = `
GET  /clinic/assets/{file}          N S T A M
GET  /clinic/sign-in                N S T A M
POST /clinic/sign-in                N S T A M
POST /clinic/sign-in/code           N S T A M
GET  /clinic/sign-in/options        N S T A M
POST /clinic/sign-in/passkey        N S T A M
POST /clinic/sign-out               N S T A M
GET  /clinic/session                N S T A M
POST /clinic/lock                   N S T A M
GET  /clinic/join                   N S T A M
POST /clinic/join                   N S T A M
GET  /clinic/join/options           N S T A M
POST /clinic/join/with              N S T A M
POST /clinic/stay                   S T A M
POST /clinic/kept                   S T A M
GET  /clinic/again/options          S T A M
POST /clinic/again                  S T A M
GET  /clinic/account                S T A M
GET  /clinic/account/options        S T A M
GET  /clinic/account/app            S T A M
POST /clinic/account/{what}         S T A M
GET  /clinic/{$}                    S T A M
GET  /clinic/settings               S T A M
POST /clinic/settings               S M
GET  /clinic/customs                S T A M
POST /clinic/customs                S M
GET  /clinic/staff                  M
POST /clinic/staff                  M
GET  /clinic/audit                  M
GET  /clinic/audit/heads            M
GET  /clinic/server                 M
GET  /clinic/outcomes               S T
GET  /clinic/outcomes/file          S T
GET  /clinic/data                   S T A
POST /clinic/data/{what}            S T A
GET  /clinic/import                 S T A
POST /clinic/import                 S T A
GET  /clinic/emergency              S T
POST /clinic/emergency              S T
POST /clinic/looked                 S T A
GET  /clinic/morning                S T A
GET  /clinic/enrol                  S T A
POST /clinic/enrol                  S T A
GET  /clinic/protocols              S T A
GET  /clinic/protocols/own          S T
POST /clinic/protocols/own          S T
POST /clinic/protocols/check        S T
GET  /clinic/protocols/{protocol}   S T A
GET  /clinic/protocols/{protocol}/versions S T A
POST /clinic/protocols/{protocol}   S
`

func TestEveryRouteForEverybody(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	want := map[string]string{}
	for line := range strings.SplitSeq(strings.TrimSpace(doorText), "\n") {
		w := strings.Fields(line)
		want[w[0]+" "+w[1]] = strings.Join(w[2:], "")
	}
	people := map[string]rom.StaffID{"S": vega, "T": quill, "A": marsh, "M": fenn}
	for pattern := range p.desk.routes() {
		may, known := want[pattern]
		if strings.Contains(pattern, "{patient}") {
			if known {
				t.Errorf("%s is about a patient and needs no line", pattern)
			}
			continue
		}
		if !known {
			t.Errorf("%s: nobody has decided who may use it; add a line", pattern)
			continue
		}
		delete(want, pattern)
		method, path := addressOf(pattern, x.id)
		a := (&person{p: p}).request(method, path)
		signedOut := a.StatusCode == http.StatusSeeOther && strings.HasPrefix(a.Header.Get("Location"), "/clinic/sign-in?next=") || a.StatusCode == http.StatusUnauthorized && strings.Contains(alerts(a), "What you ")
		if signedOut == strings.Contains(may, "N") {
			t.Errorf("%s signed out: %d %s", pattern, a.StatusCode, alerts(a))
		}
		for letter, who := range people {
			a := p.as(who).request(method, path)
			refused := a.StatusCode == http.StatusForbidden && strings.Contains(alerts(a), "your role may not do this")
			if refused == strings.Contains(may, letter) {
				t.Errorf("%s by %s: %d %s", pattern, who, a.StatusCode, alerts(a))
			}
		}
		// Somebody who left, with a session of before, is nobody.
		left := p.as(moss)
		row, err := p.store.Staff(moss)
		p.must(err)
		row.Disabled = true
		p.must(p.store.PutStaff(row, p.trail(fenn)))
		a = left.request(method, path)
		if !strings.Contains(may, "N") && a.StatusCode != http.StatusSeeOther && a.StatusCode != http.StatusUnauthorized {
			t.Errorf("%s by somebody who left: %d", pattern, a.StatusCode)
		}
		row.Disabled = false
		p.must(p.store.PutStaff(row, p.trail(fenn)))
	}
	for pattern := range want {
		t.Errorf("%s is not a route any more: remove its line", pattern)
	}
}

func addressOf(pattern string, patient rom.PatientID) (method, path string) {
	method, path, _ = strings.Cut(pattern, " ")
	return method, strings.NewReplacer("{patient}", string(patient), "{file}", "desk.css", "{protocol}", "cuff-repair-small-medium", "{what}", "reading", "{$}", "").Replace(path)
}

package main

import (
	"bytes"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"time"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

func guessed(a *assault) (string, error) {
	const tries = 400
	hits, slowed := 0, 0
	for i := range tries {
		p := a.newPhone()
		p.from = fmt.Sprintf("127.0.7.%d", 1+i%50) // a few addresses
		raw := random(8)
		code := make([]byte, 8)
		for k := range code {
			code[k] = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"[raw[k]&31]
		}
		switch r := p.enrol(string(code), "", nil); {
		case r.status == http.StatusCreated:
			hits++
		case r.code() == string(wire.TooMany):
			slowed++
		}
	}
	if hits > 0 {
		return "", fmt.Errorf("%d of %d guessed codes let a phone in", hits, tries)
	}
	if slowed < tries*3/4 {
		return "", fmt.Errorf("of %d guesses only %d were held up", tries, slowed)
	}
	// One code that is known but for its spoken number would be guessed in a million tries: it dies after five.
	if r := a.newPhone().enrol(a.take().secret(), "", nil); r.status != http.StatusCreated {
		return "", fmt.Errorf("while somebody guesses, a phone with a scanned code is refused: %s", r)
	}
	return fmt.Sprintf("%d guesses from 50 addresses: no hit, %d held up; scanned codes still let in", tries, slowed), nil
}

// setConfirm sets whether numbers are compared, as the surgeon on the page of the clinic.
func (a *assault) setConfirm(yes bool) error {
	s, err := a.signIn(a.person("surgeon"), "127.0.0.1")
	if err != nil {
		return err
	}
	form, err := s.get("/clinic/settings").form("after_hours")
	if err != nil {
		return err
	}
	form.Del("confirm")
	if yes {
		form.Set("confirm", "yes")
	}
	if r := s.post("/clinic/settings", form); r.status != http.StatusSeeOther {
		return fmt.Errorf("the clinic's settings: %d", r.status)
	}
	return nil
}

func photographed(a *assault) (string, error) {
	code := a.take().secret()
	if r := a.newPhone().enrol(code, "", nil); r.status != http.StatusCreated {
		return "", fmt.Errorf("the patient's own phone: %s", r)
	}
	if r := a.newPhone().enrol(code, "", nil); r.status == http.StatusCreated {
		return "", fmt.Errorf("a second phone joined with a used code")
	}
	if err := a.setConfirm(true); err != nil {
		return "", err
	}
	defer func() { _ = a.setConfirm(false) }()
	thief := a.newPhone()
	r := thief.enrol(a.take().secret(), "", nil)
	if r.status != http.StatusCreated || !bytes.Contains(r.body, []byte(`"pending"`)) {
		return "", fmt.Errorf("with comparing on, a phone that was first is not waiting: %s %s", r, r.body)
	}
	if _, err := thief.signIn(); err == nil {
		return "", fmt.Errorf("a phone that waits got a token")
	}
	return "used code refused; with numbers compared, the first to scan gets nothing before staff confirm", nil
}

func raced(a *assault) (string, error) {
	code := a.take().secret()
	const phones = 50
	var wg sync.WaitGroup
	var mu sync.Mutex
	in := 0
	bodies := make([]*phone, phones)
	for i := range bodies {
		bodies[i] = a.newPhone()
		bodies[i].from = fmt.Sprintf("127.0.8.%d", i+1)
	}
	start := make(chan struct{})
	for _, p := range bodies {
		wg.Go(func() {
			defer func() { _ = recover() }()
			<-start
			if r := p.enrol(code, "", nil); r.status == http.StatusCreated {
				mu.Lock()
				in++
				mu.Unlock()
			}
		})
	}
	close(start)
	wg.Wait()
	if in == 0 {
		return "", fmt.Errorf("nobody was let in")
	}
	if in != 1 {
		return "", fmt.Errorf("of %d phones with one code %d were let in", phones, in)
	}
	return "50 phones at once with one code: one is in", nil
}

func otherPatient(a *assault) (string, error) {
	canary := "canary-" + b64(random(9))
	a.phoneB.write(canary)
	if r, _, _ := a.phoneB.send(); r.status != http.StatusOK {
		return "", fmt.Errorf("exchange: %s", r)
	}
	tries := 0
	for _, author := range []rom.Author{a.phoneA.id, a.phoneB.id, "c-clinic"} {
		for _, from := range []int64{1, 2} {
			tries++
			r, _, lines := a.phoneA.exchange(a.phoneA.token, author, from, a.phoneB.lines...)
			var all strings.Builder
			for _, l := range lines {
				all.Write(l.Bytes)
			}
			if author != a.phoneA.id && r.status == http.StatusOK {
				return "", fmt.Errorf("a phone writes as %s", author)
			}
			if strings.Contains(all.String()+string(r.body), canary) {
				return "", fmt.Errorf("a phone reads another patient's record")
			}
		}
	}
	// The staff side: everybody's patients crossed with everybody who does not look after them, over every address that a
	// patient's pages have.
	places := []string{"", "/plan", "/plan/history", "/episode", "/team", "/explain", "/entry/reading", "/entry/note", "/phones", "/sheet?key=x", "/finding?episode=e&key=k"}
	seats := map[string]*seat{}
	theirs := map[string]map[string]bool{}
	for _, p := range a.t.Staff {
		s, err := a.signIn(p, "127.0.0.1")
		if err != nil {
			return "", err
		}
		seats[p.Login], theirs[p.Login] = s, map[string]bool{}
		for _, id := range s.patients() {
			theirs[p.Login][id] = true
		}
	}
	crossed := 0
	for login, s := range seats {
		for other, list := range theirs {
			n := 0
			for id := range list {
				if theirs[login][id] || other == login {
					continue
				}
				if n++; n > 2 { // two of each are enough: every one goes through one function
					break
				}
				unknown := strings.Repeat("x", 22)
				for _, place := range places {
					crossed++
					got, none := s.get("/clinic/patients/"+id+place), s.get("/clinic/patients/"+unknown+place)
					if got.status != none.status || got.status != http.StatusNotFound {
						return "", fmt.Errorf("%s asks for %s of a patient of %s: %d, for nobody %d", login, place, other, got.status, none.status)
					}
					if len(got.body) != len(none.body) {
						return "", fmt.Errorf("%s can tell that a patient of %s exists: %d bytes, for nobody %d", login, other, len(got.body), len(none.body))
					}
				}
				for _, act := range []string{"/invite", "/plan", "/phone", "/team", "/episode"} {
					crossed++
					if r := s.post("/clinic/patients/"+id+act, url.Values{"kind": {"desk"}, "act": {"revoke"}}); r.status != http.StatusNotFound {
						return "", fmt.Errorf("%s posts %s to a patient of %s: %d", login, act, other, r.status)
					}
				}
			}
		}
	}
	if crossed < 50 {
		return "", fmt.Errorf("only %d crossings were found to try", crossed)
	}
	return fmt.Sprintf("%d exchanges with foreign names, %d requests of staff for foreign patients: answered like nobody", tries, crossed), nil
}

func lostPhone(a *assault) (string, error) {
	p, err := a.join()
	if err != nil {
		return "", err
	}
	p.write("on the lost phone")
	if r, _, _ := p.send(); r.status != http.StatusOK {
		return "", fmt.Errorf("exchange: %s", r)
	}
	s, err := a.signIn(a.login("spare"), "127.0.0.1")
	if err != nil {
		return "", err
	}
	begin := time.Now()
	if r := s.post("/clinic/patients/"+p.patient+"/phone", url.Values{"author": {string(p.id)}, "act": {"revoke"}}); r.status != http.StatusSeeOther {
		return "", fmt.Errorf("ending the phone's access: %d", r.status)
	}
	p.write("after it was ended")
	r, reply, lines := p.send()
	took := time.Since(begin)
	if r.status == http.StatusOK && (reply.State != wire.Revoked || len(lines) > 0) {
		return "", fmt.Errorf("after its end the phone gets %d lines, state %s", len(lines), reply.State)
	}
	if took > time.Second {
		return "", fmt.Errorf("the end took %v to hold", took)
	}
	tok, err := p.signIn()
	if err != nil || tok.Scope != wire.ScopeSealed {
		return "", fmt.Errorf("a new token of the ended phone has the scope %q, %v", tok.Scope, err)
	}
	if _, reply, lines = p.send(); reply.State != wire.Revoked || len(lines) > 0 {
		return "", fmt.Errorf("with a new token the ended phone gets %d lines", len(lines))
	}
	page := string(s.get("/clinic/patients/" + p.patient).body)
	if strings.Contains(page, "after it was ended") {
		return "", fmt.Errorf("what came after the end stands in the record")
	}
	return fmt.Sprintf("revoked: its next request, %d ms later, gets no data; what it sends is kept apart", took.Milliseconds()), nil
}

func exchangeTwisted(a *assault) (string, error) {
	p, err := a.join()
	if err != nil {
		return "", err
	}
	for i := range 6 {
		p.write(fmt.Sprint("twisted ", i))
	}
	steps := []struct {
		from  int64
		lines [][]byte
		ack   int64
	}{
		{1, p.lines[:2], 2}, {1, p.lines[:2], 2}, // repeated
		{2, p.lines[1:4], 4}, // overlapping
		{1, p.lines[:3], 4},  // late
	}
	for i, s := range steps {
		r, reply, _ := p.exchange(p.token, p.id, s.from, s.lines...)
		if r.status != http.StatusOK || reply.Ack.N != s.ack {
			return "", fmt.Errorf("step %d: %s, acknowledged %d, want %d", i+1, r, reply.Ack.N, s.ack)
		}
	}
	if r, _, _ := p.exchange(p.token, p.id, 6, p.lines[5]); r.code() != string(wire.Gap) {
		return "", fmt.Errorf("a gap is answered %s", r)
	}
	twin := &phone{a: a, id: p.id, key: p.key, token: p.token}
	twin.lines = append(twin.lines, p.lines[:4]...)
	twin.write("another history")
	if r, _, _ := p.exchange(p.token, p.id, 5, p.lines[4:]...); r.status != http.StatusOK {
		return "", fmt.Errorf("the rest: %s", r)
	}
	if r, _, _ := p.exchange(p.token, p.id, 5, twin.lines[4]); r.code() != string(wire.Fork) {
		return "", fmt.Errorf("other bytes under a number that is there are answered %s", r)
	}
	r, reply, lines := p.exchange(p.token, p.id, 7)
	own := 0
	for _, l := range lines {
		if bytes.Contains(l.Bytes, []byte(p.id)) {
			own++
		}
	}
	if r.status != http.StatusOK || reply.Ack.N != 6 || own != 6 {
		return "", fmt.Errorf("in the end the log holds %d of 6 lines, acknowledged %d", own, reply.Ack.N)
	}
	return "repeated, overlapping, late, with a gap, forked: six lines, each once", nil
}

func noPush(a *assault) (string, error) {
	for _, path := range []string{"/v1/push", "/v1/subscribe", "/v1/subscriptions", "/push"} {
		r := a.do(ask{method: "POST", path: path, kind: "application/json", body: []byte(`{"endpoint":"http://169.254.169.254/"}`),
			head: map[string]string{"Authorization": "Bearer " + a.phoneA.token}})
		if r.status != http.StatusNotFound && r.status != http.StatusMethodNotAllowed {
			return "", fmt.Errorf("%s: %d", path, r.status)
		}
	}
	return "4 addresses where one could be registered: nothing there", nil
}

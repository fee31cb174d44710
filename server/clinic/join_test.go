package clinic

import (
	"net/http"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
)

// code is the code that the administrator is shown.
func staffCode(t testing.TB, a *answer) string {
	t.Helper()
	if a.StatusCode != http.StatusOK {
		t.Fatalf("no code: %d %s", a.StatusCode, alerts(a))
	}
	return a.page.one(t, "secret").words()
}

func (p *practice) inviteStaff(login string, role ledger.Role) string {
	p.t.Helper()
	f := p.as(fenn)
	return staffCode(p.t, f.post("/clinic/staff", change(p.t, f.get("/clinic/staff"), "login", "act", "invite", "login", login, "name", "New "+login, "role", string(role))))
}

// joins uses a code with a new password.
func (p *practice) joins(code, word string) (*person, *answer) {
	p.t.Helper()
	w := &person{p: p}
	a := w.post("/clinic/join", change(p.t, w.get("/clinic/join"), "code", "code", code))
	if a.StatusCode != http.StatusOK {
		return w, a
	}
	return w, w.post("/clinic/join/with", change(p.t, a, "repeat", "new", word, "repeat", word))
}

const fresh = "gulls over the harbour wall"

// An invitation is good for seven days and once; the administrator sets no
// password and is never shown one (OWASP ASVS 5.0, 6.4.6).
func TestInvitationOfStaff(t *testing.T) {
	p := newPractice(t)
	code := p.inviteStaff("i.berg", ledger.Therapist)
	if _, a := p.door("i.berg", password); a.StatusCode != http.StatusUnauthorized {
		t.Errorf("signed in before joining: %d", a.StatusCode)
	}
	w, a := p.joins(strings.ToLower(strings.ReplaceAll(code, "-", " ")), fresh)
	if a.StatusCode != http.StatusSeeOther || w.cookie == "" {
		t.Fatalf("joined: %d %s", a.StatusCode, alerts(a))
	}
	if a := w.get("/clinic/"); a.StatusCode != 200 {
		t.Errorf("after joining: %d", a.StatusCode)
	}
	if a := w.get("/clinic/staff"); a.StatusCode != http.StatusForbidden {
		t.Errorf("a therapist opens the staff page: %d", a.StatusCode)
	}
	again, a := p.joins(code, fresh)
	again.refused(a, http.StatusUnauthorized, "Each is good for seven days and once.")
	late := p.inviteStaff("o.late", ledger.Assistant)
	p.now = p.now.Add(access.StaffCodeLife)
	w, a = p.joins(late, fresh)
	w.refused(a, http.StatusUnauthorized, "Each is good for seven days")
	row, err := p.store.StaffByLogin("o.late")
	p.must(err)
	if strings.Contains(row.Invited.MAC, late) {
		t.Error("the code lies in the store")
	}

	f := p.as(fenn)
	for what, set := range map[string][]string{"login": {"login", "Upper Case"}, "name": {"name", ""}, "role": {"role", "queen"}, "taken": {"login", "vega"}} {
		v := url.Values{"act": {"invite"}, "login": {"x.y"}, "name": {"Some Body"}, "role": {"therapist"}}
		v.Set(set[0], set[1])
		if a := f.post("/clinic/staff", v); a.StatusCode != http.StatusUnprocessableEntity && a.StatusCode != http.StatusConflict {
			t.Errorf("%s: %d", what, a.StatusCode)
		}
	}
}

// Fifty browsers with one code: one of them gets in.
func TestInvitationRace(t *testing.T) {
	p := newPractice(t)
	code := p.inviteStaff("i.berg", ledger.Therapist)
	w := &person{p: p}
	form := change(t, w.post("/clinic/join", url.Values{"code": {code}}), "repeat", "new", fresh, "repeat", fresh)
	var wg sync.WaitGroup
	got := make(chan int, 50)
	for range 50 {
		wg.Go(func() {
			w := &person{p: p}
			got <- w.post("/clinic/join/with", form).StatusCode
		})
	}
	wg.Wait()
	close(got)
	in := 0
	for status := range got {
		if status == http.StatusSeeOther {
			in++
		}
	}
	if in != 1 {
		t.Errorf("%d got in with one code", in)
	}
}

// A new start for somebody who signs in already needs two people, so that an
// administrator alone cannot become a surgeon; what is there stays until the
// code is used, and is void then.
func TestNewStart(t *testing.T) {
	p := newPractice(t)
	f := p.as(fenn)
	before := p.as(quill)
	code := staffCode(t, f.post("/clinic/staff", url.Values{"act": {"reset"}, "staff": {string(quill)}}))
	w, a := p.joins(code, fresh)
	w.refused(a, http.StatusUnauthorized, "Each is good")
	confirm := url.Values{"staff": {string(quill)}}
	f.refused(f.post("/clinic/account/confirm", confirm), http.StatusForbidden, "a second person has to do this")
	before.refused(before.post("/clinic/account/confirm", confirm), http.StatusForbidden, "Another person has to confirm your own new start")
	m := p.as(marsh)
	m.refused(m.post("/clinic/account/confirm", confirm), http.StatusForbidden, "your role may not do this")
	v := p.as(vega)
	if a := v.get("/clinic/account"); !strings.Contains(a.page.words(), "Waits for a second person") {
		t.Error("the surgeon is not asked")
	}
	if a := v.get("/clinic/"); !strings.Contains(alerts(a), "Otto Fenn asks for a new start of the sign-in of Ravi Quill.") {
		t.Errorf("the surgeon's list does not say so: %s", alerts(a))
	}
	if a := m.get("/clinic/"); strings.Contains(alerts(a), "new start") {
		t.Error("an assistant is asked")
	}
	v.taken(v.post("/clinic/account/confirm", confirm))
	v.refused(v.post("/clinic/account/confirm", confirm), http.StatusConflict, "does not wait for anybody")
	if a := before.get("/clinic/"); a.StatusCode != 200 {
		t.Errorf("before the code is used: %d", a.StatusCode)
	}
	w, a = p.joins(code, fresh)
	if w.cookie == "" {
		t.Fatalf("the new start: %d %s", a.StatusCode, alerts(a))
	}
	if a := before.get("/clinic/"); a.StatusCode != http.StatusSeeOther {
		t.Errorf("a session of before: %d", a.StatusCode)
	}
	if _, a := p.door("quill", password); a.StatusCode != http.StatusUnauthorized {
		t.Errorf("the password of before: %d", a.StatusCode)
	}
}

// Somebody leaves: every session ends with the same act, the patients and
// findings go to others, the last administrator stays, and no data of a
// patient is shown to the administrator meanwhile.
func TestSomebodyLeaves(t *testing.T) {
	p := newPractice(t)
	x, _ := pastLimit(t, p)
	q := p.as(marsh)
	team := func() (all []rom.StaffID) {
		rows, err := p.store.Team(x.id)
		p.must(err)
		for _, m := range rows {
			all = append(all, m.Staff)
		}
		return all
	}
	f := p.as(fenn)
	act := func(who, to rom.StaffID) *answer {
		return f.post("/clinic/staff", url.Values{"act": {"disable"}, "staff": {string(who)}, "to": {string(to)}})
	}
	f.refused(act(fenn, ""), http.StatusForbidden, "You cannot end your own access.")
	f.refused(act(quill, vega), http.StatusConflict, "the clinic's deputy")
	f.refused(act(vega, moss), http.StatusConflict, "Choose a surgeon to take over.")
	f.refused(act(vega, ""), http.StatusUnprocessableEntity, "who takes over")
	f.refused(act(vega, fenn), http.StatusUnprocessableEntity, "who takes over")
	f.refused(act(gone, vega), http.StatusConflict, "not in the state")
	v := p.as(vega)
	find := findingForm(t, v, x, "act", "assign", "to", string(vega))
	v.taken(v.post(x.base+"/finding", find))
	o := p.as(orr)
	if a := o.get(x.base); a.StatusCode != http.StatusNotFound {
		t.Fatalf("the other surgeon is in the team already: %d", a.StatusCode)
	}
	done := f.taken(act(vega, orr))
	if strings.Contains(done.body, "Ada Rowe") {
		t.Error("the administrator is shown a patient")
	}
	if a := v.get("/clinic/"); a.StatusCode != http.StatusSeeOther {
		t.Errorf("the leaver's session: %d", a.StatusCode)
	}
	if _, a := p.door("vega", password); a.StatusCode != http.StatusUnauthorized {
		t.Errorf("the leaver signs in: %d", a.StatusCode)
	}
	if got := team(); len(got) == 0 || strings.Contains(strings.Join(idStrings(got), " "), "vega") || !strings.Contains(strings.Join(idStrings(got), " "), "orr") {
		t.Errorf("care team: %v", got)
	}
	a := o.get(x.base)
	if a.StatusCode != 200 || !strings.Contains(a.page.words(), "Ravi Quill") {
		t.Errorf("the finding is not the deputy's: %d", a.StatusCode)
	}
	if a := q.get("/clinic/"); a.StatusCode != 200 {
		t.Errorf("somebody else's session: %d", a.StatusCode)
	}

	// Back again: with a code that a second person has confirmed, and without patients.
	code := staffCode(t, f.post("/clinic/staff", url.Values{"act": {"enable"}, "staff": {string(vega)}}))
	if w, _ := p.joins(code, fresh); w.cookie != "" {
		t.Error("let in again by the administrator alone")
	}
	o.taken(o.post("/clinic/account/confirm", url.Values{"staff": {string(vega)}}))
	w, _ := p.joins(code, fresh)
	if a := w.get("/clinic/"); a.StatusCode != 200 {
		t.Fatalf("back again: %d", a.StatusCode)
	}
	if a := w.get(x.base); a.StatusCode != http.StatusNotFound {
		t.Errorf("the former patient: %d", a.StatusCode)
	}

	// The last administrator stays.
	p.now = p.now.Add(time.Minute)
	second := p.inviteStaff("second", ledger.Administrator)
	s, _ := p.joins(second, fresh)
	s.taken(s.post("/clinic/staff", url.Values{"act": {"disable"}, "staff": {string(fenn)}}))
	row, err := p.store.StaffByLogin("second")
	p.must(err)
	s.refused(s.post("/clinic/staff", url.Values{"act": {"role"}, "staff": {string(row.ID)}, "role": {"surgeon"}}), http.StatusForbidden, "Nobody changes the own role.")
}

func idStrings(ids []rom.StaffID) (out []string) {
	for _, id := range ids {
		out = append(out, string(id))
	}
	return out
}

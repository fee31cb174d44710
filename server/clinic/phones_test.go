package clinic

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
)

// join uses the newest invitation of a patient up for a phone of that name.
func (x *patient) join(name string, confirm bool) rom.Author {
	x.p.t.Helper()
	all, err := x.p.store.Invitations(x.id)
	x.p.must(err)
	author := rom.Author(x.p.id("p-phone-of-tests-"))
	row, err := x.p.store.Enrol(ledger.Enrolment{Secret: all[0].Secrets[0], PIN: all[0].PIN, Author: author, Key: []byte(`{"kty":"EC"}`),
		Thumbprint: "t-" + string(author), Name: name, Check: "47", Confirm: confirm, At: x.p.now}, x.p.trail("phone"))
	x.p.must(err)
	return row.ID
}

// invites presses the button a second later, so that this invitation is the newest.
func (x *patient) invites(w *person, set ...string) *answer {
	x.p.t.Helper()
	x.p.now = x.p.now.Add(time.Second)
	form := url.Values{}
	for i := 0; i+1 < len(set); i += 2 {
		form.Set(set[i], set[i+1])
	}
	return w.post(x.base+"/invite", form)
}

func (x *patient) state(a rom.Author) ledger.AuthorState {
	x.p.t.Helper()
	row, err := x.p.store.Author(a)
	x.p.must(err)
	return row.State
}

// A patient who has a phone: the desk must say whether the new one comes
// beside it or in its place, and the old one ends when the new one has joined.
func TestSecondPhone(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(marsh)
	w.taken(x.invites(w, "kind", "desk")) // the first needs no answer
	first := x.join("First phone", false)

	a := w.refused(x.invites(w, "kind", "desk"), http.StatusUnprocessableEntity, "Please say whether the new one comes beside it or in its place")
	if all, _ := p.store.Invitations(x.id); len(all) != 2 {
		t.Errorf("%d invitations after a question", len(all))
	}
	if text := a.page.words(); !strings.Contains(text, "First phone") || !strings.Contains(text, "Joined") || !strings.Contains(text, "last contact never") {
		t.Errorf("the page of phones: %s", text)
	}
	w.taken(x.invites(w, "kind", "desk", "way", "beside"))
	helper := x.join("Helper's phone", false)
	if x.state(first) != ledger.Active || x.state(helper) != ledger.Active {
		t.Error("a phone that came beside another ended it")
	}
	w.refused(x.invites(w, "kind", "desk", "way", "nobody"), http.StatusUnprocessableEntity, "Please choose again")
	w.taken(x.invites(w, "kind", "take-home", "way", string(first)))
	if x.state(first) != ledger.Active {
		t.Error("the old phone ended before the new one came")
	}
	p.now = p.now.Add(time.Minute)
	fresh := x.join("New phone", false)
	if x.state(first) != ledger.Revoked || x.state(helper) != ledger.Active || x.state(fresh) != ledger.Active {
		t.Errorf("after the new one joined: %s, %s, %s", x.state(first), x.state(helper), x.state(fresh))
	}
	text := w.get(x.base + "/phones").page.words()
	for _, want := range []string{"First phone", "ended Mon 2 Mar 2026 10:01", "Helper's phone", "New phone", "When a phone is lost or stolen", "within 72 hours"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page of phones lacks %q", want)
		}
	}
	w.taken(x.invites(w, "kind", "desk", "way", "all"))
	x.join("Last phone", true)
	if x.state(helper) != ledger.Active {
		t.Error("a phone that waits for the numbers ended the others")
	}
}

// Numbers on both screens: the phone waits, "they differ" ends it, "they
// match" lets it in and ends what it replaces.
func TestMatchingNumbers(t *testing.T) {
	p := newPractice(t)
	c := testClinic()
	c.Confirm = true
	p.must(p.store.SetClinic(c, p.trail("server")))
	x := p.running("Ada Rowe")
	w := p.as(marsh)
	w.taken(x.invites(w, "kind", "desk"))
	stranger := x.join("A stranger's phone", true)
	text := w.get(x.base + "/phones").page.words()
	if !strings.Contains(text, "Both screens must show 47") || !strings.Contains(text, "waits for you") {
		t.Errorf("the page of phones: %s", text)
	}
	after := w.taken(w.post(x.base+"/phone", url.Values{"author": {string(stranger)}, "act": {"revoke"}, "from": {"phones"}}))
	if x.state(stranger) != ledger.Revoked || !strings.HasSuffix(after.Request().URL.Path, "/phones") {
		t.Errorf("the numbers differ: %s, %s", x.state(stranger), after.Request().URL.Path)
	}
	w.refused(w.post(x.base+"/phone", url.Values{"author": {string(stranger)}, "act": {"confirm"}}), http.StatusConflict, "not in the state for this any more")
	w.taken(x.invites(w, "kind", "desk"))
	own := x.join("Own phone", true)
	w.taken(w.post(x.base+"/phone", url.Values{"author": {string(own)}, "act": {"confirm"}}))
	if x.state(own) != ledger.Active {
		t.Errorf("the numbers match: %s", x.state(own))
	}
	// A form that names another patient's phone does nothing.
	y := p.running("Bea Finch")
	w.refused(w.post(y.base+"/phone", url.Values{"author": {string(own)}, "act": {"revoke"}}), http.StatusNotFound, "does not belong to this patient")
	if x.state(own) != ledger.Active {
		t.Error("another patient's page ended the phone")
	}
}

// The number of a take-home letter is for the ear: it stands on the screen
// beside the sheet and in nothing that is printed.
func TestTakeHomeLetter(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(marsh)
	a := w.taken(x.invites(w, "kind", "take-home"))
	all, err := p.store.Invitations(x.id)
	p.must(err)
	if all[0].Kind != ledger.TakeHome || all[0].PIN == "" || all[0].Until.Sub(p.now) != 7*24*time.Hour || len(all[0].Secrets) != 1 {
		t.Errorf("the invitation: %+v", all[0])
	}
	pin := ""
	for _, k := range a.page.all(func(k *node) bool { return k.attr["class"] == "bignum" }) {
		pin = k.words()
	}
	if len(pin) != 6 || strings.Trim(pin, "0123456789") != "" {
		t.Fatalf("the number said aloud is %q", pin)
	}
	var secret string
	for _, k := range a.page.named("a") {
		if _, after, ok := strings.Cut(k.attr["href"], "/enrol#"); ok {
			secret = after
		}
	}
	if access.PINMAC(p.desk.Codes, secret, pin) != all[0].PIN {
		t.Error("the number on the screen is not the invitation's")
	}
	for _, k := range a.page.all(func(k *node) bool { return strings.Contains(k.attr["class"], "sheet box") }) {
		if strings.Contains(k.words(), pin) {
			t.Error("the printed sheet shows the number")
		}
	}
}

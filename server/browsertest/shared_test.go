package browsertest

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// ownFirstRun answers the pages of a first run up to the letters, by the shoulder that the clinic wrote down.
func (p *screenPage) ownFirstRun() {
	p.t.Helper()
	p.says("Welcome")
	for _, head := range []string{"Your safety first", "What leaves this phone", "Which shoulder?"} {
		p.tap("#next")
		p.says(head)
	}
	p.run(2 * time.Second) // the plan may still be on its way
	p.tap("#side-right")
	p.Wait(`document.querySelector("#side-again, #hand-left")`)
	if p.has("#side-again") {
		p.tap("#side-again")
		p.tap("#side-left")
	}
	for _, head := range []string{"Can you hear it?", "home screen", "Keep your data safe"} {
		p.tap("#next")
		p.says(head)
	}
	p.tap("#next")
	p.there("#letters")
}

// letters types letters and goes on.
func (p *screenPage) letters(text string) {
	p.t.Helper()
	p.there("#letters")
	p.Eval("document.getElementById('letters').select()", nil)
	p.Type("#letters", text)
	p.tap("#next")
}

// onTop waits until these letters stand on top.
func (p *screenPage) onTop(letters string) {
	p.t.Helper()
	p.WaitText("#letters-top", letters)
}

// chooses says who it is, by the letters on the page that asks.
func (p *screenPage) chooses(letters string) {
	p.t.Helper()
	p.says("Who are you?")
	p.Wait("[...document.querySelectorAll('.who-row')].some((b) => b.innerText.includes(" + quote(letters) + "))")
	var id string
	p.Eval("[...document.querySelectorAll('.who-row')].find((b) => b.innerText.includes("+quote(letters)+")).id", &id)
	p.tap("#" + id)
	p.onTop(letters)
}

// tells are those of the texts that the clinic's page of a patient shows, and how many messages it has.
func (d *screenPage) tells(h *house, patient string, texts ...string) (shown []string, messages int) {
	d.t.Helper()
	d.patient(h, patient)
	body := d.Text("body")
	for _, text := range texts {
		if strings.Contains(body, text) {
			shown = append(shown, text)
		}
	}
	for _, line := range d.records() {
		if strings.Contains(line, "Note to the clinic") {
			messages++
		}
	}
	return shown, messages
}

// rowsOf counts the records in a database; -1 where there is none.
func (p *screenPage) rowsOf(name string) (n int) {
	p.t.Helper()
	p.Eval(`(async () => {
		if (!(await indexedDB.databases()).some((d) => d.name === `+quote(name)+`)) return -1;
		const ask = (r) => new Promise((done, fail) => { r.onsuccess = () => done(r.result); r.onerror = () => fail(r.error); });
		const db = await ask(indexedDB.open(`+quote(name)+`));
		const n = await ask(db.transaction("log").objectStore("log").count());
		db.close();
		return n;
	})()`, &n)
	return n
}

// TestTwoPeopleOnePhone: two patients of one clinic share a browser. Each has records, letters, a draft and a lock of their own;
// nothing is mixed, also when the browser is killed, two windows are open, the list of people is lost, and one of them leaves.
func TestTwoPeopleOnePhone(t *testing.T) {
	h := openHouse(t)
	w := &watch{origin: h.URL()}
	profile := filepath.Join(t.TempDir(), "profile")
	b := Start(t, profile)
	zone := Morning(t)
	anna, boris := h.next(), h.next()

	p := newPhone(b, w, zone, false)
	p.up(anna.Link)
	p.tap("#join")
	p.ownFirstRun()
	p.tap("#next") // nobody else, so far
	p.there("#to-settings")
	p.Wait(activated)
	if p.has("#letters-top") {
		t.Error("letters on top of a phone that one person uses")
	}

	// The other's code, opened in the app of the first.
	p.up(boris.Link)
	p.says("Whose code is this?")
	p.show("s1-whose")
	p.tap("#whose-other")
	p.there("#join")
	p.there("#not-new")
	p.show("s2-join")
	p.tap("#join")
	p.ownFirstRun()
	p.says("Choose your letters")
	p.tap("#next")
	p.says("Please type 1 to 3 letters.")
	p.show("s3-letters")
	p.letters("bo")
	p.there("#to-settings")
	p.onTop("BO")
	p.show("s4-now")

	over := w.expect("net::ERR_", "status of 503", "status of 502")
	p.Offline(true)
	p.note("from Boris alone")
	p.tap("#back")
	p.tap("#letters-top")
	p.says("No letters yet")
	p.show("s5-who")
	p.tap("#who-unsling")
	p.says("Choose your letters")
	p.letters("Bo")
	p.says("Someone here has these letters.")
	p.letters("an")
	p.onTop("AN")
	p.note("from Anna alone")
	p.up(h.URL() + "/")

	// Whose it is stands before an exercise; nobody changes in the middle of one; what is begun waits for its owner.
	p.tap("#start")
	p.WaitText("#whose", "AN")
	p.show("s6-session")
	p.tap("#pain-1")
	p.tap("#main-start")
	p.there("#timer")
	p.tap("#letters-top")
	p.says("Pause or finish first.")
	p.show("s7-refused")
	p.tap("#pause")
	p.tap("#letters-top")
	p.chooses("BO")
	p.there("#start")
	if strings.Contains(p.Text("body"), "from Anna") {
		t.Error("the other's app shows what was written in the first")
	}
	p.tap("#letters-top")
	p.chooses("AN")
	p.says("Go on")
	p.show("s8-waits")

	// Two windows, one of each.
	q := newPhone(b, w, zone, false)
	q.up(h.URL() + "/")
	q.Offline(true)
	q.chooses("BO")
	q.note("from Boris again")
	p.note("from Anna again")
	q.onTop("BO")
	p.onTop("AN")

	// Killed, opened again: it asks, and only the one who is there sends.
	b.Kill()
	b = Start(t, profile)
	p = newPhone(b, w, zone, false)
	p.up(h.URL() + "/so-far")
	p.says("Who are you?")
	p.show("s9-asked")
	p.tap("#help")
	p.says("To tell the clinic, first say who you are.")
	p.there("#call-clinic")
	if p.has("#write-note") {
		t.Error("a note can be written while nobody has said who they are")
	}
	p.show("s10-help")
	p.tap("#back")
	p.chooses("AN")
	p.up(h.URL() + "/settings")
	p.WaitText("#unsent", "Nothing waits to be sent.")
	d := newDesk(b, w)
	d.signIn(h, "spare")
	hers, his := []string{"from Anna alone", "from Anna again"}, []string{"from Boris alone", "from Boris again"}
	knows := func(patient string, want []string) {
		t.Helper()
		got, n := d.tells(h, patient, slices.Concat(hers, his)...)
		if !slices.Equal(got, want) || n != len(want) {
			t.Errorf("the clinic has of %s %d messages and shows %q, want %q", patient, n, got, want)
		}
	}
	knows(anna.Patient, hers)
	knows(boris.Patient, nil) // he was not there
	p.tap("#to-who")
	p.show("s11-change")
	p.chooses("BO")
	p.up(h.URL() + "/settings")
	p.WaitText("#unsent", "Nothing waits to be sent.")
	knows(anna.Patient, hers)
	knows(boris.Patient, his)
	over()

	// The list is old, as a killed browser leaves it: letters are those that each database keeps.
	p.Eval("localStorage.setItem('unsling.people', '[{\"db\":\"unsling\"},{\"db\":\"unsling-2\"}]')", nil)
	p.Close()
	p = newPhone(b, w, zone, false)
	p.up(h.URL() + "/")
	p.says("Who are you?")
	p.chooses("AN")

	// The list is lost: both are found again.
	p.Eval("localStorage.removeItem('unsling.people')", nil)
	p.Close()
	p = newPhone(b, w, zone, false)
	p.up(h.URL() + "/")
	p.says("Who are you?")
	p.chooses("BO")
	p.tap("#letters-top")
	p.chooses("AN")
	before := p.rowsOf("unsling")
	p.tap("#letters-top")
	p.chooses("BO")

	// One leaves.
	p.up(h.URL() + "/leave")
	p.says("Erase my part of this phone")
	p.show("s12-leave")
	p.tap("#erase")
	p.tap("#erase-now:not([disabled])")
	p.says("Your part is empty")
	p.says("The records of others on this phone stay.")
	p.show("s13-left")
	p.tap("#again")
	p.onTop("AN")
	p.there("#to-settings")
	if n := p.rowsOf("unsling"); n < before || before < 3 {
		t.Errorf("the one who stays has %d records, had %d", n, before)
	}
	if n := p.rowsOf("unsling-2"); n > 0 {
		t.Errorf("%d records of the one who left", n)
	}
	var small string
	p.Eval("JSON.stringify(localStorage) + JSON.stringify(sessionStorage)", &small)
	if strings.Contains(small, "unsling-2") || strings.Contains(small, "BO") {
		t.Errorf("the one who left still stands in %s", small)
	}
	d.phonesOf(h, boris.Patient)
	d.says("ended")
	p.note("from Anna, who stays")
	p.up(h.URL() + "/settings")
	p.WaitText("#unsent", "Nothing waits to be sent.")
	if got, n := d.tells(h, anna.Patient, "from Anna, who stays"); len(got) != 1 || n != 3 {
		t.Error("the one who stays cannot tell the clinic any more")
	}
	w.clean(t)
}

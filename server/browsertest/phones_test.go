package browsertest

import (
	"strings"
	"testing"
	"time"
)

// joined is a phone that has joined by its link and stands on its first screen.
func joined(b *Browser, h *house, w *watch, zone string, inv invitation) *screenPage {
	p := newPhone(b, w, zone, true)
	p.up(inv.Link)
	p.tap("#join")
	p.says("Welcome")
	p.throughFirstRun("right")
	p.Wait(activated)
	return p
}

// phonesOf opens the page of a patient's phones.
func (p *screenPage) phonesOf(h *house, name string) {
	p.t.Helper()
	p.patient(h, name)
	p.Eval("location.href = location.href.split('?')[0].split('#')[0] + '/phones'", nil)
	p.WaitText("h1", "Phones")
}

// noteOffline writes a note that cannot be sent.
func (p *screenPage) note(text string) {
	p.t.Helper()
	p.tap("#help")
	p.tap("#write-note")
	p.Type("textarea", text)
	p.tap("#send-note")
	p.says("Kept on this phone.")
}

// TestPhoneGuards: the lock by PIN and by the phone's own check, help beside it, the way out with a code of the clinic, and
// the phone emptied by its owner.
func TestPhoneGuards(t *testing.T) {
	h := openHouse(t)
	w := &watch{origin: h.URL()}
	b := Start(t, "")
	inv := h.next()
	p := joined(b, h, w, Morning(t), inv)
	finger := p.fingerprint()

	p.tap("#to-settings")
	p.tap("#to-lock")
	p.WaitText("#lock-is", "The lock is off.")
	p.show("g1-lock-off")
	p.tap("#lock-pin")
	p.Type("#pin", "2580")
	p.Type("#again", "2580")
	p.show("g2-lock-pin")
	p.tap("#lock-set")
	p.WaitText("#lock-is", "It asks for your PIN.")
	p.show("g3-lock-on")

	p.up(h.URL() + "/so-far")
	p.says("The app is locked")
	p.there("#call-clinic")
	p.show("g4-locked")
	p.tap("#help")
	p.says("Tap a sign to tell the clinic.")
	p.there("#call-clinic")
	p.tap("#back")
	p.says("The app is locked")
	p.Type("#pin", "2581")
	p.tap("#unlock")
	p.WaitText("#problem", "That is not the PIN.")
	p.Type("#pin", "2580")
	p.tap("#unlock")
	p.there("#start, #to-settings")

	p.up(h.URL() + "/lock")
	p.Type("#pin", "2580")
	p.tap("#unlock")
	p.tap("#lock-own")
	p.WaitText("#lock-is", "It asks your phone to check that it is you.")
	p.Reload()
	p.says("The app is locked")
	finger.isThere(false)
	p.tap("#unlock")
	p.WaitText("#problem", "The phone did not see that it is you.")
	p.show("g5-not-the-owner")
	finger.isThere(true)
	p.tap("#unlock")
	p.WaitText("#lock-is", "The lock is on.")

	// Who cannot unlock gets a code at the desk; it opens this phone and no other, once.
	d := newDesk(b, w)
	d.signIn(h, "spare")
	d.phonesOf(h, inv.Patient)
	d.Click("input[name=way][value=beside]")
	d.press("Invite at the desk")
	code := strings.TrimSpace(d.Text(".code"))
	p.Reload()
	p.says("The app is locked")
	p.tap("#forgot")
	p.Type("#code", code)
	p.show("g6-forgot")
	p.tap("#lock-code")
	p.WaitText("#lock-is", "The lock is off.")

	// Leaving: what is unsent is shown, two taps, then nothing is left, and the clinic knows.
	over := w.expect("net::ERR_")
	p.Offline(true)
	p.up(h.URL() + "/")
	p.note("may I drive")
	p.up(h.URL() + "/leave")
	p.WaitText("#lost", "1 message")
	p.show("g7-leave-unsent")
	p.there("#send-now")
	p.Offline(false) // a phone that finds its signal again sends by itself
	p.WaitText("#lost", "Everything was sent.")
	over()
	p.tap("#erase")
	p.says("Are you sure? This cannot be taken back.")
	p.show("g8-sure")
	p.tap("#erase-now:not([disabled])")
	p.says("This phone is empty")
	p.WaitText("#told", "The clinic knows")
	p.there("#call-clinic")
	p.show("g9-left")
	var left string
	p.Eval(`(async () => {
		const out = [...Object.keys(localStorage), ...(await caches.keys())];
		for (const { name } of await indexedDB.databases()) {
			const db = await new Promise((done) => { const r = indexedDB.open(name); r.onsuccess = () => done(r.result); });
			for (const s of db.objectStoreNames) {
				const n = await new Promise((done) => { const r = db.transaction(s).objectStore(s).count(); r.onsuccess = () => done(r.result); });
				if (n) out.push(name + "/" + s + " " + n);
			}
			db.close();
		}
		for (const r of await navigator.serviceWorker.getRegistrations()) out.push(r.scope);
		return out.join(", ");
	})()`, &left)
	if left != "" {
		t.Errorf("after erasing the phone still holds %s", left)
	}
	d.phonesOf(h, inv.Patient)
	d.says("ended")
	d.show("g10-desk-ended")
	d.patient(h, inv.Patient)
	d.says("may I drive")
	p.tap("#again")
	p.says("Join your clinic")

	// The browser removes a part: the key is gone, the records are there.
	p.up(h.next().Link)
	p.tap("#join")
	p.says("Welcome")
	p.Eval(`new Promise((done, fail) => {
		const open = indexedDB.open("unsling");
		open.onsuccess = () => {
			const tx = open.result.transaction("meta", "readwrite");
			tx.objectStore("meta").delete("data-key");
			tx.oncomplete = () => { open.result.close(); done(true); };
			tx.onerror = () => fail(tx.error);
		};
	})`, nil)
	p.Reload()
	p.WaitText("#trouble", "This phone removed a part of the app's data.")
	p.says("Ask for a new code.")
	p.show("g11-key-lost")
	p.tap("#erase")
	p.tap("#erase-now:not([disabled])")
	p.WaitText("#told", "The clinic could not be told.")
	p.tap("#again")
	p.says("Join your clinic")
	w.clean(t)
}

// TestPhonesAtTheDesk: numbers on both screens, a letter to take home with a number said aloud, a helper's phone beside it,
// and a new phone in place of an old one, which ends in that moment.
func TestPhonesAtTheDesk(t *testing.T) {
	h := openHouse(t)
	w := &watch{origin: h.URL()}
	b := Start(t, "")
	zone := Morning(t)
	d := newDesk(b, w)
	d.signIn(h, "solberg")
	d.Open(h.URL() + "/clinic/settings")
	d.Click("input[name=confirm]")
	d.press("Save")
	d.Close()

	inv := h.next()
	d = newDesk(b, w)
	d.signIn(h, "spare")
	over := w.expect("the server responded with a status of 4") // a phone that waits is told so
	first := newPhone(b, w, zone, true)
	first.up(inv.Link)
	first.tap("#join")
	first.says("Show this number to the staff.")
	number := strings.TrimSpace(first.Text("#check"))
	first.show("h1-number")
	d.phonesOf(h, inv.Patient)
	d.says("waits for you")
	if shown := strings.TrimSpace(d.Text(".phone-row .bignum")); shown != number || len(number) != 2 {
		t.Errorf("the phone shows %q, the clinic %q", number, shown)
	}
	d.show("h2-desk-number")
	d.press("The numbers match")
	first.run(5 * time.Second)
	first.Reload()
	first.says("Welcome")
	first.throughFirstRun("right")

	// A letter to take home, for a helper's phone.
	d.phonesOf(h, inv.Patient)
	d.Click("input[name=way][value=beside]")
	d.press("Letter to take home")
	pin := strings.TrimSpace(d.Text(".noprint .bignum"))
	var link string
	d.Eval("document.querySelector('a[href*=\"/enrol#\"]').href", &link)
	d.show("h3-letter")
	helper := newPhone(b, w, zone, true)
	helper.up(link)
	helper.tap("#join")
	helper.WaitText("#problem", "This code needs the number you were told.")
	wrong := "000000"
	if pin == wrong {
		wrong = "000001"
	}
	helper.Type("#pin", wrong)
	helper.tap("#join")
	helper.run(time.Second) // the words stand there since the first time
	helper.Wait("!document.getElementById('join').disabled")
	helper.WaitText("#problem", "This code needs the number you were told.")
	helper.show("h4-wrong-number")
	helper.Eval("document.getElementById('pin').select()", nil)
	helper.Type("#pin", pin)
	helper.tap("#join")
	helper.says("Show this number to the staff.")
	d.phonesOf(h, inv.Patient)
	d.press("The numbers match")
	helper.run(5 * time.Second)
	helper.Reload()
	helper.says("Welcome")

	// A stranger with the same letter is refused.
	stranger := newPhone(b, w, zone, true)
	stranger.up(link)
	stranger.tap("#want-pin")
	stranger.Type("#pin", pin)
	stranger.tap("#join")
	stranger.WaitText("#problem", "This code was used before.")
	stranger.Close()

	// A new phone in place of the first.
	d.phonesOf(h, inv.Patient)
	var old string
	d.Eval("[...document.querySelectorAll('input[name=way]')].map(e => e.value).find(v => v !== 'beside' && v !== 'all')", &old)
	d.Click("input[name=way][value='" + old + "']")
	d.show("h5-replace")
	d.press("Invite at the desk")
	code := strings.TrimSpace(d.Text(".code"))
	fresh := newPhone(b, w, zone, true)
	fresh.up(h.URL() + "/enrol")
	fresh.Type("#code", code)
	fresh.tap("#join")
	fresh.says("Show this number to the staff.")
	first.up(h.URL() + "/settings")
	first.tap("#send-now")
	if first.has("#trouble") || strings.Contains(first.Text("body"), "ended this phone's access") {
		t.Error("the old phone ended before staff let the new one in")
	}
	d.phonesOf(h, inv.Patient)
	d.press("The numbers match")
	d.says("ended")
	fresh.run(5 * time.Second)
	fresh.Reload()
	fresh.says("Welcome")
	first.up(h.URL() + "/settings")
	first.tap("#send-now")
	first.up(h.URL() + "/")
	first.says("The clinic has ended this phone's access.")
	first.there("#call-clinic")
	first.show("h6-ended")
	over()
	w.clean(t)
}

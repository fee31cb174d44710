package browsertest

import (
	"strings"
	"testing"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// evict takes everything that the origin keeps, as a browser does that removes an origin between two starts: databases, small
// storage, caches, workers. It fails where something stays.
func evict(p *screenPage, origin string) {
	p.t.Helper()
	p.Open("about:blank") // nothing of the app runs
	p.Forget(origin)
	p.Open(origin + "/robots.txt") // of the origin, without the app
	var left string
	p.Eval(`(async () => [
		...Object.keys(localStorage), ...Object.keys(sessionStorage), ...(await caches.keys()),
		...(await indexedDB.databases()).map((d) => d.name), ...(await navigator.serviceWorker.getRegistrations()).map((r) => r.scope),
	].join(", "))()`, &left)
	if left != "" {
		p.t.Fatalf("after the eviction the origin still holds %s", left)
	}
}

// linesByPhone checks that the log is numbered without gap and gives each phone's lines, in the order in which they came,
// renumbered for [OnceAndInOrder].
func linesByPhone(t *testing.T, lines []ledger.Line) (phones []rom.Author, of map[rom.Author][]ledger.Line) {
	t.Helper()
	of = map[rom.Author][]ledger.Line{}
	for i, l := range lines {
		if l.Seq != int64(i+1) {
			t.Errorf("line %d of the log has the number %d", i+1, l.Seq)
		}
		if l.Author.FromClinic() {
			continue
		}
		if of[l.Author] == nil {
			phones = append(phones, l.Author)
		}
		l.Seq = int64(len(of[l.Author]) + 1)
		of[l.Author] = append(of[l.Author], l)
	}
	return phones, of
}

// TestReturnAfterEviction: the browser removed everything between two starts. The page asks for a code; with a new one from the
// desk, in place of the old phone, plan and records come back, and what is new follows them.
func TestReturnAfterEviction(t *testing.T) {
	h := openHouse(t)
	w := &watch{origin: h.URL()}
	b := Start(t, "")
	zone := Morning(t)
	inv := h.next()
	p := newPhone(b, w, zone, false)
	p.up(inv.Link)
	p.tap("#join")
	p.says("Welcome")
	p.throughFirstRun("right")
	p.Wait(activated)
	p.note("before the loss")
	p.up(h.URL() + "/settings")
	p.tap("#send-now")
	p.WaitText("#unsent", "Nothing waits to be sent.")
	kept := p.kept()

	over := w.expect("status of 404") // the page without the app, and its icon
	evict(p, h.URL())
	p.up(h.URL() + "/")
	p.says("Join your clinic")
	p.says("Your clinic gave you a sheet with a code.")
	p.says("Joined before? Ask the clinic for a new code.")
	p.there("#code")
	p.show("r1-evicted")
	over()

	d := newDesk(b, w)
	d.signIn(h, "spare")
	d.phonesOf(h, inv.Patient)
	var old string
	d.Eval("[...document.querySelectorAll('input[name=way]')].map(e => e.value).find(v => v !== 'beside' && v !== 'all')", &old)
	d.Click("input[name=way][value='" + old + "']")
	d.press("Invite at the desk")
	p.Type("#code", strings.TrimSpace(d.Text(".code")))
	p.tap("#join")
	p.says("Welcome")
	p.throughFirstRun("right")
	p.there("#start")
	p.tap("#help")
	p.says("before the loss")
	p.show("r2-back")
	p.tap("#back")
	p.note("after the loss")
	p.up(h.URL() + "/settings")
	p.tap("#send-now")
	p.WaitText("#unsent", "Nothing waits to be sent.")
	d.phonesOf(h, inv.Patient)
	d.says("ended")
	if shown, n := d.tells(h, inv.Patient, "before the loss", "after the loss"); len(shown) != 2 || n != 2 {
		t.Errorf("the clinic has %d messages and shows %q", n, shown)
	}
	now := p.kept()
	w.clean(t)

	h.Stop()
	h.verify()
	phones, of := linesByPhone(t, h.log(inv.Patient))
	if len(phones) != 2 {
		t.Fatalf("the log has lines of the phones %q, want two", phones)
	}
	one := map[wire.Kind]int{wire.KindQuestion: 1}
	OnceAndInOrder(t, of[phones[0]], kept, one)
	OnceAndInOrder(t, of[phones[0]], now, one) // the phone that came back has them too, byte for byte
	OnceAndInOrder(t, of[phones[1]], now, one)
}

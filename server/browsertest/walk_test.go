package browsertest

import (
	"slices"
	"strings"
	"testing"
	"time"
)

// heard notes what a reader of the screen would say: every text of the live region and every alert, in order.
const heard = `window.testHeard = [];
document.addEventListener("DOMContentLoaded", () => new MutationObserver(() => {
	for (const e of document.querySelectorAll("#live, [role=alert]")) {
		const text = e.innerText.trim();
		if (text && testHeard[testHeard.length - 1] !== text) testHeard.push(text);
	}
}).observe(document.body, { childList: true, subtree: true, characterData: true }));`

// byKeys makes everything go by the Tab and Enter keys, with the focus where the page puts it.
func (p *screenPage) byKeys() {
	p.by = func(selector string) {
		p.t.Helper()
		p.there(selector)
		p.focus(selector)
		p.key(enter, 1)
	}
}

// focus presses Tab until the element has the focus, as it can be seen.
func (p *screenPage) focus(selector string) {
	p.t.Helper()
	is := "document.activeElement?.matches(" + quote(selector) + ")"
	for range 80 {
		var at bool
		p.Eval("!!"+is, &at)
		if at {
			var outline string
			p.Eval("(() => { const s = getComputedStyle(document.activeElement); return s.outlineStyle + ' ' + parseFloat(s.outlineWidth); })()", &outline)
			if strings.HasPrefix(outline, "none") || outline == "solid 0" {
				p.t.Errorf("%s has the focus and nothing shows it: %s", selector, outline)
			}
			return
		}
		p.key("\t", 1)
	}
	p.t.Fatalf("Tab never comes to %s\nscreen: %s", selector, short(p.Text("body")))
}

// walker is a phone that has joined and then lost its signal and its server.
func walker(t *testing.T, h *house, w *watch, zone string, by func(*screenPage)) *screenPage {
	t.Helper()
	b := Start(t, "")
	b.Grant(h.URL(), "sensors", "durableStorage", "wakeLockScreen", "videoCapture")
	inv := h.next()
	p := newPhone(b, w, zone, false, heard)
	if by != nil {
		by(p)
	}
	p.up(inv.Link)
	p.tap("#join")
	p.says("Welcome")
	p.throughFirstRun("right")
	p.Wait(activated)
	p.WaitText("#status", "The clinic has received all.")
	p.Offline(true)
	return p
}

// TestOneWayOnly goes through the first run, a whole session and a measurement without a signal: once with keys alone, once
// with taps alone, never a drag (WCAG 2.2, 2.1.1 and 2.5.7).
func TestOneWayOnly(t *testing.T) {
	h := openHouse(t)
	w := &watch{origin: h.URL()}
	over := w.expect("net::ERR_")
	defer over()
	zone := Morning(t)
	type way struct {
		name  string
		by    func(*screenPage)
		marks func(*screenPage)
		want  float64
	}
	const coarse = 20 // thousandths of the width a step
	for _, x := range []way{
		{"keys", (*screenPage).byKeys, func(p *screenPage) {
			p.focus("#photo")
			p.key(arrowDown, 1)
			p.key(arrowDown, 15)
			p.key(enter, 1)
			p.key(arrowUp, 5)
			p.key(enter, 1)
			p.key(arrowRight, 12)
			p.key(arrowUp, 6)
		}, elevation(12*coarse, -1*coarse)},
		{"taps", nil, func(p *screenPage) {
			want := SideView(80)
			for _, m := range want {
				p.touch(Spot{m.X + 10, m.Y/2 + 80})
			}
		}, 0},
	} {
		t.Run(x.name, func(t *testing.T) {
			p := walker(t, h, w, zone, x.by)
			p.tap("#start")
			p.tap("#pain-2")
			p.session()
			did, asked := numbers(t, p.Text("body"), `You did (\d+) of (\d+)`)
			if did != asked || asked < 5 {
				t.Errorf("%d of %d holds of a whole session count", did, asked)
			}
			p.tap("#leave")

			p.tap("#to-measure")
			p.tap("#measure-FF-right")
			p.tap("#way-photo")
			p.tap("#open-camera")
			p.there("#take")
			p.Wait("document.getElementById('camera').videoWidth > 0")
			p.tap("#take")
			p.there("#photo")
			x.marks(p)
			if x.want > 0 {
				p.reads("marks set by keys", "#angle", x.want)
			} else {
				p.WaitText("#angle", "degrees")
				before := p.Text("#angle")
				for range 3 { // and moved by the buttons
					p.tap("#mark-up")
				}
				p.Wait("document.getElementById('angle').innerText !== " + quote(before))
			}
			p.tap("#use-angle")
			p.tap("#keep-now")
			p.WaitText("#kept", "Kept on this phone.")
			p.tap("#done")

			var said []string
			p.Eval("testHeard", &said)
			for _, want := range []string{"Hold", "Rest", "Kept on this phone.", "degrees"} {
				if !slices.ContainsFunc(said, func(s string) bool { return strings.Contains(s, want) }) {
					t.Errorf("a reader of the screen never hears %q: %q", want, said)
				}
			}

			p.up(h.URL() + "/settings")
			p.WaitText("#unsent", "1 exercise session")
			p.WaitText("#unsent", "1 angle")
			p.Offline(false) // the phone notices by itself, and the button rests while it sends
			if !p.WaitFor("document.getElementById('unsent').innerText.includes('Nothing waits to be sent.')", 20*time.Second) {
				p.tap("#send-now")
			}
			p.WaitText("#unsent", "Nothing waits to be sent.")
			p.WaitText("#status", "The clinic has received all.")
			p.Close()
			w.clean(t)
		})
	}
}

package browsertest

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// typist is somebody at the desk who uses the keyboard only and counts.
type typist struct {
	*screenPage
	strokes int // keys pressed
	thought int // fields and buttons that had to be found
}

// hit presses keys one after the other.
func (p *typist) hit(keys string) {
	p.t.Helper()
	p.key(keys, 1)
	p.strokes += utf8.RuneCountInString(keys)
}

// to goes with the Tab key to the first element after this one for which the
// expression over e holds.
func (p *typist) to(expression string) {
	p.t.Helper()
	p.thought++
	for range 200 {
		var here bool
		p.Eval("(e => !!e && e !== document.body && ("+expression+"))(document.activeElement)", &here)
		if here {
			return
		}
		p.hit(kb.Tab)
	}
	p.t.Fatalf("200 tabs do not lead to %s\nscreen: %s", expression, short(p.Text("main")))
}

// next presses a key that opens another page and waits for it.
func (p *typist) next(key string) {
	p.t.Helper()
	p.Eval("window.testBefore = true", nil)
	p.hit(key)
	p.Wait("!window.testBefore && document.readyState === 'complete'")
}

// needed is how long an average typist needs for what was counted: 0.28 s a
// key and 1.35 s to find each field (keystroke-level model, Card, Moran and
// Newell 1980; values from memory).
func (p *typist) needed() time.Duration {
	return time.Duration(p.strokes)*280*time.Millisecond + time.Duration(p.thought)*1350*time.Millisecond
}

// printed prints the page on A4 and gives its words and its number of pages,
// as poppler reads them.
func (p *typist) printed() (words string, pages int) {
	p.t.Helper()
	res, err := chromedp.Call(p.ctx, page.PrintToPDF, page.PrintToPDFParams{PaperWidth: 8.27, PaperHeight: 11.69})
	if err != nil {
		p.t.Fatalf("print: %v", err)
	}
	at := filepath.Join(p.t.TempDir(), "print.pdf")
	if err := os.WriteFile(at, res.Data, 0o600); err != nil {
		p.t.Fatal(err)
	}
	out, err := exec.Command("pdftotext", "-layout", at, "-").Output()
	if err != nil {
		p.t.Fatalf("pdftotext: %v (run .ci/tools)", err)
	}
	return strings.Join(strings.Fields(string(out)), " "), strings.Count(string(out), "\f")
}

// TestMondayMorning is the surgeon's start into the week in the invented
// clinic, by keyboard alone: sign in, find the three who need a call today, act
// on each, take one act back, enrol somebody in under a minute, print two
// sheets.
func TestMondayMorning(t *testing.T) {
	h := openHouse(t)
	w := &watch{origin: h.URL()}
	b := Start(t, t.TempDir())
	p := &typist{screenPage: newDesk(b, w)}
	p.Open(h.URL() + "/clinic/")
	p.WaitText("label", "Login")
	p.Wait("document.activeElement?.name === 'login'")
	p.hit("solberg")
	p.to("e.name === 'password'")
	p.hit(h.password("solberg"))
	p.next(kb.Enter)
	p.WaitText("h1", "Watch list")
	p.show("monday-1-list")

	// The three: j goes down the rows from the most pressing.
	var three []string
	for range 3 {
		p.hit("j")
		var name string
		p.Eval("document.activeElement.innerText.trim()", &name)
		three = append(three, name)
	}
	var urgent []string
	p.Eval(`[...document.querySelectorAll("[aria-labelledby=s-urgent] .row .who a")].map(a => a.innerText.trim())`, &urgent)
	if len(urgent) < 3 || strings.Join(three, ",") != strings.Join(urgent[:3], ",") {
		t.Fatalf("j walks over %q, under Today stand %q", three, urgent)
	}
	p.hit("kk") // back to the first
	for i, name := range three {
		var at string
		for range 30 {
			if p.Eval("document.activeElement.innerText.trim()", &at); at == name {
				break
			}
			p.hit("j")
		}
		if at != name {
			t.Fatalf("%s is not on the list", name)
		}
		p.next("a")
		p.says(name)
		p.to("e.name === 'text'")
		p.hit("Called, comes in at noon.")
		p.to("e.innerText === 'Called and talked'")
		p.next(kb.Enter)
		p.WaitText("h1", "Watch list")
		p.WaitText("[role=status]", "Noted.")
		if i == 0 { // the wrong row: take it back, and do it again
			p.to("e.innerText === 'Undo'")
			p.next(kb.Enter)
			p.WaitText("[role=status]", "Taken back.")
			p.hit("j")
			p.next("a")
			p.to("e.name === 'text'")
			p.hit("Called, comes in at noon.")
			p.to("e.innerText === 'Called and talked'")
			p.next(kb.Enter)
			p.WaitText("[role=status]", "Noted.")
		}
	}
	var now []string
	p.Eval(`[...document.querySelectorAll("[aria-labelledby=s-urgent] .row .who a")].map(a => a.innerText.trim())`, &now)
	t.Logf("today before %q, after the calls %q", urgent, now)
	p.show("monday-2-acted")

	// Enrol one, counted.
	p.to("e.innerText === 'Enrol'")
	p.strokes, p.thought = 0, 0
	p.next(kb.Enter)
	p.WaitText("h1", "Enrol a patient")
	p.to("e.name === 'name'")
	p.hit("Mona Invented")
	p.to("e.name === 'born'")
	p.hit("05041961")
	p.to("e.name === 'number'")
	p.hit("HH-7001")
	p.to("e.name === 'phone'")
	p.hit("0209150001")
	p.to("e.name === 'side'")
	p.hit(" ") // the first of the two: LEFT
	p.to("e.name === 'surgery'")
	year := time.Now().AddDate(0, 0, 20)
	p.hit(year.Format("01022006"))
	p.to("e.name === 'main'")
	p.hit("Rot")
	p.show("monday-3-enrol")
	p.to("e.tagName === 'BUTTON' && e.innerText === 'Enrol'")
	p.next(kb.Enter)
	p.WaitText("h1", "Your shoulder programme")
	needs := p.needed()
	t.Logf("enrolled with %d keys over %d fields: %v for an average typist", p.strokes, p.thought, needs.Round(time.Second))
	if needs > time.Minute {
		t.Errorf("enrolling takes %v by the count of keys; want under a minute", needs)
	}
	p.says("LEFT")
	p.show("monday-4-sheet")

	// Print two: the morning sheet and the summary of one of the three.
	p.to("e.innerText === 'Watch list'")
	p.next(kb.Enter)
	p.to("e.innerText.startsWith('Morning sheet')")
	p.next(kb.Enter)
	p.WaitText("h1", "Morning sheet")
	if words, pages := p.printed(); pages < 1 || !strings.Contains(words, "Morning sheet") || strings.Contains(words, "Sign out") {
		t.Errorf("the morning sheet on %d pages: %s", pages, short(words))
	}
	p.to("e.innerText === 'Watch list'")
	p.next(kb.Enter)
	p.hit("/")
	p.Wait("document.activeElement?.name === 'find'")
	p.hit(kb.Backspace) // the devtools protocol sends the letter although its key was taken
	p.hit(three[0])
	p.next(kb.Enter)
	p.hit("j")
	p.next(kb.Enter)
	p.to("e.innerText === 'Summary, to print'")
	p.next(kb.Enter)
	p.WaitText("h1", "Visit summary")
	if words, pages := p.printed(); pages != 1 || !strings.Contains(words, three[0]) {
		t.Errorf("the summary on %d pages: %s", pages, short(words))
	}
	w.clean(t)
}

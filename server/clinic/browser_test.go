package clinic

import (
	"encoding/base64"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/browsertest"
	"unsling/sync/wire"
)

// window is a tab in which somebody of the practice is signed in.
type window struct {
	*browsertest.Page
	t   testing.TB
	url string
}

// open starts Chromium with who signed in, past the slow hash of the password.
func (p *practice) open(t testing.TB, who rom.StaffID) *window {
	t.Helper()
	p.desk.Cookies = access.Cookies{Plain: true}
	server := httptest.NewServer(p.desk.Handler())
	t.Cleanup(server.Close)
	w := &window{browsertest.Start(t, "").NewPage(), t, server.URL}
	_, err := chromedp.Call(w.Context(), network.SetCookie, network.SetCookieParams{Name: p.desk.Cookies.Name(), Value: p.as(who).cookie, URL: server.URL})
	p.must(err)
	return w
}

func (w *window) look(width, height int64, dark bool) {
	w.t.Helper()
	scheme := "light"
	if dark {
		scheme = "dark"
	}
	_, err := chromedp.Call(w.Context(), emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
	if err == nil {
		err = chromedp.Do(w.Context(), chromedp.EmulateViewport(width, height))
	}
	if err != nil {
		w.t.Fatalf("look %d dark %v: %v", width, dark, err)
	}
}

func (w *window) script(on bool) {
	w.t.Helper()
	if _, err := chromedp.Call(w.Context(), emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: !on}); err != nil {
		w.t.Fatal(err)
	}
}

// pdf prints the page on a paper of so many inches and returns its text and
// its number of pages; poppler reads it.
func (w *window) pdf(width, height float64) (text string, pages int) {
	w.t.Helper()
	res, err := chromedp.Call(w.Context(), page.PrintToPDF, page.PrintToPDFParams{PaperWidth: width, PaperHeight: height})
	if err != nil {
		w.t.Fatalf("print: %v", err)
	}
	data := res.Data
	at := filepath.Join(w.t.TempDir(), "page.pdf")
	if keep := os.Getenv("UNSLING_KEEP_PDF"); keep != "" {
		at = filepath.Join(keep, strings.ReplaceAll(w.t.Name(), "/", "-")+".pdf")
	}
	if err := os.WriteFile(at, data, 0o600); err != nil {
		w.t.Fatal(err)
	}
	out, err := exec.Command("pdftotext", "-layout", at, "-").Output()
	if err != nil {
		w.t.Fatalf("pdftotext: %v (run .ci/tools)", err)
	}
	return string(out), strings.Count(string(out), "\f")
}

// axe is axe-core, which .ci/tools brings.
func axe(t testing.TB) string {
	t.Helper()
	text, err := os.ReadFile("../../.ci/node/node_modules/axe-core/axe.min.js")
	if err != nil {
		t.Fatalf("axe-core: %v (run .ci/tools)", err)
	}
	return string(text)
}

// longNames are people whose names strain a page.
var longNames = []string{
	"Maximiliana Konstantinopolitanopoulou-Featherstonehaugh von und zu Hohenlohe-Schillingsfürst",
	"محمد عبد الرحمن بن عبد العزيز", "王小明", "Nguyễn Thị Minh Khai", `<script>alert(1)</script>"'&`, strings.Repeat("W", 120),
}

// strained fills the list with such names, each with something open.
func (p *practice) strained() (last *patient) {
	for _, n := range longNames {
		x := p.running(n)
		ph := x.phone()
		ph.write(p.now, wire.KindReading, own(x.episode(), rom.ForwardFlexion, 111))
		ph.write(p.now, wire.KindQuestion, rom.Question{Episode: x.episode().ID, Text: n + strings.Repeat(" very long", 60)})
		ph.exchange()
		last = x
	}
	return last
}

// TestAxe holds every page to axe-core without a single violation, with every
// fold open, light and dark, from 320 CSS pixels to a wall screen, and none
// scrolls sideways (WCAG 2.2, 1.4.10).
func TestAxe(t *testing.T) {
	p := newPractice(t)
	var paths []string
	for name, a := range everyPage(t, p) {
		if a.Request().Method == "GET" && name != "sheet" && name != "sorry" {
			paths = append(paths, a.Request().URL.RequestURI())
		}
	}
	x := p.strained()
	paths = append(paths, x.base+"/entry/note", x.base+"/summary")
	slices.Sort(paths)
	stranger := p.as(orr)
	w := p.open(t, vega)
	source := axe(t)
	check := func(path string, width, height int64, dark bool) {
		t.Helper()
		w.look(width, height, dark)
		w.Open(w.url + path)
		w.Eval(`document.querySelectorAll('details').forEach(d => d.open = true)`, nil)
		if width > 2000 { // on a wall nothing is other than on a desk, but for the width
			var wide float64
			w.Eval("document.documentElement.scrollWidth", &wide)
			if wide > float64(width) {
				t.Errorf("%s at %d is %.0f pixels wide", path, width, wide)
			}
			return
		}
		w.Eval(source+"\n;undefined", nil)
		var got struct {
			Wide  float64
			Found []string
			Rules int
		}
		w.Eval(`axe.run(document, {runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']}).then(r => ({Wide: document.documentElement.scrollWidth, Rules: r.passes.length, Found: r.violations.map(v => v.id + ': ' + v.nodes.slice(0, 3).map(n => n.html.slice(0, 160) + ' ' + n.failureSummary).join(' | '))}))`, &got)
		for _, f := range got.Found {
			t.Errorf("%s at %d, dark %v: %s", path, width, dark, f)
		}
		if got.Wide > float64(width) {
			t.Errorf("%s at %d is %.0f pixels wide", path, width, got.Wide)
		}
		if got.Rules < 10 {
			t.Errorf("%s: only %d rules had anything to look at", path, got.Rules)
		}
	}
	// Each page narrow in one theme and wide in the other.
	for i, path := range paths {
		check(path, 320, 640, i%2 == 0)
		check(path, 1280, 800, i%2 == 1)
		check(path, 2560, 1440, false)
	}
	for _, path := range []string{"/clinic/", x.base} { // the pages of every day in all four
		for _, dark := range []bool{false, true} {
			check(path, 320, 640, dark)
			check(path, 1280, 800, dark)
		}
	}
	// The empty list, of somebody without patients.
	if _, err := chromedp.Call(w.Context(), network.SetCookie, network.SetCookieParams{Name: p.desk.Cookies.Name(), Value: stranger.cookie, URL: w.url}); err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{"/clinic/", "/clinic/morning"} {
		check(path, 320, 640, true)
	}
	if len(paths) < 25 {
		t.Fatalf("only %d pages", len(paths))
	}
	for _, line := range w.Said() {
		if strings.Contains(line, "exception") || strings.Contains(line, "Content Security Policy") {
			t.Errorf("the browser said: %s", line)
		}
	}
}

// TestSummaryIsOnePage prints the visit summary of a busy patient with a long
// name, a long note and many findings on A4 and on Letter: one page each, with
// all that belongs on it.
func TestSummaryIsOnePage(t *testing.T) {
	p := newPractice(t)
	x := busyPatient(t, p, longNames[0])
	w := p.open(t, vega)
	for name, size := range map[string][2]float64{"A4": {8.27, 11.69}, "Letter": {8.5, 11}} {
		t.Run(name, func(t *testing.T) {
			w.t = t
			w.Open(w.url + x.base + "/summary")
			text, pages := w.pdf(size[0], size[1])
			if pages != 1 {
				t.Errorf("%d pages", pages)
			}
			flat := strings.Join(strings.Fields(text), " ")
			for _, want := range []string{"Konstantinopolitanopoulou", "born 1961-05-04", "RIGHT shoulder", "Visit summary, Mon 2 Mar 2026", "Forward flexion", "“passive”", "Changes of the plan", "Next visit", "A long note", "patient's readings"} {
				if !strings.Contains(flat, want) {
					t.Errorf("no %q in the print: %s", want, flat)
				}
			}
			if strings.Contains(flat, "Sign out") || strings.Contains(flat, "Back to the patient") {
				t.Error("navigation is printed")
			}
		})
	}
	w.t = t
	// The morning sheet has no navigation either.
	w.Open(w.url + "/clinic/morning")
	if text, _ := w.pdf(8.27, 11.69); strings.Contains(text, "Sign out") || !strings.Contains(text, "Morning sheet") || !strings.Contains(text, "Konstantinopolitanopoulou") {
		t.Errorf("the morning sheet: %s", text)
	}
	// The same as a file: complete in itself.
	a := p.as(vega).get(x.base + "/summary?as=file")
	for _, want := range []string{"<style>", "Konstantinopolitanopoulou", "<svg", "A long note", "default-src 'none'"} {
		if !strings.Contains(a.body, want) {
			t.Errorf("the file lacks %q", want)
		}
	}
	if d := a.Header.Get("Content-Disposition"); d != `attachment; filename="visit-2026-03-02.html"` {
		t.Errorf("%q", d)
	}
	if strings.Contains(a.body, "/clinic/assets/") || strings.Contains(a.body, "<script") {
		t.Error("the file needs the server")
	}
	w.Open("data:text/html;base64," + base64.StdEncoding.EncodeToString([]byte(a.body)))
	if _, pages := w.pdf(8.27, 11.69); pages != 1 {
		t.Errorf("the file prints on %d pages", pages)
	}
}

// TestWithoutScripts does what matters with scripts switched off: find, open,
// act, undo, change a plan, enter a reading.
func TestWithoutScripts(t *testing.T) {
	p := newPractice(t)
	x, _ := pastLimit(t, p)
	w := p.open(t, vega)
	w.look(1280, 800, false)
	w.Open(w.url + "/clinic/")
	w.script(false)
	press := func(selector, then string) {
		t.Helper()
		w.Click(selector)
		w.WaitText("main", then)
	}
	w.Open(w.url + "/clinic/?find=ada")
	press(".row .place button", "Noted.")
	press(".said button", "Taken back.")
	press(".row .who a", "Findings")
	w.Open(w.url + x.base + "/entry/reading")
	w.Type("input[name=FF-right]", "88")
	press("form.box button.main", "Entered.")
	if n := len(x.history().Readings); n != 2 {
		t.Errorf("%d readings", n)
	}
	w.Open(w.url + x.base + "/plan")
	w.Type("input[name=reason]", "without a script")
	w.Click("input[name=state][value=paused]")
	w.Type("input[name=why]", "Rest for a day.")
	press("button[value=preview]", "What the phone would show")
	press("button[value=save]", "The new revision is saved.")
	if plan := x.plan(); plan.State != rom.Paused {
		t.Errorf("the plan is %s", plan.State)
	}
}

// busyPatient has everything that a summary can hold.
func busyPatient(t *testing.T, p *practice, name string) *patient {
	t.Helper()
	x := p.running(name)
	ph := x.phone()
	e := x.episode()
	for i := range 24 {
		at := p.now.AddDate(0, 0, i-24)
		for j, m := range []rom.Motion{rom.ForwardFlexion, rom.ERSide, rom.Abduction} {
			ph.write(at, wire.KindReading, own(e, m, 20+2*i+5*j))
		}
		before, worst, after := 2, 5, 3
		ph.write(at, wire.KindSession, rom.Session{Episode: e.ID, ID: rom.SessionID(p.id("s")), Due: rom.DateOf(at), Slot: 1, Phase: "passive", Seconds: 600, Ended: rom.StoppedByMe, Stop: rom.StopPain, Before: &before, Worst: &worst, After: &after,
			Items: []rom.SessionItem{{Exercise: rom.TableSlideFlexion, Motion: rom.ForwardFlexion, Dose: rom.Dose{Hold: 20, Reps: 5, Rest: 10, PerDay: 3}, Holds: []rom.Hold{{Tenths: 200, Counted: true}}}}})
	}
	ph.write(p.now, wire.KindReading, own(e, rom.ForwardFlexion, 118))
	ph.write(p.now, wire.KindReading, own(e, rom.ERSide, 60))
	ph.write(p.now, wire.KindSign, rom.Sign{Episode: e.ID, Sign: rom.SignFever, Text: strings.Repeat("hot and cold ", 30)})
	ph.exchange()
	w := p.as(vega)
	w.taken(w.post(x.base+"/entry/reading", change(t, w.get(x.base+"/entry/reading"), "method", "FF-right", "75", "FF-left", "168", "ER0-right", "9", "ER0-left", "60", "ABD-right", "50", "SCAP-right", "70", "ER90-left", "90", "IR90-left", "60", "HBB-right", "18", "HBB-left", "8")))
	for i := range 4 {
		w.taken(w.post(x.base+"/plan", planForm(t, w, x, "act", "save", "p.passive.l.FF.ceil", []string{"88", "86", "84", "82"}[i], "reason", strings.Repeat("because of what was seen at the visit ", 10))))
	}
	w.taken(w.post(x.base+"/entry/visit", change(t, w.get(x.base+"/entry/visit"), "text", "next", "2026-04-01", "text", "A long note. "+strings.Repeat("Went on and on about what was felt and said. ", 80))))
	return x
}

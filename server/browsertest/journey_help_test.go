package browsertest

import (
	"context"
	"encoding/json"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
	_ "time/tzdata" // the clinic's zone, also on a machine without a zone database

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// house is the real server with the invented clinic, and what demo.json says about it.
type house struct {
	t    testing.TB
	data string
	addr string
	*Program

	Staff []struct{ Login, Password string }
	// Free are invitations that nobody has used yet, each for a patient of its own.
	Free []invitation
}

type invitation struct{ Patient, Code, Link string }

var demoMade sync.Once

// demoData is a new folder with the records of a fresh demo. They are made once, which takes seconds, and copied.
func demoData(t testing.TB) string {
	t.Helper()
	first := filepath.Join(filepath.Dir(Binary(t)), "demo-test")
	demoMade.Do(func() {
		if err := os.RemoveAll(first); err != nil {
			t.Fatal(err)
		}
		addr := FreeAddress(t)
		StartProgram(t, addr, "demo", "--data", first, "--listen", addr).Stop()
	})
	data := filepath.Join(t.TempDir(), "data")
	err := filepath.WalkDir(first, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(first, path)
		if err != nil {
			return err
		}
		to := filepath.Join(data, rel)
		if d.IsDir() {
			return os.MkdirAll(to, 0o700)
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		return os.WriteFile(to, text, 0o600)
	})
	if err != nil {
		t.Fatalf("copy the demo's records: %v", err)
	}
	return data
}

// openHouse starts a demo in a folder of its own.
func openHouse(t testing.TB) *house {
	t.Helper()
	site(t, nil) // says so when the phone's program is not built
	h := &house{t: t, data: demoData(t), addr: FreeAddress(t)}
	h.Program = StartProgram(t, h.addr, "demo", "--data", h.data, "--listen", h.addr)
	h.read()
	return h
}

// read takes up demo.json; a start makes new invitations.
func (h *house) read() {
	h.t.Helper()
	text, err := os.ReadFile(filepath.Join(h.data, "demo.json"))
	if err != nil {
		h.t.Fatal(err)
	}
	var file struct {
		Staff       []struct{ Login, Password string }
		Invitations []invitation
	}
	if err := json.Unmarshal(text, &file); err != nil {
		h.t.Fatal(err)
	}
	h.Staff, h.Free = file.Staff, file.Invitations
}

// next takes an invitation that was not used yet.
func (h *house) next() invitation {
	h.t.Helper()
	if len(h.Free) == 0 {
		h.t.Fatal("no invitation is left")
	}
	one := h.Free[0]
	h.Free = h.Free[1:]
	return one
}

func (h *house) password(login string) string {
	for _, s := range h.Staff {
		if s.Login == login {
			return s.Password
		}
	}
	h.t.Fatalf("the demo has no sign-in %q", login)
	return ""
}

// screenPage is a tab that is watched: everything that goes wrong in it is noted, and so is every host that it asks.
type screenPage struct {
	*Page
	w    *watch
	taps int
	by   func(selector string) // how it is used instead of with a finger
}

// watch notes what no page of ours may do.
type watch struct {
	mu      sync.Mutex
	origin  string
	allowed []string // parts of lines that are expected for now
	bad     []string
	asked   int
}

// watchOver begins to watch a tab.
func watchOver(p *Page, w *watch) {
	p.t.Helper()
	err := chromedp.Listen(p.ctx, func(ev any) {
		switch ev := ev.(type) {
		case *log.EventEntryAdded:
			if ev.Entry.Level == log.EntryLevelError || ev.Entry.Source == log.EntrySourceSecurity {
				w.note(fmt.Sprintf("%s: %s (%s)", ev.Entry.Source, ev.Entry.Text, ev.Entry.URL))
			}
		case *network.EventRequestWillBeSent:
			w.host(ev.Request.URL)
		case *runtime.EventConsoleAPICalled:
			if ev.Type == runtime.ConsoleAPICalledTypeError || ev.Type == runtime.ConsoleAPICalledTypeAssert {
				var parts []string
				for _, a := range ev.Args {
					parts = append(parts, strings.Trim(string(a.Value), `"`)+a.Description)
				}
				w.note("console: " + strings.Join(parts, " "))
			}
		case *runtime.EventExceptionThrown:
			w.note("exception: " + (&chromedp.ExceptionError{ExceptionDetails: ev.ExceptionDetails}).Error())
		}
	})
	if err == nil {
		_, err = chromedp.Call(p.ctx, log.Enable, struct{}{})
	}
	if err == nil {
		_, err = chromedp.Call(p.ctx, network.Enable, network.EnableParams{})
	}
	if err != nil {
		p.t.Fatalf("watch a tab: %v", err)
	}
}

func (w *watch) note(line string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, a := range w.allowed {
		if strings.Contains(line, a) {
			return
		}
	}
	w.bad = append(w.bad, line)
}

func (w *watch) host(address string) {
	u, err := url.Parse(address)
	w.mu.Lock()
	defer w.mu.Unlock()
	w.asked++
	switch {
	case err == nil && (u.Scheme == "blob" || u.Scheme == "data"):
	case err == nil && u.Scheme+"://"+u.Host == w.origin:
	default:
		w.bad = append(w.bad, "asked another host: "+address)
	}
}

// expect lets lines with one of these parts pass until the returned function is called.
func (w *watch) expect(parts ...string) (over func()) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.allowed = append(w.allowed, parts...)
	n := len(parts)
	return func() {
		w.mu.Lock()
		defer w.mu.Unlock()
		w.allowed = w.allowed[:len(w.allowed)-n]
	}
}

// clean fails the test for everything noted so far.
func (w *watch) clean(t *testing.T) {
	t.Helper()
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, line := range w.bad {
		t.Errorf("a page did what no page may: %s", line)
	}
	w.bad = nil
	if w.asked == 0 {
		t.Error("no request was seen at all: nothing was watched")
	}
}

// newPhone opens a tab that is a phone of 360 x 640: a touch screen, the test's clock, a voice that is noted, in the zone
// given. A private one has storage of its own, which goes with it.
func newPhone(b *Browser, w *watch, zone string, private bool, scripts ...string) *screenPage {
	b.t.Helper()
	var opts []chromedp.ContextOption
	if private {
		opts = append(opts, chromedp.WithNewBrowserContext())
	}
	p := tabOf(b.t, b.ctx, w, opts...)
	p.beAPhone(zone, scripts...)
	return p
}

func (p *screenPage) beAPhone(zone string, scripts ...string) {
	p.t.Helper()
	p.Phone(360, 640)
	if _, err := chromedp.Call(p.ctx, emulation.SetTimezoneOverride, emulation.SetTimezoneOverrideParams{TimezoneID: zone}); err != nil {
		p.t.Fatalf("zone %s: %v", zone, err)
	}
	p.Before(Speak)
	p.ReplaceClock(time.Now())
	for _, s := range scripts {
		p.Before(s)
	}
}

// tabOf opens one more tab and watches it.
func tabOf(t testing.TB, parent context.Context, w *watch, opts ...chromedp.ContextOption) *screenPage {
	t.Helper()
	ctx, cancel := chromedp.NewContext(parent, opts...)
	t.Cleanup(cancel)
	p := &Page{t: t, ctx: ctx}
	if err := chromedp.Do(ctx); err != nil {
		t.Fatalf("open a tab: %v", err)
	}
	if err := chromedp.Listen(ctx, p.note); err != nil {
		t.Fatalf("listen to the tab: %v", err)
	}
	watchOver(p, w)
	return &screenPage{Page: p, w: w}
}

// newDesk opens a tab of the clinic's computer.
func newDesk(b *Browser, w *watch) *screenPage {
	b.t.Helper()
	p := tabOf(b.t, b.ctx, w, chromedp.WithNewBrowserContext())
	p.act("be a desk", chromedp.EmulateViewport(1280, 800))
	return p
}

// pictures is a folder for pictures of every step, from the environment; "" for none.
var pictures = os.Getenv("UNSLING_JOURNEY_PICTURES")

// show takes a picture of the screen.
func (p *screenPage) show(name string) {
	p.t.Helper()
	if pictures == "" {
		return
	}
	if err := os.MkdirAll(pictures, 0o755); err != nil {
		p.t.Fatal(err)
	}
	p.Screenshot(filepath.Join(pictures, name+".png"))
}

// tap waits for the element and touches it with a finger, unless the page is used in another way, and counts.
func (p *screenPage) tap(selector string) {
	p.t.Helper()
	p.taps++
	if p.by != nil {
		p.by(selector)
		return
	}
	p.Tap(selector)
}

// says waits until the phone's screen shows the text.
// saysAfterReload opens the page again until it says so: what the phone tells
// at its next contact comes some moments after what the phone shows.
func (p *screenPage) saysAfterReload(text string) {
	p.t.Helper()
	for range 30 {
		p.Reload()
		if p.WaitFor("(document.querySelector('body')?.innerText ?? '').includes("+quote(text)+")", time.Second) {
			return
		}
	}
	p.says(text)
}

func (p *screenPage) says(text string) {
	p.t.Helper()
	p.WaitText("body", text)
}

// there waits until the element exists.
func (p *screenPage) there(selector string) {
	p.t.Helper()
	p.Wait("document.querySelector(" + quote(selector) + ")")
}

// has reports whether the element exists now.
func (p *screenPage) has(selector string) (yes bool) {
	p.t.Helper()
	p.Eval("!!document.querySelector("+quote(selector)+")", &yes)
	return yes
}

// up opens an address and waits until the program has come up.
func (p *screenPage) up(address string) {
	p.t.Helper()
	p.Open(address)
	p.Wait(mounted)
	p.Wait("document.getElementById('main') && !(document.getElementById('title')?.innerText ?? '').startsWith('Getting ready')")
}

// stride is how far the phone's clock jumps at once while a session runs: a timer that a busy phone is late with.
const stride = 500 * time.Millisecond

// run lets the phone's clock run ahead by d.
func (p *screenPage) run(d time.Duration) {
	p.t.Helper()
	p.Eval(fmt.Sprintf("testClock.advance(%d, %d)", d.Milliseconds(), stride.Milliseconds()), nil)
}

// until lets the phone's clock run ahead until the condition holds, at most for so long.
func (p *screenPage) until(condition string, most time.Duration) {
	p.t.Helper()
	var came bool
	p.Eval(fmt.Sprintf(`(async () => {
		for (let left = %d; left > 0; left -= %d) {
			if (%s) return true;
			await testClock.advance(%d, %d);
			await new Promise((r) => requestAnimationFrame(r));
		}
		return false;
	})()`, most.Milliseconds(), stride.Milliseconds(), condition, stride.Milliseconds(), stride.Milliseconds()), &came)
	if !came && !p.WaitFor(condition, patience) {
		p.t.Fatalf("after %v of the phone's time still not: %s\nscreen: %s", most, condition, short(p.Text("body")))
	}
}

// finger sends one event of a finger at a place of the window.
func (p *screenPage) finger(kind input.DispatchTouchEventType, x, y float64) {
	p.t.Helper()
	points := []*input.TouchPoint{{X: x, Y: y}}
	if kind == input.DispatchTouchEventTypeTouchEnd {
		points = []*input.TouchPoint{}
	}
	if _, err := chromedp.Call(p.ctx, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: kind, TouchPoints: points}); err != nil {
		p.t.Fatalf("finger: %v", err)
	}
}

// drag puts a finger down, moves it in steps, and lifts it.
func (p *screenPage) drag(x0, y0, x1, y1 float64) {
	p.t.Helper()
	p.finger(input.DispatchTouchEventTypeTouchStart, x0, y0)
	const steps = 8
	for i := 1; i <= steps; i++ {
		f := float64(i) / steps
		p.finger(input.DispatchTouchEventTypeTouchMove, x0+(x1-x0)*f, y0+(y1-y0)*f)
	}
	p.finger(input.DispatchTouchEventTypeTouchEnd, 0, 0)
}

// box is where an element lies in the window.
type box struct{ X, Y, Width, Height float64 }

func (p *screenPage) box(selector string) (b box) {
	p.t.Helper()
	p.Eval("(() => { const r = document.querySelector("+quote(selector)+").getBoundingClientRect(); return {X: r.x, Y: r.y, Width: r.width, Height: r.height}; })()", &b)
	return b
}

// state is the condition that the running session shows this word.
func state(word string) string {
	return "document.querySelector('.run-state')?.innerText === " + quote(word)
}

// session does what the screen asks for until the session is over, with the whole length of every hold.
func (p *screenPage) session() {
	p.t.Helper()
	for range 400 {
		var at string
		p.Eval(`(() => {
			const has = (s) => document.querySelector(s);
			if (has("#leave")) return "end";
			if (has("#no-answer")) return "pain-after";
			if (has("#main-start")) return "start";
			if (has("#main-next")) return "rest";
			if (has("#main-there")) return "move";
			if (has("#main-done")) return has(".timer-unit") && has(".run-bar") ? "hold" : "round";
			return has(".run-state")?.innerText ?? "";
		})()`, &at)
		switch at {
		case "end":
			return
		case "pain-after":
			p.tap("#pain-2")
			p.there("#leave")
			p.Wait("document.getElementById('kept').innerText.startsWith('Kept')")
		case "start":
			p.tap("#main-start")
			p.until("!document.querySelector('#main-start')", time.Second)
		case "move":
			p.tap("#main-there")
			p.until("!document.querySelector('#main-there')", 15*time.Second)
		case "hold":
			p.until("!document.querySelector('#main-done') || !document.querySelector('.run-bar')", 65*time.Second)
		case "rest":
			p.tap("#main-next")
			p.until("!document.querySelector('#main-next')", 15*time.Second)
		case "round":
			p.run(700 * time.Millisecond)
			p.tap("#main-done")
		default:
			p.run(stride)
		}
	}
	p.t.Fatalf("the session does not end; screen: %s", short(p.Text("body")))
}

// Kill ends the browser without warning, as a phone does that needs the memory.
func (b *Browser) Kill() {
	b.t.Helper()
	proc := chromedp.FromContext(b.ctx).Browser.Process()
	if proc == nil {
		b.t.Fatal("no process of the browser")
	}
	b.closed = true
	if err := proc.Kill(); err != nil {
		b.t.Fatal(err)
	}
	<-chromedp.FromContext(b.ctx).Browser.LostConnection
	b.cancel()
}

// soon waits for a condition outside of any page.
func soon(condition func() bool) bool {
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if condition() {
			return true
		}
	}
	return condition()
}

package enginetest

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"unsling/server/browsertest"
)

// patience bounds every single wait in a page; two busy cores need some.
const patience = 90 * time.Second

// driver is what an engine must be able to do. Expressions are JavaScript; their values come back as JSON text.
type driver interface {
	// about names engine and version as the engine itself does.
	about() string
	open(ctx context.Context, url string) error
	reload(ctx context.Context) error
	// eval waits for the value if it is a promise.
	eval(ctx context.Context, expression string) (string, error)
	// tap presses and lets go at a place of the window, in CSS pixels.
	tap(ctx context.Context, x, y float64) error
	// keys types where the focus is; keys without a letter are the private-use characters of WebDriver section 17.4.2.
	keys(ctx context.Context, text string) error
	// files puts files into a file input.
	files(ctx context.Context, selector string, paths ...string) error
	picture(ctx context.Context) ([]byte, error)
	// said gives errors that the page left unhandled or wrote to its console, as far as the engine tells.
	said() []string
}

// The keys of WebDriver that are no letters.
const (
	keyEnter = "\uE007"
	keyRight = "\uE014"
	keyUp    = "\uE013"
	keyDown  = "\uE015"
)

// Page is the one tab of an engine. Its methods fail the test at once when the engine refuses.
type Page struct {
	t testing.TB
	driver
	end   func(kill bool)
	trace func() string // what the engine itself has printed
	last  time.Time     // of the last press
}

// calm is how long a person needs from one press to the next; two in less may be taken for a double tap.
const calm = 400 * time.Millisecond

// Close closes the engine as a person would.
func (p *Page) Close() { p.end(false) }

// Kill ends the engine without warning, as a phone does that needs the memory.
func (p *Page) Kill() { p.end(true) }

// Open goes to an address and waits until the page has loaded.
func (p *Page) Open(url string) {
	p.t.Helper()
	if err := p.TryOpen(url); err != nil {
		p.t.Fatalf("open %s: %v", url, err)
	}
}

// TryOpen is Open that gives the engine's error.
func (p *Page) TryOpen(url string) error {
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	return p.open(ctx, url)
}

// Reload loads the page again.
func (p *Page) Reload() {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	if err := p.reload(ctx); err != nil {
		p.t.Fatalf("reload: %v", err)
	}
}

// Eval decodes the value of a JavaScript expression into out (a pointer, or nil).
func (p *Page) Eval(expression string, out any) {
	p.t.Helper()
	if err := p.TryEval(expression, out); err != nil {
		p.t.Fatalf("evaluate %s: %v", short(expression), err)
	}
}

// TryEval is Eval that gives the error.
func (p *Page) TryEval(expression string, out any) error {
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	text, err := p.eval(ctx, expression)
	if err != nil || out == nil {
		return err
	}
	return json.Unmarshal([]byte(text), out)
}

// Wait waits until a JavaScript expression is true; it survives a page that goes away and comes back.
func (p *Page) Wait(condition string) {
	p.t.Helper()
	if !p.WaitFor(condition, patience) {
		p.fail("waited %v in vain for %s", patience, condition)
	}
}

// WaitFor is Wait with a limit of its own; it reports whether the condition came true.
func (p *Page) WaitFor(condition string, limit time.Duration) bool {
	return browsertest.ComesTrue(p.TryEval, condition, limit)
}

// fail ends the test with what the screen shows, and a picture of it if the environment names a folder.
func (p *Page) fail(format string, args ...any) {
	p.t.Helper()
	p.show("failed")
	printed := p.trace()
	printed = printed[max(0, len(printed)-2000):]
	p.t.Fatalf("%s\nscreen: %s\nsaid: %s\nprinted: %s", fmt.Sprintf(format, args...), short(p.Text("body")), strings.Join(p.said(), "\n  "), printed)
}

// pictures is a folder for pictures of every step, from the environment; "" for none.
var pictures = os.Getenv("UNSLING_ENGINE_PICTURES")

// show takes a picture of the screen.
func (p *Page) show(name string) {
	p.t.Helper()
	if pictures == "" {
		return
	}
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	data, err := p.picture(ctx)
	if err == nil {
		folder := filepath.Join(pictures, filepath.Base(p.t.Name()))
		if err = os.MkdirAll(folder, 0o755); err == nil {
			err = os.WriteFile(filepath.Join(folder, name+".png"), data, 0o644)
		}
	}
	if err != nil {
		p.t.Logf("picture %s: %v", name, err)
	}
}

// Text is the visible text of the first element that matches, "" if there is none.
func (p *Page) Text(selector string) string {
	var text string
	_ = p.TryEval(fmt.Sprintf("document.querySelector(%s)?.innerText ?? ''", quote(selector)), &text)
	return text
}

// Says waits until the page shows the text.
func (p *Page) Says(text string) { p.t.Helper(); p.Shows("body", text) }

// Shows waits until the element's visible text contains want.
func (p *Page) Shows(selector, want string) {
	p.t.Helper()
	p.Wait(fmt.Sprintf("(document.querySelector(%s)?.innerText ?? '').includes(%s)", quote(selector), quote(want)))
}

// There waits until the element exists.
func (p *Page) There(selector string) {
	p.t.Helper()
	p.Wait("document.querySelector(" + quote(selector) + ")")
}

// Has reports whether the element exists now.
func (p *Page) Has(selector string) (yes bool) {
	p.t.Helper()
	p.Eval("!!document.querySelector("+quote(selector)+")", &yes)
	return yes
}

// Tap waits until the element lies still in sight with nothing over its middle, and presses there.
func (p *Page) Tap(selector string) {
	p.t.Helper()
	var at struct {
		OK   bool
		X, Y float64
	}
	for end := time.Now().Add(patience); !at.OK; time.Sleep(30 * time.Millisecond) {
		_ = p.TryEval(`(async () => {
			const frame = () => new Promise((r) => requestAnimationFrame(r));
			const place = () => { const b = document.querySelector(`+quote(selector)+`).getBoundingClientRect(); return {X: b.x + b.width / 2, Y: b.y + b.height / 2}; };
			document.querySelector(`+quote(selector)+`).scrollIntoView({block: "center", behavior: "instant"});
			await frame(); await frame();
			const before = place();
			await new Promise((r) => setTimeout(r, 80));
			const at = place(), hit = document.elementFromPoint(at.X, at.Y);
			return {OK: before.X === at.X && before.Y === at.Y && !!hit && document.querySelector(`+quote(selector)+`).contains(hit), ...at};
		})()`, &at) // a page that goes away meanwhile is asked again
		if !at.OK && time.Now().After(end) {
			p.fail("%s cannot be pressed", selector)
		}
	}
	p.TapAt(at.X, at.Y)
}

// TapAt presses a place of the window.
func (p *Page) TapAt(x, y float64) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	time.Sleep(time.Until(p.last.Add(calm)))
	err := p.tap(ctx, x, y)
	p.last = time.Now()
	if err != nil {
		p.t.Fatalf("tap at %.0f, %.0f: %v", x, y, err)
	}
}

// Keys presses keys where the focus is.
func (p *Page) Keys(text string) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	if err := p.keys(ctx, text); err != nil {
		p.t.Fatalf("keys: %v", err)
	}
}

// Type taps a field and types into it.
func (p *Page) Type(selector, text string) {
	p.t.Helper()
	p.Tap(selector)
	p.Keys(text)
}

// Upload puts a file into a file input.
func (p *Page) Upload(selector string, path string) {
	p.t.Helper()
	p.There(selector)
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	if err := p.files(ctx, selector, path); err != nil {
		p.t.Fatalf("upload: %v", err)
	}
}

func quote(s string) string {
	b, err := json.Marshal(s)
	if err != nil {
		panic(err) // a string always marshals
	}
	return string(b)
}

func short(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	if len(s) > 400 {
		return s[:400] + " ..."
	}
	return s
}

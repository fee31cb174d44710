package browsertest

import (
	_ "embed"
	"fmt"
	"io/fs"
	"math"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

//go:embed audit.js
var auditScript string

// axeScript is axe-core, which .ci/tools brings.
func axeScript(t testing.TB) string {
	t.Helper()
	text, err := os.ReadFile("../../.ci/node/node_modules/axe-core/axe.min.js")
	if err != nil {
		t.Fatalf("axe-core: %v (run .ci/tools)", err)
	}
	return string(text)
}

// stylesheets are those of the app as they stand in the source, in the builder's order.
func stylesheets(t testing.TB) string {
	t.Helper()
	var css strings.Builder
	err := filepath.WalkDir("../../app", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || filepath.Ext(path) != ".css" {
			return err
		}
		text, err := os.ReadFile(path)
		css.Write(append(text, '\n'))
		return err
	})
	if err != nil || css.Len() == 0 {
		t.Fatalf("the app's style sheets: %v, %d bytes", err, css.Len())
	}
	return css.String()
}

var stageProgram struct {
	sync.Once
	wasm []byte
}

// newStage serves the real shell, start script, style sheets and policy, with the tests of app/screen as the program: they
// mount the real root component and bring it to any moment (app/screen/stage_js_test.go).
func newStage(t *testing.T) *Host {
	t.Helper()
	s := site(t, map[string]string{"phone.css": stylesheets(t)})
	stageProgram.Do(func() { stageProgram.wasm = buildGoTest(t, "unsling/app/screen") })
	return NewHost(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch r.URL.Path {
		case "/app.wasm":
			w.Header().Set("Content-Type", "application/wasm")
			_, _ = w.Write(stageProgram.wasm)
		case "/worker.js": // a stage keeps nothing
			http.NotFound(w, r)
		default:
			s.ServeHTTP(w, r)
		}
	}))
}

// look is how a screen is looked at.
type look struct {
	Lang   string
	Dark   bool
	Size   int   // of the settings
	Text   int64 // the browser's own text size in px, 16 is usual
	Width  int64
	Height int64
	Forced bool // forced colours
	Still  bool // reduced motion
	RTL    bool // written from the right
}

func (l look) String() string {
	s := fmt.Sprintf("%s %dx%d", l.Lang, l.Width, l.Height)
	add := func(on bool, what string) {
		if on {
			s += " " + what
		}
	}
	add(l.Dark, "dark")
	add(l.Size > 0, fmt.Sprintf("size %d", l.Size))
	add(l.Text != 16, fmt.Sprintf("text %d %%", l.Text*100/16))
	add(l.Forced, "forced colours")
	add(l.Still, "reduced motion")
	add(l.RTL, "right to left")
	return s
}

// plain is the usual look.
var plain = look{Lang: "en", Text: 16, Width: 360, Height: 640}

// actor is a tab on a stage.
type actor struct {
	*Page
	shots []string
	at    look
}

// enterStage opens a tab on the stage and waits until it is set.
func enterStage(t testing.TB, b *Browser, stage *Host) *actor {
	t.Helper()
	a := &actor{Page: b.NewPage()}
	a.Open(stage.URL() + "/")
	a.set()
	return a
}

// set waits until the stage is there and brings the tools of the audits.
func (a *actor) set() {
	a.t.Helper()
	a.Wait(mounted)
	a.Wait("window.unslingShots")
	a.Eval("unslingShots()", &a.shots)
	if len(a.shots) < 50 {
		a.t.Fatalf("the stage knows only %d moments", len(a.shots))
	}
	a.Eval(axeScript(a.t)+"\n;undefined", nil)
	a.Eval(auditScript+"\n;undefined", nil)
}

// become takes a look.
func (a *actor) become(l look) {
	a.t.Helper()
	a.at = l
	a.act("be a phone", chromedp.EmulateViewport(l.Width, l.Height, chromedp.EmulateMobile, chromedp.EmulateTouch, chromedp.EmulateScale(1)))
	scheme, forced, motion := "light", "none", "no-preference"
	if l.Dark {
		scheme = "dark"
	}
	if l.Forced {
		forced = "active"
	}
	if l.Still {
		motion = "reduce"
	}
	_, err := chromedp.Call(a.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{
		{Name: "prefers-color-scheme", Value: scheme}, {Name: "forced-colors", Value: forced}, {Name: "prefers-reduced-motion", Value: motion},
	}})
	if err != nil {
		a.t.Fatalf("look %s: %v", l, err)
	}
	a.letters()
	dir := "ltr"
	if l.RTL {
		dir = "rtl"
	}
	a.Eval("document.documentElement.dir = "+quote(dir), nil)
}

// letters sets the browser's own text size.
func (a *actor) letters() {
	a.t.Helper()
	if _, err := chromedp.Call(a.ctx, page.SetFontSizes, page.SetFontSizesParams{FontSizes: &page.FontSizes{Standard: a.at.Text}}); err != nil {
		a.t.Fatalf("text size: %v", err)
	}
}

// show brings a moment on. The browser now and then forgets the text size of a tab when another one changes: then it is set
// again.
func (a *actor) show(shot string) {
	a.t.Helper()
	scale := []float64{1.125, 1.34, 1.6}[a.at.Size]
	var letters float64
	for range 5 {
		a.Eval(fmt.Sprintf(`unslingShow(%s, %s, %d).then(() => new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(r))))
			.then(() => parseFloat(getComputedStyle(document.documentElement).fontSize))`, quote(shot), quote(a.at.Lang), a.at.Size), &letters)
		if math.Abs(letters-float64(a.at.Text)*scale) < 0.5 {
			return
		}
		a.letters()
	}
	a.t.Fatalf("%s (%s): the letters are %.1f px high", shot, a.at, letters)
}

// check brings a moment on and gives what the named audits say of it.
func (a *actor) check(shot string, audits ...string) (said []string) {
	a.t.Helper()
	a.show(shot)
	a.Eval(fmt.Sprintf(`(async () => {
		const out = [];
		for (const d of document.querySelectorAll("details")) d.open = true;
		for (const f of %s) for (const line of await audit[f]()) out.push(f + ": " + line);
		return out;
	})()`, quoteAll(audits)), &said)
	return said
}

func quoteAll(list []string) string {
	var q []string
	for _, s := range list {
		q = append(q, quote(s))
	}
	return "[" + strings.Join(q, ",") + "]"
}

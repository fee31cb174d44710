package browsertest

import (
	"compress/gzip"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// slowDown is how much slower a low-end phone is taken to be than this machine.
const slowDown = 4

// buildWasm builds a command of this module for the browser, uncompressed.
func buildWasm(b testing.TB, pkg string) []byte {
	b.Helper()
	bin := filepath.Join(b.TempDir(), "app.wasm")
	cmd := exec.Command("go", "build", "-trimpath", "-ldflags=-s -w", "-o", bin, pkg)
	cmd.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm", "CGO_ENABLED=0")
	if out, err := cmd.CombinedOutput(); err != nil {
		b.Fatalf("build %s: %v\n%s", pkg, err, out)
	}
	data, err := os.ReadFile(bin)
	if err != nil {
		b.Fatal(err)
	}
	return data
}

// program is the phone's program as it is shipped, unpacked like the other one.
func program(b testing.TB) []byte {
	b.Helper()
	f, err := os.Open("../web/dist/app.wasm.gz")
	if err != nil {
		b.Fatalf("%v (run: make web)", err)
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		b.Fatal(err)
	}
	wasm, err := io.ReadAll(z)
	if err != nil {
		b.Fatal(err)
	}
	return wasm
}

// serving is the real shell with this program, without a worker: each start is a first one.
func serving(b testing.TB, wasm []byte) *Host {
	s := site(b, map[string]string{"phone.css": stylesheets(b)})
	return NewHost(b, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch r.URL.Path {
		case "/app.wasm":
			w.Header().Set("Content-Type", "application/wasm")
			_, _ = w.Write(wasm)
		case "/worker.js":
			http.NotFound(w, r)
		default:
			s.ServeHTTP(w, r)
		}
	}))
}

// started notes when the first screen with a heading of the program stood there.
const started = `window.testShell = 0; window.testUsable = 0;
new PerformanceObserver((l) => { for (const e of l.getEntries()) if (e.name === "first-contentful-paint") window.testShell = e.startTime; }).observe({ type: "paint", buffered: true });
(function look() {
	const h = document.getElementById("title");
	if (h && !h.innerText.startsWith("Getting ready")) requestAnimationFrame(() => { window.testUsable = performance.now(); });
	else requestAnimationFrame(look);
})();`

// BenchmarkBudgetStart compares the time from opening to a usable screen, on a processor four times as slow, with that of
// the UI library's least program on the same shell, taken in turns; median of nine each. The budget is 1.5.
func BenchmarkBudgetStart(b *testing.B) {
	hosts := map[string]*Host{"app": serving(b, program(b)), "hello": serving(b, buildWasm(b, "unsling/server/browsertest/testdata/hello"))}
	browser := Start(b, "")
	times, shells := map[string][]float64{}, []float64{}
	for b.Loop() {
		for range 9 {
			for name, host := range hosts {
				p := browser.NewPage()
				p.Phone(360, 640)
				p.Slow(slowDown)
				p.Before(started)
				p.Open(host.URL() + "/")
				p.Wait("window.testUsable > 0")
				var usable, shell float64
				p.Eval("testUsable", &usable)
				p.Eval("testShell", &shell)
				times[name] = append(times[name], usable)
				if name == "app" {
					shells = append(shells, usable-shell)
				}
				p.Close()
			}
		}
	}
	app, hello := middle(times["app"]), middle(times["hello"])
	b.ReportMetric(1.5, "budget-x")
	b.ReportMetric(app/hello, "measured-x")
	b.ReportMetric(app, "ms-app")
	b.ReportMetric(hello, "ms-hello")
	b.ReportMetric(middle(shells), "ms-shell-before-app")
}

// BenchmarkBudgetFrames watches the frames of ten seconds of a hold on a processor four times as slow. The budget is 100 ms
// for 99 of 100.
func BenchmarkBudgetFrames(b *testing.B) {
	house := openHouse(b)
	w := &watch{origin: house.URL()}
	browser := Start(b, "")
	p := tabOf(b, browser.ctx, w)
	p.Phone(360, 640)
	if _, err := chromedp.Call(p.ctx, emulation.SetTimezoneOverride, emulation.SetTimezoneOverrideParams{TimezoneID: Morning(b)}); err != nil {
		b.Fatal(err)
	}
	p.up(house.next().Link)
	p.tap("#join")
	p.says("Welcome")
	p.throughFirstRun("right")
	p.tap("#start")
	p.tap("#pain-1")
	p.tap("#main-start")
	if !p.WaitFor(state("Hold"), 30*time.Second) {
		b.Fatal("no hold begins")
	}
	p.Slow(slowDown)
	var frames []float64
	for b.Loop() {
		p.Eval(`new Promise((done) => { const t = []; let last = performance.now(); const end = last + 10000;
			const f = () => { const now = performance.now(); t.push(now - last); last = now; if (now < end) requestAnimationFrame(f); else done(t); };
			requestAnimationFrame(f); })`, &frames)
	}
	slices.Sort(frames)
	p99 := frames[len(frames)*99/100]
	b.ReportMetric(100, "budget-ms")
	b.ReportMetric(p99, "measured-ms")
	b.ReportMetric(middle(frames), "ms-median")
}

func middle(list []float64) float64 {
	s := slices.Sorted(slices.Values(list))
	return s[len(s)/2]
}

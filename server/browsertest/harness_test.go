package browsertest

import (
	"net/http"
	"os"
	"path/filepath"
	"testing"
	"time"
)

// blank serves an empty page at every address.
func blank(t *testing.T) *Host {
	return NewHost(t, http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_, _ = w.Write([]byte("<!doctype html><meta name=viewport content=\"width=device-width\"><title>blank</title><body>blank</body>"))
	}))
}

// stopwatch gives the milliseconds since it was made: what the page's clock may have gone on by itself.
func stopwatch() func() float64 {
	begin := time.Now()
	return func() float64 { return float64(time.Since(begin).Microseconds()) / 1000 }
}

func TestReplacedClock(t *testing.T) {
	host, b := blank(t), Start(t, "")
	p := b.NewPage()
	start := time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)
	p.ReplaceClock(start)
	real := stopwatch()
	p.Open(host.URL())

	ms := func(expression string) (v float64) { p.Eval(expression, &v); return v }
	if d := ms("Date.now()") - float64(start.UnixMilli()); d < 0 || d > real() {
		t.Errorf("the page's clock is %v ms after the start given", d)
	}
	real = stopwatch()
	p.Eval(`window.fired = []; setTimeout(() => fired.push("a"), 300000); setTimeout(() => fired.push("b"), 30000);
		window.n = 0; window.every = setInterval(() => { n++; }, 1000); window.mono = performance.now(); undefined`, nil)
	p.Advance(59 * time.Second)
	var fired []string
	p.Eval("fired", &fired)
	if len(fired) != 1 || fired[0] != "b" {
		t.Errorf("after 59 s have fired %v, want only b", fired)
	}
	p.Advance(242 * time.Second)
	p.Eval("fired", &fired)
	if len(fired) != 2 || fired[1] != "a" {
		t.Errorf("after 301 s have fired %v, want b and a", fired)
	}
	if n := ms("n"); n < 285 || n > 301+real()/1000 { // each may be a stride late
		t.Errorf("an interval of 1 s has run %v times in 301 s", n)
	}
	if d := ms("performance.now() - mono"); d < 301_000 || d > 301_000+real() || d <= real() {
		t.Errorf("performance.now went on by %v ms in %v ms", d, real())
	}

	mono := ms("performance.now()")
	real = stopwatch()
	p.SetDate(time.Date(2020, 1, 1, 0, 0, 0, 0, time.UTC))
	var year int
	p.Eval("new Date().getUTCFullYear()", &year)
	if year != 2020 {
		t.Errorf("the date was set to 2020, the page says %d", year)
	}
	if d := ms("performance.now()") - mono; d < 0 || d > 10_000+real() {
		t.Errorf("setting the date moved the monotonic clock by %v ms", d)
	}
	var parsed string
	p.Eval(`new Date(Date.UTC(2024, 1, 29)).toISOString() + (new Date() instanceof Date)`, &parsed)
	if parsed != "2024-02-29T00:00:00.000Ztrue" {
		t.Errorf("dates made of numbers: %s", parsed)
	}
}

func TestOfflineAndBack(t *testing.T) {
	host, b := blank(t), Start(t, "")
	p := b.NewPage()
	p.Open(host.URL())
	reach := func() (yes bool) { p.Eval("fetch('/x').then(() => true, () => false)", &yes); return yes }
	onLine := func() (yes bool) { p.Eval("navigator.onLine", &yes); return yes }
	p.Offline(true)
	if reach() || onLine() {
		t.Error("offline, and yet the server answers or the browser says it is online")
	}
	p.Offline(false)
	p.Wait("navigator.onLine")
	if !reach() {
		t.Error("back, and the server does not answer")
	}
	host.Stop()
	if host.Reachable() || reach() {
		t.Error("a stopped server answers")
	}
	host.Start()
	if !reach() {
		t.Error("a server that was started again does not answer")
	}
}

func TestSpeakIsNoted(t *testing.T) {
	host, b := blank(t), Start(t, "")
	p := b.NewPage()
	p.Before(Speak)
	p.Open(host.URL())
	var said []string
	p.Eval(`new Promise(r => { const u = new SpeechSynthesisUtterance("hold"); u.onend = () => r(testSpoken); speechSynthesis.speak(u); })`, &said)
	if len(said) != 1 || said[0] != "hold" {
		t.Errorf("said %v", said)
	}
}

func TestScreenshotIsAPicture(t *testing.T) {
	host, b := blank(t), Start(t, "")
	p := b.NewPage()
	p.Phone(360, 640)
	p.Open(host.URL())
	path := filepath.Join(t.TempDir(), "s.png")
	p.Screenshot(path)
	if data, err := os.ReadFile(path); err != nil || len(data) < 100 || string(data[1:4]) != "PNG" {
		t.Errorf("screenshot: %v, %d bytes", err, len(data))
	}
	var wide int
	p.Eval("innerWidth", &wide)
	if wide != 360 {
		t.Errorf("the page is %d wide, want 360", wide)
	}
}

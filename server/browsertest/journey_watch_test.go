package browsertest

import (
	"net/http"
	"strings"
	"testing"
)

// A watch that notices nothing would make every journey clean.
func TestWatchNotices(t *testing.T) {
	host := NewHost(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		switch r.URL.Path {
		case "/good":
			_, _ = w.Write([]byte("<!doctype html><link rel=icon href='data:,'><title>good</title>"))
		case "/policy":
			w.Header().Set("Content-Security-Policy", "default-src 'none'")
			_, _ = w.Write([]byte("<!doctype html><link rel=icon href='data:,'><title>x</title><p style='color: red'>x</p>"))
		case "/console":
			_, _ = w.Write([]byte("<!doctype html><link rel=icon href='data:,'><script>console.error('broken')</script>"))
		case "/throws":
			_, _ = w.Write([]byte("<!doctype html><link rel=icon href='data:,'><script>throw new Error('thrown')</script>"))
		case "/foreign":
			_, _ = w.Write([]byte("<!doctype html><link rel=icon href='data:,'><script src='http://elsewhere.invalid/x.js'></script>"))
		default:
			http.NotFound(w, r)
		}
	}))
	b := Start(t, "")
	for path, want := range map[string]string{
		"/good": "", "/policy": "Content Security Policy", "/console": "broken", "/throws": "thrown", "/foreign": "another host", "/missing": "404",
	} {
		w := &watch{origin: host.URL()}
		p := newDesk(b, w)
		p.Open(host.URL() + path)
		noted := func() string {
			w.mu.Lock()
			defer w.mu.Unlock()
			return strings.Join(w.bad, "; ")
		}
		if want == "" {
			if got := noted(); got != "" || w.asked == 0 {
				t.Errorf("%s: noted %q of %d requests", path, got, w.asked)
			}
		} else if !p.WaitFor("document.readyState === 'complete'", patience) || !soon(func() bool { return strings.Contains(noted(), want) }) {
			t.Errorf("%s: noted %q, want something about %q", path, noted(), want)
		}
		p.Close()
	}
}

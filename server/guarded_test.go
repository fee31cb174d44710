package main

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

// TestEveryAnswerIsGuarded: answers that no page writes, such as redirects and refusals of the router, carry the headers too
// (OWASP ASVS 5.0, 3.4.1 to 3.4.6).
func TestEveryAnswerIsGuarded(t *testing.T) {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /page/", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Security-Policy", "default-src 'self'")
		w.WriteHeader(http.StatusNoContent)
	})
	for _, public := range []string{"https://a.example", "http://localhost:1"} {
		host := public[strings.Index(public, "//")+2:]
		h := guarded(public, onlyHost(public, mux))
		for _, c := range []struct {
			method, host, path string
			status             int
		}{
			{"GET", host, "/page/", 204}, {"GET", host, "/page", 307}, {"GET", host, "//page/", 307}, {"GET", host, "/none", 404}, {"PUT", host, "/page/", 405},
			{"GET", "evil.example", "/page/", 307}, {"POST", "evil.example", "/page/", 421},
		} {
			r := httptest.NewRequest(c.method, "http://"+host+"/", nil)
			r.URL.Path, r.Host = c.path, c.host
			w := httptest.NewRecorder()
			h.ServeHTTP(w, r)
			what := c.method + " " + c.host + c.path
			if w.Code != c.status {
				t.Errorf("%s: %d, want %d", what, w.Code, c.status)
			}
			policy := "default-src 'none'"
			if c.status == 204 {
				policy = "default-src 'self'"
			}
			for name, want := range map[string]string{"Content-Security-Policy": policy, "X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer",
				"Cross-Origin-Opener-Policy": "same-origin", "Cross-Origin-Resource-Policy": "same-origin"} {
				if got := w.Header().Get(name); !strings.HasPrefix(got, want) {
					t.Errorf("%s: %s %q, want %q", what, name, got, want)
				}
			}
			if got := w.Header().Get("Strict-Transport-Security") != ""; got != strings.HasPrefix(public, "https") {
				t.Errorf("%s at %s: Strict-Transport-Security there: %v", what, public, got)
			}
		}
	}
}

package main

import (
	"net/http"
	"net/http/httptest"
	"testing"
)

// The address that limits and the log see. Addresses are those for
// documentation (RFC 5737, RFC 3849).
func TestClientAddress(t *testing.T) {
	for _, c := range []struct {
		name, peer string
		forwarded  []string
		want       string // "" is refused
	}{
		{"no header", "127.0.0.1:5", nil, "127.0.0.1:0"},
		{"one client", "127.0.0.1:5", []string{"192.0.2.1"}, "192.0.2.1:0"},
		{"spoofed on the left", "127.0.0.1:5", []string{"198.51.100.9, 192.0.2.1"}, "192.0.2.1:0"},
		{"spoofed in a line of its own", "127.0.0.1:5", []string{"198.51.100.9", "192.0.2.1"}, "192.0.2.1:0"},
		{"a chain of trusted proxies", "10.1.2.3:5", []string{"198.51.100.9, 192.0.2.1, 10.9.9.9"}, "192.0.2.1:0"},
		{"only proxies", "127.0.0.1:5", []string{"10.9.9.9"}, "10.9.9.9:0"},
		{"nonsense nearest", "127.0.0.1:5", []string{"192.0.2.1, unknown"}, "127.0.0.1:0"},
		{"nonsense behind", "127.0.0.1:5", []string{"<script>, 10.9.9.9"}, "10.9.9.9:0"},
		{"IPv6", "[::1]:5", []string{"2001:db8::1"}, "[2001:db8::1]:0"},
		{"IPv4 in IPv6", "[::ffff:127.0.0.1]:5", []string{"::ffff:192.0.2.1"}, "192.0.2.1:0"},
		{"around the proxy", "192.0.2.7:5", []string{"127.0.0.1"}, ""},
		{"around the proxy, no header", "192.0.2.7:5", nil, ""},
	} {
		trusted, err := parseProxies("10.0.0.0/8")
		if err != nil {
			t.Fatal(err)
		}
		got := ""
		h := behindProxy(trusted, http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) { got = r.RemoteAddr }))
		r := httptest.NewRequest(http.MethodGet, "/", nil)
		r.RemoteAddr = c.peer
		r.Header["X-Forwarded-For"] = c.forwarded
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if got != c.want || (c.want == "") != (w.Code == http.StatusForbidden) {
			t.Errorf("%s: %q %d, want %q", c.name, got, w.Code, c.want)
		}
	}
	// Without --behind-proxy the header is nothing.
	r := httptest.NewRequest(http.MethodGet, "/", nil)
	r.RemoteAddr = "192.0.2.7:5"
	r.Header.Set("X-Forwarded-For", "127.0.0.1")
	plainAddress(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		if r.RemoteAddr != "192.0.2.7:5" || r.Header.Get("X-Forwarded-For") != "" {
			t.Errorf("a spoofed header reached the server: %q %v", r.RemoteAddr, r.Header)
		}
	})).ServeHTTP(httptest.NewRecorder(), r)
	for _, bad := range []string{"nonsense", "10.0.0.0/99", "10.0.0.1,x"} {
		if _, err := parseProxies(bad); err == nil {
			t.Errorf("%q was taken", bad)
		}
	}
}

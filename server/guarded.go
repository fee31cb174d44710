package main

import (
	"net/http"
	"strings"
)

// guarded gives every answer the headers that hold everywhere, also those that no page of ours writes: a redirect to the right
// host, a refusal of it, a path that is cleaned. Who serves a page replaces the policy by its own. With a public address by TLS
// browsers are told to come by nothing else for two years (RFC 6797).
func guarded(public string, next http.Handler) http.Handler {
	tls := strings.HasPrefix(public, "https://")
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		if tls {
			h.Set("Strict-Transport-Security", "max-age=63072000")
		}
		next.ServeHTTP(w, r)
	})
}

package web

import (
	"bytes"
	"compress/gzip"
	"io"
	"net/http"
	"strconv"
	"strings"
)

// ContentPolicy is the Content-Security-Policy of every phone page, of the worker and of the program. It allows no inline
// script or style; 'wasm-unsafe-eval' is what compiling WebAssembly needs, blob: what a photograph on the screen needs.
const ContentPolicy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' blob:; " +
	"media-src 'self' blob:; connect-src 'self'; font-src 'self'; manifest-src 'self'; worker-src 'self'; " +
	"base-uri 'none'; form-action 'self'; frame-ancestors 'none'; object-src 'none'"

// PermissionsPolicy opens to the phone's pages what measuring and a session need, and nothing else.
const PermissionsPolicy = "camera=(self), accelerometer=(self), gyroscope=(self), screen-wake-lock=(self), " +
	"microphone=(), geolocation=(), payment=(), usb=()"

func (s *Site) headers(h http.Header) {
	h.Set("Content-Security-Policy", ContentPolicy)
	h.Set("Permissions-Policy", PermissionsPolicy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Cache-Control", "no-cache")
}

// ServeHTTP answers a file at its own address and the shell at every other phone address. Anything else is
// 404: an address that [Reserved] keeps for others, a file that is none, or what somebody who tries addresses hopes to find.
func (s *Site) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	s.headers(w.Header())
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		w.Header().Set("Allow", "GET, HEAD")
		refuse(w, http.StatusMethodNotAllowed, "This address can only be read.")
		return
	}
	address := r.URL.Path
	f, ok := s.files[address]
	switch {
	case ok:
	case Reserved(address), !phoneAddress(address) && address != wasmAddress:
		refuse(w, http.StatusNotFound, "There is nothing at this address.")
		return
	case address == wasmAddress:
		refuse(w, http.StatusServiceUnavailable, "The phone's program is not built into this server: run make run.")
		return
	default:
		f = s.files[shellAddress]
	}
	f.serve(w, r)
}

// serve sends the best form that the client takes. ETags differ by form, since they name bytes and not meanings.
func (f *file) serve(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("Content-Type", f.mime)
	body, coding := f.form(r.Header.Get("Accept-Encoding"))
	if f.gzip != nil || f.br != nil {
		h.Set("Vary", "Accept-Encoding")
	}
	tag := f.hash[:16]
	if coding != "" {
		h.Set("Content-Encoding", coding)
		tag += "-" + coding
	}
	tag = strconv.Quote(tag)
	h.Set("ETag", tag)
	if matches(r.Header.Get("If-None-Match"), tag) {
		h.Del("Content-Encoding")
		w.WriteHeader(http.StatusNotModified)
		return
	}
	if body == nil { // the program, for a client that takes no compression: rare, so it is unpacked each time
		f.unpack(w, r)
		return
	}
	h.Set("Content-Length", strconv.Itoa(len(body)))
	if r.Method != http.MethodHead {
		_, _ = w.Write(body) // the client went away: nothing to be done
	}
}

func (f *file) form(accept string) (body []byte, coding string) {
	if f.br != nil && accepts(accept, "br") {
		return f.br, "br"
	}
	if f.gzip != nil && accepts(accept, "gzip") {
		return f.gzip, "gzip"
	}
	return f.plain, ""
}

func (f *file) unpack(w http.ResponseWriter, r *http.Request) {
	if r.Method == http.MethodHead {
		return
	}
	z, err := gzip.NewReader(bytes.NewReader(f.gzip))
	if err != nil {
		refuse(w, http.StatusInternalServerError, "The phone's program is damaged on this server.")
		return
	}
	_, _ = io.Copy(w, z)
}

// accepts reads an Accept-Encoding header (RFC 9110 section 12.5.3): named, or covered by "*", with a weight above zero.
func accepts(header, coding string) bool {
	star := false
	for part := range strings.SplitSeq(header, ",") {
		name, params, _ := strings.Cut(strings.TrimSpace(part), ";")
		name = strings.ToLower(strings.TrimSpace(name))
		if name != coding && name != "*" {
			continue
		}
		ok := weight(params) > 0
		if name == coding {
			return ok
		}
		star = ok
	}
	return star
}

func weight(params string) float64 {
	key, value, found := strings.Cut(strings.TrimSpace(params), "=")
	if !found || strings.TrimSpace(strings.ToLower(key)) != "q" {
		return 1
	}
	q, err := strconv.ParseFloat(strings.TrimSpace(value), 64)
	if err != nil {
		return 0
	}
	return q
}

// matches compares weakly (RFC 9110 section 13.1.2), since proxies may weaken a tag.
func matches(header, tag string) bool {
	for part := range strings.SplitSeq(header, ",") {
		part = strings.TrimPrefix(strings.TrimSpace(part), "W/")
		if part == tag || part == "*" {
			return true
		}
	}
	return false
}

func refuse(w http.ResponseWriter, status int, sentence string) {
	h := w.Header()
	h.Set("Content-Type", "text/plain; charset=utf-8")
	h.Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	_, _ = io.WriteString(w, sentence+"\n")
}

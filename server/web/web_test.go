package web

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"image/png"
	"io"
	"maps"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/andybalholm/brotli"
)

var program = bytes.Repeat([]byte("\x00asm some program "), 500)

// dist is what buildweb would write for program.
func dist(t *testing.T) fstest.MapFS {
	t.Helper()
	var gz, br bytes.Buffer
	zw, bw := gzip.NewWriter(&gz), brotli.NewWriter(&br)
	for _, w := range []io.WriteCloser{zw, bw} {
		if _, err := w.Write(program); err != nil {
			t.Fatal(err)
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
	}
	sum := sha256.Sum256(program)
	return fstest.MapFS{
		"wasm_exec.js": {Data: []byte("// loader")},
		"phone.css":    {Data: []byte("/* styles */")},
		"app.wasm.gz":  {Data: gz.Bytes()},
		"app.wasm.br":  {Data: br.Bytes()},
		"build.json": {Data: fmt.Appendf(nil, `{"wasm":%q,"raw":%d,"gzip":%d,"brotli":%d,"quality":11}`,
			hex.EncodeToString(sum[:]), len(program), gz.Len(), br.Len())},
	}
}

func load(t *testing.T, d fstest.MapFS) *Site {
	t.Helper()
	s, err := LoadFrom(os.DirFS("assets"), d)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func get(s *Site, path string, header ...string) *http.Response {
	r := httptest.NewRequest(http.MethodGet, path, nil)
	for i := 0; i+1 < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	w := httptest.NewRecorder()
	s.ServeHTTP(w, r)
	return w.Result()
}

func body(t *testing.T, r *http.Response) string {
	t.Helper()
	b, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestEveryPhoneAddressIsTheShellAndNoOther(t *testing.T) {
	s := load(t, dist(t))
	shell := body(t, get(s, "/"))
	if !strings.Contains(shell, `<div id="app">`) {
		t.Fatal("the root is not the shell")
	}
	for path, want := range map[string]int{
		"/enrol": 200, "/session": 200, "/measure/FF": 200, "/measure/ER/side": 200, "/clinical": 404, "/v10": 404,
		"/.git/config": 404, "/.env": 404, "/wp-login": 404, "/admin": 404, "/session/.git/config": 404, "//": 404, "/measure/../x": 404,
		"/clinic": 404, "/clinic/": 404, "/clinic/patients/1": 404, "/v1/hello": 404, "/fhir/metadata": 404, "/healthz": 404,
		"/readyz": 404, "/.well-known/jwks.json": 404, "/favicon.ico": 404, "/assets/shell.html": 404, "/shell.html": 404,
		"/dist/build.json": 404, "/measure/x.js": 404,
	} {
		r := get(s, path)
		if r.StatusCode != want {
			t.Errorf("%s: %d, want %d", path, r.StatusCode, want)
		}
		if text := body(t, r); want == 200 && text != shell {
			t.Errorf("%s is not the shell", path)
		} else if want != 200 && !strings.HasSuffix(text, ".\n") {
			t.Errorf("%s: %q is no sentence", path, text)
		}
		if want == 404 && r.Header.Get("Cache-Control") != "no-store" {
			t.Errorf("%s: a refusal may be cached", path)
		}
	}
}

// TestPlacesAreThoseOfTheApp: what the phone calls its screens is what the shell answers for, and nothing else.
func TestPlacesAreThoseOfTheApp(t *testing.T) {
	files, err := filepath.Glob("../../app/screen/*.go")
	if err != nil || len(files) == 0 {
		t.Fatal(err, len(files))
	}
	place := regexp.MustCompile(`(?m)^(?:const )?\s*Place\w+\s+Place = "/([a-z-]*)"`)
	found := map[string]bool{}
	for _, f := range files {
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range place.FindAllSubmatch(text, -1) {
			found[string(m[1])] = true
		}
	}
	if !maps.Equal(found, phonePlaces) {
		t.Errorf("the app has %v, the shell answers for %v", slices.Sorted(maps.Keys(found)), slices.Sorted(maps.Keys(phonePlaces)))
	}
}

func TestHeadersOfEveryAnswer(t *testing.T) {
	s := load(t, dist(t))
	for _, path := range append(s.addresses(), "/session", "/nothing.js") {
		h := get(s, path).Header
		for name, want := range map[string]string{
			"X-Content-Type-Options":     "nosniff", // OWASP HTTP Headers Cheat Sheet
			"Referrer-Policy":            "no-referrer",
			"Content-Security-Policy":    ContentPolicy,
			"Permissions-Policy":         PermissionsPolicy,
			"Cross-Origin-Opener-Policy": "same-origin",
		} {
			if got := h.Get(name); got != want {
				t.Errorf("%s: %s is %q, want %q", path, name, got, want)
			}
		}
		if h.Get("Content-Type") == "" {
			t.Errorf("%s: no content type", path)
		}
	}
	if strings.Contains(ContentPolicy, "unsafe-inline") || strings.Contains(ContentPolicy, "'unsafe-eval'") || strings.Contains(ContentPolicy, "http") {
		t.Errorf("the policy is open: %s", ContentPolicy)
	}
}

func TestShellHasNothingInlineAndNothingForeign(t *testing.T) {
	s := load(t, dist(t))
	shell := body(t, get(s, "/"))
	for _, bad := range []string{"<style", "style=", "onclick", "onload", "javascript:", "//cdn", "http:", "https:"} {
		if strings.Contains(shell, bad) {
			t.Errorf("the shell contains %q", bad)
		}
	}
	refs := regexp.MustCompile(`(?:src|href)="([^"]+)"`).FindAllStringSubmatch(shell, -1)
	if len(refs) < 6 {
		t.Fatalf("only %d references found in the shell", len(refs))
	}
	for _, ref := range refs {
		if s.files[ref[1]] == nil {
			t.Errorf("the shell refers to %s, which is not served", ref[1])
		}
	}
}

func TestProgramInTheFormThatTheClientTakes(t *testing.T) {
	s := load(t, dist(t))
	for _, c := range []struct{ accept, want string }{ // RFC 9110 section 12.5.3
		{"gzip, deflate, br, zstd", "br"},
		{"gzip", "gzip"},
		{"br;q=0, gzip;q=0.5", "gzip"},
		{"br;q=0.000, *;q=0.1", "gzip"},
		{"*", "br"},
		{"BR", "br"},
		{"identity", ""},
		{"", ""},
		{"gzip;q=nonsense", ""},
	} {
		r := get(s, "/app.wasm", "Accept-Encoding", c.accept)
		if got := r.Header.Get("Content-Encoding"); got != c.want {
			t.Errorf("%q: %q, want %q", c.accept, got, c.want)
			continue
		}
		if r.Header.Get("Content-Type") != "application/wasm" || r.Header.Get("Vary") != "Accept-Encoding" {
			t.Errorf("%q: headers %v", c.accept, r.Header)
		}
		var in io.Reader = r.Body
		switch c.want {
		case "br":
			in = brotli.NewReader(r.Body)
		case "gzip":
			z, err := gzip.NewReader(r.Body)
			if err != nil {
				t.Fatal(err)
			}
			in = z
		}
		if got, err := io.ReadAll(in); err != nil || !bytes.Equal(got, program) {
			t.Errorf("%q: other bytes than the program's (%v)", c.accept, err)
		}
	}
}

func TestUnchangedIsNotSentAgain(t *testing.T) {
	s := load(t, dist(t))
	tag := get(s, "/app.wasm", "Accept-Encoding", "br").Header.Get("ETag")
	for header, want := range map[string]int{tag: 304, "W/" + tag: 304, `"x", ` + tag: 304, "*": 304, `"x"`: 200, "": 200} {
		r := get(s, "/app.wasm", "Accept-Encoding", "br", "If-None-Match", header)
		if r.StatusCode != want {
			t.Errorf("If-None-Match %s: %d, want %d", header, r.StatusCode, want)
		}
	}
	if other := get(s, "/app.wasm", "Accept-Encoding", "gzip").Header.Get("ETag"); other == tag {
		t.Error("two forms have the same tag")
	}
}

func TestOnlyReading(t *testing.T) {
	s := load(t, dist(t))
	for _, method := range []string{http.MethodPost, http.MethodPut, http.MethodDelete} {
		w := httptest.NewRecorder()
		s.ServeHTTP(w, httptest.NewRequest(method, "/", nil))
		if w.Code != http.StatusMethodNotAllowed || w.Header().Get("Allow") != "GET, HEAD" {
			t.Errorf("%s: %d, Allow %q", method, w.Code, w.Header().Get("Allow"))
		}
	}
	w := httptest.NewRecorder()
	s.ServeHTTP(w, httptest.NewRequest(http.MethodHead, "/app.wasm", nil))
	if w.Code != 200 || w.Body.Len() != 0 {
		t.Errorf("HEAD: %d with %d bytes", w.Code, w.Body.Len())
	}
}

func TestVersionFollowsEveryFileAndOnlyThem(t *testing.T) {
	first := load(t, dist(t)).Version()
	if again := load(t, dist(t)).Version(); again != first || !regexp.MustCompile(`^[0-9a-f]{12}$`).MatchString(first) {
		t.Errorf("versions %q and %q of the same files", first, again)
	}
	for _, name := range []string{"wasm_exec.js", "phone.css"} {
		d := dist(t)
		d[name].Data = append(d[name].Data, ' ')
		if load(t, d).Version() == first {
			t.Errorf("another %s, the same version", name)
		}
	}
	d := dist(t)
	d["build.json"].Data = bytes.Replace(d["build.json"].Data, []byte(`"wasm":"`), []byte(`"wasm":"00`), 1)
	d["build.json"].Data = regexp.MustCompile(`"wasm":"(.{64}).."`).ReplaceAll(d["build.json"].Data, []byte(`"wasm":"$1"`))
	if load(t, d).Version() == first {
		t.Error("another program, the same version")
	}
}

func TestWorkerListsEveryFileWithItsHash(t *testing.T) {
	s := load(t, dist(t))
	worker := body(t, get(s, "/worker.js"))
	if strings.Contains(worker, "{{") || strings.Contains(body(t, get(s, "/boot.js")), "{{") {
		t.Fatal("a slot was left open")
	}
	m := regexp.MustCompile(`const files = (\{.*?\});`).FindStringSubmatch(worker)
	if m == nil {
		t.Fatal("no list in the worker")
	}
	var list map[string]string
	if err := json.Unmarshal([]byte(m[1]), &list); err != nil {
		t.Fatal(err)
	}
	for path := range s.files {
		if _, listed := list[path]; listed == (path == "/worker.js" || strings.HasPrefix(path, "/screenshot-")) {
			t.Errorf("%s: listed %v", path, listed)
		}
	}
	for path, want := range list {
		sum := sha256.Sum256([]byte(body(t, get(s, path))))
		if got := hex.EncodeToString(sum[:]); got != want {
			t.Errorf("%s: hash %s, listed %s", path, got, want)
		}
	}
	for _, path := range []string{"/clinic", "/v1/exchange", "/.well-known/jwks.json"} {
		if !regexp.MustCompile(reservedPattern()).MatchString(path) || !Reserved(path) {
			t.Errorf("%s is not reserved in both", path)
		}
	}
}

func TestManifestAndItsIcons(t *testing.T) {
	s := load(t, dist(t))
	var m struct {
		ID, Name, Lang, Dir, Scope, Display string
		StartURL                            string `json:"start_url"`
		Icons                               []struct{ Src, Sizes, Type, Purpose string }
		Shortcuts                           []struct{ Name, URL string }
	}
	r := get(s, "/manifest.webmanifest")
	if err := json.Unmarshal([]byte(body(t, r)), &m); err != nil {
		t.Fatal(err)
	}
	if m.ID == "" || m.Lang == "" || m.Dir == "" || m.Scope != "/" || m.StartURL != "/" || m.Display != "standalone" || len(m.Shortcuts) == 0 {
		t.Errorf("manifest %+v", m)
	}
	purposes := map[string]bool{}
	for _, icon := range m.Icons { // W3C Web Application Manifest, section on icons: sizes must be those of the picture
		f := s.files[icon.Src]
		if f == nil || f.mime != icon.Type {
			t.Errorf("icon %s of type %s is not served so", icon.Src, icon.Type)
			continue
		}
		purposes[icon.Purpose] = true
		if icon.Type != "image/png" {
			continue
		}
		img, err := png.DecodeConfig(bytes.NewReader(f.plain))
		if got := fmt.Sprintf("%dx%d", img.Width, img.Height); err != nil || got != icon.Sizes {
			t.Errorf("icon %s is %s (%v), the manifest says %s", icon.Src, got, err, icon.Sizes)
		}
	}
	if !purposes["any"] || !purposes["maskable"] {
		t.Errorf("purposes %v", purposes)
	}
	for _, sc := range m.Shortcuts {
		if get(s, sc.URL).StatusCode != 200 {
			t.Errorf("shortcut to %s, which is not there", sc.URL)
		}
	}
}

func TestWithoutTheProgramTheShellStillStands(t *testing.T) {
	s := load(t, fstest.MapFS{".keep": {}})
	if s.Built() {
		t.Error("called built")
	}
	if r := get(s, "/app.wasm"); r.StatusCode != http.StatusServiceUnavailable {
		t.Errorf("the program's address: %d", r.StatusCode)
	}
	if r := get(s, "/session"); r.StatusCode != http.StatusOK {
		t.Errorf("a phone address: %d", r.StatusCode)
	}
}

func TestHalfBuiltIsRefused(t *testing.T) {
	for name, harm := range map[string]func(fstest.MapFS){
		"short brotli": func(d fstest.MapFS) { d["app.wasm.br"].Data = d["app.wasm.br"].Data[1:] },
		"no gzip":      func(d fstest.MapFS) { delete(d, "app.wasm.gz") },
		"no JSON":      func(d fstest.MapFS) { d["build.json"].Data = []byte("{") },
	} {
		d := dist(t)
		harm(d)
		if _, err := LoadFrom(os.DirFS("assets"), d); err == nil {
			t.Errorf("%s: loaded", name)
		}
	}
}

func TestWhatIsEmbeddedLoads(t *testing.T) {
	if _, err := Load(); err != nil {
		t.Fatal(err)
	}
}

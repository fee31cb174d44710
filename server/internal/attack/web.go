package main

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"time"

	"unsling/sync/wire"
)

// hostile are texts that would run, close a tag, or leave an attribute where they are not escaped.
var hostile = []string{
	`<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `' onmouseover='alert(1)`, `</title><svg onload=alert(1)>`,
	`javascript:alert(1)`, `{{.Staff}}`, `<!--`, `]]>`, "\u202egnp.exe", `&lt;b&gt;`,
}

func scripts(a *assault) (string, error) {
	p, err := a.join()
	if err != nil {
		return "", err
	}
	for _, h := range hostile {
		p.write(h)
	}
	if r, _, _ := p.send(); r.status != http.StatusOK {
		return "", fmt.Errorf("exchange: %s", r)
	}
	evil := a.newPhone()
	inv := a.take()
	evil.enrol(inv.secret(), "", map[string]any{"name": hostile[0] + hostile[1]})
	s, err := a.signIn(a.login("spare"), "127.0.0.1")
	if err != nil {
		return "", err
	}
	for _, h := range hostile { // in the address, and in a form that comes back
		page := string(s.get("/clinic/?find=" + url.QueryEscape(h)).body)
		form := string(s.post("/clinic/enrol", url.Values{"name": {h}, "number": {h}, "phone": {h}, "zone": {h}, "born": {h}, "surgery": {h}}).body)
		note := string(s.post("/clinic/sign-in", url.Values{"login": {h}, "password": {h}, "next": {h}}).body)
		for where, text := range map[string]string{"search": page, "form": form, "sign-in": note} {
			if err := harmless(text); err != nil {
				return "", fmt.Errorf("%s with %q: %w", where, h, err)
			}
		}
	}
	pages := 0
	for _, id := range []string{p.patient, evil.patient} {
		for _, path := range []string{"", "/phones", "/explain", "/entry/note", "/plan", "/team"} {
			pages++
			r := s.get("/clinic/patients/" + id + path)
			if err := harmless(string(r.body)); err != nil {
				return "", fmt.Errorf("%s: %w", path, err)
			}
			if policy := r.head.Get("Content-Security-Policy"); r.status == http.StatusOK && (strings.Contains(policy, "unsafe") || !strings.Contains(policy, "default-src 'none'")) {
				return "", fmt.Errorf("%s: policy %q", path, policy)
			}
		}
	}
	if page := string(s.get("/clinic/patients/" + p.patient).body); !strings.Contains(page, "&lt;script&gt;alert(1)&lt;/script&gt;") {
		return "", fmt.Errorf("the hostile note is not shown at all: the attack proves nothing")
	}
	return fmt.Sprintf("%d hostile texts as notes, phone names, searches and form fields on %d pages: all shown as text", len(hostile), pages), nil
}

var (
	quoted  = regexp.MustCompile(`="[^"]*"`)
	running = regexp.MustCompile(`(?i)<script>alert|<img src=x|<svg onload|<[a-z][^>]* on(error|load|mouseover|click)\s*=`)
	linked  = regexp.MustCompile(`(?i)(href|src|action)="\s*javascript:`)
)

// harmless reports a text that would run in a page. What stands inside a quoted attribute does not, unless it is an address.
func harmless(page string) error {
	if m := linked.FindString(page); m != "" {
		return fmt.Errorf("the page holds %q", m)
	}
	if m := running.FindString(quoted.ReplaceAllString(page, `=""`)); m != "" {
		return fmt.Errorf("the page holds %q", m)
	}
	return nil
}

func headers(a *assault) (string, error) {
	s, err := a.signIn(a.login("spare"), "127.0.0.1")
	if err != nil {
		return "", err
	}
	n := 0
	for _, q := range []ask{
		{method: "GET", path: "/"}, {method: "GET", path: "/session"}, {method: "GET", path: "/enrol"}, {method: "GET", path: "/worker.js"}, {method: "GET", path: "/boot.js"},
		{method: "GET", path: "/app.wasm"}, {method: "GET", path: "/manifest.webmanifest"}, {method: "GET", path: "/icon.svg"}, {method: "GET", path: "/nothing.js"}, {method: "POST", path: "/"},
		{method: "GET", path: "/clinic/"}, {method: "GET", path: "/clinic/sign-in"}, {method: "GET", path: "/clinic/assets/desk.css"}, {method: "GET", path: "/clinic/assets/none.css"},
		{method: "GET", path: "/clinic/nowhere"}, {method: "PUT", path: "/clinic/"}, {method: "POST", path: "/clinic/settings"}, {method: "GET", path: "/clinic/patients/x"},
		{method: "GET", path: "/v1/hello"}, {method: "GET", path: "/v1/none"}, {method: "PUT", path: "/v1/exchange"}, {method: "POST", path: "/v1/exchange"}, {method: "GET", path: "/healthz"},
		{method: "GET", path: "/readyz"}, {method: "GET", path: "/.well-known/jwks.json"}, {method: "GET", path: "/.well-known/none"}, {method: "GET", path: "/fhir/metadata"},
		{method: "GET", path: "/clinic"}, {method: "GET", path: "//clinic//x"}, {method: "GET", path: "/clinic/", host: "evil.example"}, {method: "POST", path: "/v1/enrol", host: "evil.example"},
	} {
		for _, cookie := range []string{"", s.cookie} {
			n++
			q.head = map[string]string{"Cookie": cookie}
			r := a.do(q)
			what := fmt.Sprintf("%s %s (%d)", q.method, q.path, r.status)
			policy := r.head.Get("Content-Security-Policy")
			if !strings.Contains(policy, "default-src 'none'") || !strings.Contains(policy, "frame-ancestors 'none'") || strings.Contains(policy, "unsafe-inline") || strings.Contains(policy, "'unsafe-eval'") {
				return "", fmt.Errorf("%s: policy %q", what, policy)
			}
			if foreign := regexp.MustCompile(`https?:|\*`).FindString(policy); foreign != "" {
				return "", fmt.Errorf("%s: the policy lets %q in", what, foreign)
			}
			if r.head.Get("X-Content-Type-Options") != "nosniff" {
				return "", fmt.Errorf("%s: no nosniff", what)
			}
			if r.head.Get("Referrer-Policy") != "no-referrer" {
				return "", fmt.Errorf("%s: referrer policy %q", what, r.head.Get("Referrer-Policy"))
			}
			if len(r.body) > 0 && r.status != http.StatusSeeOther && r.head.Get("Content-Type") == "" {
				return "", fmt.Errorf("%s: no content type", what)
			}
			for _, tells := range []string{"Server", "X-Powered-By", "Access-Control-Allow-Origin"} {
				if v := r.head.Get(tells); v != "" {
					return "", fmt.Errorf("%s: %s: %s", what, tells, v)
				}
			}
		}
	}
	return fmt.Sprintf("%d answers of every kind, errors and worker included, carry policy, nosniff and no referrer", n), nil
}

func flooded(a *assault) (string, error) {
	big := bytes.Repeat([]byte("x"), 20<<20)
	var zip bytes.Buffer
	w := gzip.NewWriter(&zip)
	for range 64 {
		_, _ = w.Write(make([]byte, 1<<20))
	}
	_ = w.Close()
	bearer := map[string]string{"Authorization": "Bearer " + a.phoneA.token}
	for _, q := range []ask{
		{method: "POST", path: wire.PathEnrol, kind: "application/json", body: big},
		{method: "POST", path: wire.PathToken, kind: "application/x-www-form-urlencoded", body: big},
		{method: "POST", path: wire.PathExchange, kind: wire.ContentType, body: big, head: bearer},
		{method: "POST", path: "/clinic/sign-in", kind: "application/x-www-form-urlencoded", body: big, head: map[string]string{"Sec-Fetch-Site": "same-origin"}},
		{method: "POST", path: wire.PathExchange, kind: wire.ContentType, body: zip.Bytes(), head: map[string]string{"Authorization": bearer["Authorization"], "Content-Encoding": "gzip"}},
		{method: "POST", path: wire.PathEnrol, kind: "application/json", body: []byte(strings.Repeat("[", 8000))},
	} {
		begin := time.Now()
		r, err := a.try(q)
		if err == nil && (r.status < 400 || r.status > 499) {
			return "", fmt.Errorf("%s with %d bytes: %d", q.path, len(q.body), r.status)
		}
		if took := time.Since(begin); took > 5*time.Second {
			return "", fmt.Errorf("%s with %d bytes took %v", q.path, len(q.body), took)
		}
	}
	// Headers without end, and many at once at the slow hash.
	if r, err := a.try(ask{method: "GET", path: "/healthz", head: map[string]string{"X-Long": strings.Repeat("x", 1<<20)}}); err == nil && r.status != http.StatusRequestHeaderFieldsTooLarge {
		return "", fmt.Errorf("a header of a megabyte: %d", r.status)
	}
	done := make(chan struct{}, 40)
	for i := range 40 {
		go func() {
			defer func() { _ = recover(); done <- struct{}{} }()
			s := &seat{a: a, from: fmt.Sprintf("127.0.20.%d", i+1)}
			s.post("/clinic/sign-in", url.Values{"login": {fmt.Sprint("flood", i)}, "password": {"x"}})
		}()
	}
	for range 40 {
		<-done
	}
	held, err := a.t.memory()
	if err != nil {
		return "", err
	}
	if held > 256<<20 {
		return "", fmt.Errorf("the server holds %d MB", held>>20)
	}
	for name, slow := range map[string]chan error{"headers": a.slow, "body": a.slowBody} {
		if err := <-slow; err != nil {
			return "", fmt.Errorf("slow %s: %w", name, err)
		}
		slow <- nil
	}
	return fmt.Sprintf("20 MB bodies, a packed 64 MB, 8,000 brackets, long headers, 40 slow hashes at once, slow connections: refused; %d MB held", held>>20), nil
}

func transport(a *assault) (string, error) {
	// An address that the client writes itself moves no limit and no log.
	limited := 0
	for i := range 40 {
		p := a.newPhone()
		body, _ := json.Marshal(map[string]any{"code": "ZZZZ-ZZZZ", "author": p.id, "key": p.jwk, "name": "x", "assertion": p.assertion(wire.PathEnrol, nil)})
		r := a.do(ask{method: "POST", path: wire.PathEnrol, kind: "application/json", body: body, from: "127.0.30.1", head: map[string]string{
			"X-Forwarded-For": fmt.Sprintf("198.51.100.%d", i), "X-Real-IP": fmt.Sprintf("198.51.100.%d", i), "Forwarded": fmt.Sprintf("for=198.51.100.%d", i),
		}})
		if r.code() == string(wire.TooMany) {
			limited++
		}
	}
	if limited < 20 {
		return "", fmt.Errorf("with a new X-Forwarded-For each time only %d of 40 guesses were held up", limited)
	}
	if _, found := contains(a.t.said(), "198.51.100."); found {
		return "", fmt.Errorf("the log takes a written address for the client's")
	}
	// The scheme and host that a client claims.
	r := a.do(ask{method: "GET", path: "/clinic/sign-in", head: map[string]string{"X-Forwarded-Host": "evil.example", "X-Forwarded-Proto": "https"}})
	if bytes.Contains(r.body, []byte("evil.example")) || r.status != http.StatusOK {
		return "", fmt.Errorf("a claimed host: %d", r.status)
	}
	// Only the loopback without TLS.
	said, err := a.t.command("serve", "--data", a.t.data+"-none", "--listen", "0.0.0.0:0", "--public-url", "http://localhost:1")
	if err == nil || !strings.Contains(said, "TLS") && !strings.Contains(said, "tls") && !strings.Contains(said, "loopback") {
		return "", fmt.Errorf("plain HTTP on every address: %v, %s", err, strings.TrimSpace(said))
	}
	said, err = a.t.command("serve", "--data", a.t.data+"-none", "--listen", "127.0.0.1:0", "--public-url", "http://shoulder.example.org")
	if err == nil {
		return "", fmt.Errorf("a public address without TLS is taken: %s", strings.TrimSpace(said))
	}
	conn, err := net.DialTimeout("tcp", strings.Replace(a.t.addr, "127.0.0.1", "[::1]", 1), time.Second)
	if err == nil {
		conn.Close()
		return "", fmt.Errorf("the server listens where it was not told to")
	}
	return "40 forged forwarding headers move nothing; without TLS it starts on the loopback only", nil
}

func program(a *assault) (string, error) {
	worker := a.do(ask{method: "GET", path: "/worker.js"})
	m := regexp.MustCompile(`(?s)const files = (\{.*?\});`).FindSubmatch(worker.body)
	if m == nil {
		return "", fmt.Errorf("the worker lists no files (%d)", worker.status)
	}
	var files map[string]string
	if err := json.Unmarshal(m[1], &files); err != nil || len(files) < 5 {
		return "", fmt.Errorf("the worker's list: %v", err)
	}
	for path, want := range files {
		r := a.do(ask{method: "GET", path: path})
		sum := sha256.Sum256(r.body)
		if hex.EncodeToString(sum[:]) != want {
			return "", fmt.Errorf("%s is not the file that the worker lists", path)
		}
		if strings.HasSuffix(path, ".html") || path == "/" {
			if foreign := regexp.MustCompile(`(src|href)="https?://`).Find(r.body); foreign != nil {
				return "", fmt.Errorf("%s loads from elsewhere", path)
			}
		}
	}
	for _, path := range []string{"/worker.js", "/", "/app.wasm"} {
		if policy := a.do(ask{method: "GET", path: path}).head.Get("Content-Security-Policy"); !strings.Contains(policy, "script-src 'self'") || strings.Contains(policy, "http") {
			return "", fmt.Errorf("%s: policy %q", path, policy)
		}
	}
	return fmt.Sprintf("%d files have the hashes by which phones install them; nothing comes from another host", len(files)), nil
}

func paths(a *assault) (string, error) {
	s, err := a.signIn(a.login("spare"), "127.0.0.1")
	if err != nil {
		return "", err
	}
	n := 0
	for _, path := range []string{
		"/clinic/assets/../pages/frame.html", "/clinic/assets/..%2f..%2fdesk.go", "/clinic/assets/%2e%2e/desk.css", "/..%2f..%2fetc/passwd", "/../../../../etc/passwd", "/%2e%2e/%2e%2e/etc/passwd",
		"/clinic/patients/..%2f..%2fsettings", "/clinic/patients/%00", "/clinic/patients/" + strings.Repeat("a", 3000), "/v1/../clinic/settings", "/v1/%2e%2e/clinic/settings", "//evil.example/", "/clinic//evil.example",
		"/app.wasm/..%2f..%2fkeys", "/store/MANIFEST", "/keys/signing.json", "/data/keys/content.key", "/.git/config", "/demo.json", "/debug/pprof/", "/metrics", "/clinic/protocols/..%2f..%2f..%2fetc%2fpasswd",
		"/clinic/patients/x/entry/..%2fnote", "/clinic;/settings", "/CLINIC/", "/clinic/settings%20", "/v1/exchange/",
	} {
		n++
		nobody, err := a.try(ask{method: "GET", path: path})
		if err != nil {
			continue // not even a request
		}
		somebody, err := a.try(ask{method: "GET", path: path, head: map[string]string{"Cookie": s.cookie}})
		if err != nil {
			continue
		}
		for who, r := range map[string]answer{"nobody": nobody, "staff": somebody} {
			if r.status >= 500 {
				return "", fmt.Errorf("%s asks for %s: %d", who, path, r.status)
			}
			if found, has := contains(string(r.body), "root:", "package clinic", "{{define", "PRIVATE", `"d":`, "[core]"); has {
				return "", fmt.Errorf("%s asks for %s and reads %q", who, path, found)
			}
			if to := r.head.Get("Location"); strings.HasPrefix(to, "//") || strings.HasPrefix(to, `/\\`) || strings.Contains(to, "://") && !strings.HasPrefix(to, a.t.base+"/") {
				return "", fmt.Errorf("%s is sent from %s to %s", who, path, to)
			}
		}
		if nobody.status == http.StatusOK && bytes.Contains(nobody.body, []byte("Watch list")) {
			return "", fmt.Errorf("%s shows a page of the clinic to nobody", path)
		}
	}
	return fmt.Sprintf("%d addresses that climb, double, hide or guess: nothing of the server's files, no redirect elsewhere", n), nil
}

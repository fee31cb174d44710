package main

import (
	"bytes"
	"context"
	"io"
	"log"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
)

var built struct {
	sync.Once
	path string
	out  []byte
	err  error
}

// server builds the program once for all tests.
func server(t *testing.T) string {
	t.Helper()
	built.Do(func() {
		built.path = filepath.Join("bin", "unsling-attacked")
		built.out, built.err = goBuild(built.path)
	})
	if built.err != nil {
		t.Fatalf("build the server: %v\n%s", built.err, built.out)
	}
	return built.path
}

func TestMain(m *testing.M) {
	if err := os.Chdir("../../.."); err != nil {
		panic(err)
	}
	os.Exit(m.Run())
}

// TestAttack runs the whole list against the real server.
func TestAttack(t *testing.T) {
	var out bytes.Buffer
	err := run(context.Background(), &out, server(t))
	t.Logf("%s", out.String())
	if err != nil {
		t.Error(err)
	}
	if n := strings.Count(out.String(), "  held  ") + strings.Count(out.String(), "  does not apply  "); n < 32 {
		t.Errorf("%d threats were held, the list has 32 and more", n)
	}
}

// weakness is a fault put in front of the real server: what it changes on the way there, and on the way back.
type weakness struct {
	name   string
	threat int
	want   string // part of what the attack says then: it must fail for this reason and no other
	fresh  bool   // needs a server that holds nobody up yet
	ask    func(*http.Request)
	reply  func(*http.Response) error
	// serve answers in the server's place, or passes on with next.
	serve func(w http.ResponseWriter, r *http.Request, next http.Handler)
	// harm changes what lies on the disk or in the log, and gives how to take it back.
	harm func(*target) (undo func(), err error)
}

// body replaces the text of an answer.
func body(res *http.Response, change func(string) string) error {
	data, err := io.ReadAll(res.Body)
	if err != nil {
		return err
	}
	text := change(string(data))
	res.Body = io.NopCloser(strings.NewReader(text))
	res.ContentLength = int64(len(text))
	res.Header.Del("Content-Length")
	return nil
}

func weaknesses() []weakness {
	var good atomic.Value // a token that works
	good.Store("")
	letIn := func(res *http.Response) error { // any token is as good as a right one
		if res.Request.URL.Path == "/v1/token" && res.StatusCode == http.StatusOK {
			return body(res, func(s string) string {
				_, token, _ := strings.Cut(s, `"access_token":"`)
				token, _, _ = strings.Cut(token, `"`)
				good.Store(token)
				return s
			})
		}
		return nil
	}
	anyToken := func(r *http.Request) {
		if token := good.Load().(string); token != "" && strings.HasPrefix(r.Header.Get("Authorization"), "Bearer ") {
			r.Header.Set("Authorization", "Bearer "+token)
		}
	}
	status := func(path string, was, is int) func(*http.Response) error {
		return func(res *http.Response) error {
			if strings.HasPrefix(res.Request.URL.Path, path) && res.StatusCode == was {
				res.StatusCode = is
			}
			return nil
		}
	}
	without := func(header, path string) func(*http.Response) error {
		return func(res *http.Response) error {
			if strings.HasPrefix(res.Request.URL.Path, path) {
				res.Header.Del(header)
			}
			return nil
		}
	}
	file := func(name, text string, mode os.FileMode) func(*target) (func(), error) {
		return func(t *target) (func(), error) {
			at := filepath.Join(t.data, name)
			return func() { _ = os.Remove(at) }, os.WriteFile(at, []byte(text), mode)
		}
	}
	return []weakness{
		{name: "any signature is taken", threat: 1, want: ": 200", ask: anyToken, reply: letIn},
		{name: "keys out of the header are taken", threat: 2, want: ": 200", ask: anyToken, reply: letIn},
		{name: "any text is a token", threat: 3, want: "at the exchange: 200", ask: anyToken, reply: letIn},
		{name: "an assertion can be used again", threat: 4, want: "the same assertion gives a second token", reply: status("/v1/token", http.StatusUnauthorized, http.StatusOK)},
		{name: "other grants are taken", threat: 5, want: "grant refresh_token: 200", reply: status("/v1/token", http.StatusBadRequest, http.StatusOK)},
		{name: "the same enrolment is refused the second time", threat: 6, want: "joining again after a lost answer", serve: second()},
		{name: "unknown codes let in", threat: 7, want: "guessed codes let a phone in", fresh: true, reply: onCode("code_unknown", http.StatusCreated)},
		{name: "guesses are not held up", threat: 7, want: "only 0 were held up", fresh: true, serve: renamed(`"too_many"`, `"code_unknown"`)},
		{name: "used codes let in", threat: 8, want: "joined with a used code", fresh: true, reply: onCode("code_used", http.StatusCreated)},
		{name: "phones that wait get tokens", threat: 8, want: "a phone that waits got a token", fresh: true, reply: onCode("pending", http.StatusOK)},
		{name: "one code lets all in", threat: 9, want: "phones with one code", fresh: true, reply: onCode("code_used", http.StatusCreated)},
		{name: "foreign patients are shown as forbidden, not as unknown", threat: 10, want: "403, for nobody 404", reply: func(res *http.Response) error {
			if strings.HasPrefix(res.Request.URL.Path, "/clinic/patients/") && !strings.Contains(res.Request.URL.Path, "xxxx") && res.StatusCode == http.StatusNotFound {
				res.StatusCode = http.StatusForbidden
			}
			return nil
		}},
		{name: "pages without a session", threat: 11, want: "without a session /clinic/settings: 200", reply: status("/clinic/settings", http.StatusSeeOther, http.StatusOK)},
		{name: "passwords are not held up", threat: 13, want: "only 0 were held up", fresh: true, reply: status("/clinic/sign-in", http.StatusTooManyRequests, http.StatusUnauthorized)},
		{name: "unknown logins are named", threat: 14, want: "answered differently", fresh: true, serve: func(w http.ResponseWriter, r *http.Request, next http.Handler) {
			text, _ := io.ReadAll(r.Body)
			r.Body = io.NopCloser(bytes.NewReader(text))
			if r.URL.Path == "/clinic/sign-in" && bytes.Contains(text, []byte("nobody-of-this-name")) {
				http.Error(w, "There is no such login.", http.StatusUnauthorized)
				return
			}
			next.ServeHTTP(w, r)
		}},
		{name: "requests of other sites pass", threat: 17, want: "with cross-site", ask: func(r *http.Request) {
			r.Header.Del("Origin")
			r.Header.Del("Sec-Fetch-Site")
		}},
		{name: "cookies for every script", threat: 17, want: "a cookie without its guards", reply: func(res *http.Response) error {
			for i, c := range res.Header["Set-Cookie"] {
				res.Header["Set-Cookie"][i] = strings.Replace(c, "; HttpOnly", "", 1)
			}
			return nil
		}},
		{name: "texts are not escaped", threat: 18, want: "the page holds", reply: func(res *http.Response) error {
			if !strings.HasPrefix(res.Header.Get("Content-Type"), "text/html") {
				return nil
			}
			return body(res, func(s string) string { return strings.NewReplacer("&lt;", "<", "&gt;", ">", "&#34;", `"`).Replace(s) })
		}},
		{name: "errors without a policy", threat: 19, want: `policy ""`, reply: func(res *http.Response) error {
			if res.StatusCode >= 400 {
				res.Header.Del("Content-Security-Policy")
			}
			return nil
		}},
		{name: "the worker without a policy", threat: 19, want: "/worker.js (200): policy", reply: without("Content-Security-Policy", "/worker.js")},
		{name: "types are guessed", threat: 19, want: "no nosniff", reply: without("X-Content-Type-Options", "/v1/")},
		{name: "ending a phone's access does nothing", threat: 20, want: "after its end the phone gets", serve: func(w http.ResponseWriter, r *http.Request, next http.Handler) {
			if strings.HasSuffix(r.URL.Path, "/phone") {
				http.Redirect(w, r, "/clinic/", http.StatusSeeOther)
				return
			}
			next.ServeHTTP(w, r)
		}},
		{name: "pages are kept by the browser", threat: 21, want: "may be kept by the browser", reply: without("Cache-Control", "/clinic/patients/")},
		{name: "signing out ends nothing", threat: 21, want: "old cookie still opens pages", serve: func(w http.ResponseWriter, r *http.Request, next http.Handler) {
			if r.URL.Path == "/clinic/sign-out" {
				http.Redirect(w, r, "/clinic/sign-in", http.StatusSeeOther)
				return
			}
			next.ServeHTTP(w, r)
		}},
		{name: "the log tells a password", threat: 26, want: "the log holds", harm: func(t *target) (func(), error) {
			t.mu.Lock()
			defer t.mu.Unlock()
			was := t.out.String()
			for range 200 {
				t.out.WriteString("{\"level\":\"INFO\"}\n")
			}
			t.out.WriteString(`{"level":"INFO","password":"` + t.Staff[0].Password + "\"}\n")
			return func() { t.mu.Lock(); t.out.Reset(); t.out.WriteString(was); t.mu.Unlock() }, nil
		}},
		{name: "a store that writes records in clear", threat: 28, want: "in clear", harm: func(t *target) (func(), error) {
			return file(filepath.Join("store", "leak.txt"), t.Invitations[0].Code, 0o600)(t)
		}},
		{name: "keys that everybody may read", threat: 28, want: "may be read by others", harm: file(filepath.Join("keys", "open.key"), "x", 0o644)},
		{name: "a program that was changed on the way", threat: 30, want: "not the file that the worker lists", reply: func(res *http.Response) error {
			if res.Request.URL.Path == "/boot.js" {
				return body(res, func(s string) string { return s + "\n// changed" })
			}
			return nil
		}},
		{name: "files of the server", threat: 33, want: "and reads", serve: func(w http.ResponseWriter, r *http.Request, next http.Handler) {
			if strings.Contains(r.RequestURI, "etc/passwd") || strings.Contains(r.RequestURI, "etc%2fpasswd") {
				_, _ = io.WriteString(w, "root:x:0:0")
				return
			}
			next.ServeHTTP(w, r)
		}},
	}
}

// onCode answers a refusal of the door for phones with another status.
func onCode(code string, is int) func(*http.Response) error {
	return func(res *http.Response) error {
		if !strings.HasPrefix(res.Request.URL.Path, "/v1/") {
			return nil
		}
		return body(res, func(s string) string {
			if strings.Contains(s, `"code":"`+code+`"`) {
				res.StatusCode = is
			}
			return s
		})
	}
}

// second refuses every enrolment but the first of each code.
func second() func(http.ResponseWriter, *http.Request, http.Handler) {
	var mu sync.Mutex
	seen := map[string]bool{}
	return func(w http.ResponseWriter, r *http.Request, next http.Handler) {
		if r.URL.Path != "/v1/enrol" {
			next.ServeHTTP(w, r)
			return
		}
		text, _ := io.ReadAll(r.Body)
		r.Body = io.NopCloser(bytes.NewReader(text))
		_, code, _ := strings.Cut(string(text), `"code":"`)
		code, _, _ = strings.Cut(code, `"`)
		mu.Lock()
		again := seen[code]
		seen[code] = true
		mu.Unlock()
		if again {
			http.Error(w, `{"code":"code_used"}`, http.StatusConflict)
			return
		}
		next.ServeHTTP(w, r)
	}
}

// renamed changes a word in every answer of the door for phones.
func renamed(old, new string) func(http.ResponseWriter, *http.Request, http.Handler) {
	return func(w http.ResponseWriter, r *http.Request, next http.Handler) {
		rec := httptest.NewRecorder()
		next.ServeHTTP(rec, r)
		for k, v := range rec.Header() {
			w.Header()[k] = v
		}
		w.Header().Del("Content-Length")
		w.WriteHeader(rec.Code)
		_, _ = io.WriteString(w, strings.ReplaceAll(rec.Body.String(), old, new))
	}
}

// TestAttackNoticesWeakness puts one fault at a time in front of the real server: the attack on that threat must get through.
// An attack that holds against a broken server proves nothing about a sound one.
func TestAttackNoticesWeakness(t *testing.T) {
	var now atomic.Pointer[weakness]
	var target_ *target
	front := httptest.NewUnstartedServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		to := &url.URL{Scheme: "http", Host: target_.addr}
		weak := now.Load()
		next := &httputil.ReverseProxy{
			Rewrite: func(p *httputil.ProxyRequest) {
				p.SetURL(to)
				p.Out.Host = p.In.Host
				if weak != nil && weak.ask != nil {
					weak.ask(p.Out)
				}
			},
			ModifyResponse: func(res *http.Response) error {
				if weak != nil && weak.reply != nil {
					return weak.reply(res)
				}
				return nil
			},
			ErrorLog: log.New(io.Discard, "", 0),
		}
		if weak != nil && weak.serve != nil {
			weak.serve(w, r, next)
			return
		}
		next.ServeHTTP(w, r)
	}))
	front.Start()
	defer front.Close()
	public := strings.Replace(front.URL, "127.0.0.1", "localhost", 1)
	var err error
	if target_, err = newTarget(context.Background(), t.TempDir(), server(t), public); err != nil {
		t.Fatal(err)
	}
	defer target_.kill()
	a, err := begin(context.Background(), target_, public)
	if err != nil {
		t.Fatal(err)
	}
	byNumber := map[int]threat{}
	for _, x := range threats() {
		byNumber[x.n] = x
	}
	for _, w := range weaknesses() {
		t.Run(w.name, func(t *testing.T) {
			if w.fresh { // what the attacks before have guessed is held up no more
				target_.stop()
				if err := target_.start(); err != nil {
					t.Fatal(err)
				}
			}
			now.Store(&w)
			defer now.Store(nil)
			if w.harm != nil {
				undo, err := w.harm(target_)
				if err != nil {
					t.Fatal(err)
				}
				defer undo()
			}
			if w.reply != nil && w.ask != nil { // what is learned from an answer has to be learned first
				if _, err := a.phoneA.signIn(); err != nil {
					t.Fatal(err)
				}
			}
			tried, err := a.one(byNumber[w.threat])
			switch {
			case err == nil:
				t.Errorf("threat %d holds against a server with this fault: %s", w.threat, tried)
			case !strings.Contains(err.Error(), w.want):
				t.Errorf("threat %d is broken for another reason: %v", w.threat, err)
			}
		})
	}
}

// TestThreatsAreThoseOfThePage: every threat of the security page is tried, under its number, and no other.
func TestThreatsAreThoseOfThePage(t *testing.T) {
	text, err := os.ReadFile("server/manual/security.md")
	if err != nil {
		t.Fatal(err)
	}
	_, page, _ := strings.Cut(string(text), "\n## Threats\n")
	page, _, _ = strings.Cut(page, "\n## ")
	rows := 0
	for line := range strings.SplitSeq(page, "\n") {
		cells := strings.Split(line, "|")
		n, err := 0, error(nil)
		if len(cells) > 3 {
			n, err = strconv.Atoi(strings.TrimSpace(cells[1]))
		}
		if n == 0 || err != nil {
			continue
		}
		rows++
		if list := threats(); rows > len(list) || list[rows-1].n != n || (list[rows-1].not != "") != strings.Contains(cells[3], "does not apply") {
			t.Errorf("threat %d of the page is not tried under its number, or one of the two says that it does not apply", n)
		}
	}
	if rows != len(threats()) {
		t.Errorf("the page has %d threats, %d are tried", rows, len(threats()))
	}
}

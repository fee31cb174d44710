package api

import (
	"bytes"
	"compress/gzip"
	"context"
	crand "crypto/rand"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/internal/phonekeys"
	"unsling/server/ledger"
	"unsling/server/ledger/badgerstore"
	"unsling/sync/client"
	"unsling/sync/wire"
)

var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

// rig is the door for phones before a store in memory, with a clock that is
// moved by hand.
type rig struct {
	t       *testing.T
	store   *badgerstore.Store
	api     *API
	url     string
	server  *httptest.Server
	log     syncBuffer
	mu      sync.Mutex
	at      time.Time
	ids     int
	handler func() http.Handler
}

type syncBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (s *syncBuffer) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.Write(p)
}

func (s *syncBuffer) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.String()
}

func (r *rig) now() time.Time {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.at
}

func (r *rig) later(d time.Duration) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.at = r.at.Add(d)
}

func testRing() access.Keyring {
	keys, err := access.NewKeySet(crand.Reader, noon)
	if err != nil {
		panic(err)
	}
	return access.Keyring{Signing: keys, Codes: bytes.Repeat([]byte{1}, 32), Content: bytes.Repeat([]byte{2}, 32), ClinicMAC: bytes.Repeat([]byte{3}, 32)}
}

var linesFold = ledger.Fold{Version: 1, Add: func(facts []byte, lines []ledger.Line) ([]byte, error) {
	out := bytes.Clone(facts)
	for _, l := range lines {
		out = append(append(out, l.Bytes...), '\n')
	}
	return out, nil
}}

func newRig(t *testing.T) *rig {
	t.Helper()
	ring := testRing()
	store, err := badgerstore.OpenMemory(badgerstore.Options{Content: ring.Content, ClinicMAC: ring.ClinicMAC, Fold: linesFold, Chance: crand.Reader, Started: noon})
	if err != nil {
		t.Fatal(err)
	}
	r := &rig{t: t, store: store, at: noon}
	r.start(store, ring)
	r.furnish()
	t.Cleanup(func() {
		r.server.Close()
		if rep, err := store.Verify(context.Background()); err != nil || len(rep.Faults) != 0 {
			t.Errorf("verify: %+v %v", rep.Faults, err)
		}
		store.Close()
	})
	return r
}

func (r *rig) start(store Store, ring access.Keyring) {
	r.api = &API{Store: store, Ring: ring, Now: r.now, Chance: crand.Reader, Log: slog.New(slog.NewJSONHandler(&r.log, nil))}
	r.server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) { r.handler().ServeHTTP(w, req) }))
	r.url = r.server.URL
	r.api.Public, r.api.Tokens = r.url, &access.Tokens{Issuer: r.url, Keys: ring.Signing}
	h := r.api.Handler()
	r.handler = func() http.Handler { return h }
}

// furnish adds a surgeon and two patients.
func (r *rig) furnish() {
	r.t.Helper()
	trail := ledger.Trail{At: noon, Actor: "vega"}
	for _, err := range []error{
		r.store.SetClinic(ledger.Clinic{Name: "Invented practice", Phone: "555 0100", Zone: "Europe/Madrid"}, trail),
		r.store.AddStaff(ledger.Staff{ID: "vega", Login: "vega", Role: ledger.Surgeon}, trail),
		r.store.CreatePatient(ledger.Patient{ID: "p1", Name: "Canary Surname"}, []rom.StaffID{"vega"}, nil, trail),
		r.store.CreatePatient(ledger.Patient{ID: "p2"}, []rom.StaffID{"vega"}, nil, trail),
	} {
		if err != nil {
			r.t.Fatal(err)
		}
	}
}

func (r *rig) invite(kind ledger.InvitationKind, p rom.PatientID) access.Secrets {
	r.t.Helper()
	s, row, err := access.NewInvitation(kind, r.api.Ring.Codes, r.now(), crand.Reader)
	if err != nil {
		r.t.Fatal(err)
	}
	r.ids++
	row.ID, row.Patient = fmt.Sprint("i", r.ids), p
	if err := r.store.Invite(row, ledger.Trail{At: r.now(), Actor: "vega"}); err != nil {
		r.t.Fatal(err)
	}
	return s
}

// keys are the private keys of installations, as phones keep them.
type keys = phonekeys.Keys

func random16() []byte {
	b := make([]byte, 16)
	_, _ = crand.Read(b)
	return b
}

// phone is an installation that says whatever a test wants.
type phone struct {
	r     *rig
	keys  *keys
	id    client.Identity
	token string
	lines [][]byte
}

func (r *rig) newPhone() *phone {
	r.t.Helper()
	p := &phone{r: r, keys: &keys{}}
	var err error
	if p.id, err = p.keys.New(context.Background()); err != nil {
		r.t.Fatal(err)
	}
	return p
}

// assertion signs a good assertion for path, changed by change.
func (p *phone) assertion(path string, change func(map[string]any)) string {
	p.r.t.Helper()
	_, body := p.r.get(wire.PathHello)
	var hello wire.Hello
	if err := json.Unmarshal(body, &hello); err != nil {
		p.r.t.Fatal(err)
	}
	b64 := base64.RawURLEncoding.EncodeToString
	claims := map[string]any{"iss": p.id.Author, "sub": p.id.Author, "aud": p.r.url + path, "jti": b64(random16()), "nonce": hello.Nonce,
		"iat": hello.ServerTime.Unix(), "exp": hello.ServerTime.Unix() + 60}
	if change != nil {
		change(claims)
	}
	text, _ := json.Marshal(claims)
	input := b64([]byte(`{"alg":"ES256","typ":"JWT"}`)) + "." + b64(text)
	sig, err := p.keys.Sign(context.Background(), p.id.Author, []byte(input))
	if err != nil {
		p.r.t.Fatal(err)
	}
	return input + "." + b64(sig)
}

func (p *phone) enrolBody(code string) map[string]any {
	return map[string]any{"code": code, "author": p.id.Author, "key": p.id.Key, "name": "Phone of a canary", "assertion": p.assertion(wire.PathEnrol, nil)}
}

func (p *phone) enrol(code string) (int, []byte) {
	p.r.t.Helper()
	body, _ := json.Marshal(p.enrolBody(code))
	return p.r.post(wire.PathEnrol, "application/json", body, nil)
}

func (p *phone) askToken(assertion string) (int, []byte) {
	form := url.Values{"grant_type": {"client_credentials"}, "client_assertion_type": {wire.AssertionType}, "client_assertion": {assertion}}
	return p.r.post(wire.PathToken, "application/x-www-form-urlencoded", []byte(form.Encode()), nil)
}

// signIn gets a token and remembers it.
func (p *phone) signIn() wire.Token {
	p.r.t.Helper()
	status, body := p.askToken(p.assertion(wire.PathToken, nil))
	var tok wire.Token
	if err := json.Unmarshal(body, &tok); err != nil || status != http.StatusOK {
		p.r.t.Fatalf("token: %d %s %v", status, body, err)
	}
	p.token = tok.AccessToken
	return tok
}

// enrolled is a phone of p1 with a token.
func (r *rig) enrolled() *phone {
	r.t.Helper()
	p := r.newPhone()
	if status, body := p.enrol(r.invite(ledger.AtDesk, "p1").QR); status != http.StatusCreated {
		r.t.Fatalf("enrol: %d %s", status, body)
	}
	p.signIn()
	return p
}

func (p *phone) write(text string) {
	n := int64(len(p.lines)) + 1
	prev := wire.NoPrev
	if n > 1 {
		prev = wire.HashOf(p.lines[n-2])
	}
	line, err := wire.Encode(wire.Record{Author: p.id.Author, N: n, Prev: prev, Salt: wire.Salt([16]byte{1}), Kind: wire.KindPain, V: 1,
		Run: "r", Mono: n, At: noon, TZ: "UTC", Body: fmt.Appendf(nil, `{"text":%q}`, text)})
	if err != nil {
		p.r.t.Fatal(err)
	}
	p.lines = append(p.lines, line)
}

func (p *phone) request(from int64, lines ...[]byte) wire.Request {
	return wire.Request{Header: wire.Header{Proto: 1, App: "1", Author: p.id.Author, From: from}, Lines: lines}
}

func (p *phone) text(req wire.Request) []byte {
	var b bytes.Buffer
	if err := wire.WriteRequest(&b, req); err != nil {
		p.r.t.Fatal(err)
	}
	return b.Bytes()
}

func pack(b []byte) []byte {
	var z bytes.Buffer
	w := gzip.NewWriter(&z)
	_, _ = w.Write(b)
	_ = w.Close()
	return z.Bytes()
}

func (p *phone) bearer() http.Header { return http.Header{"Authorization": {"Bearer " + p.token}} }

// send makes one exchange.
func (p *phone) send(req wire.Request) (wire.Reply, []wire.LogLine) {
	p.r.t.Helper()
	status, body := p.r.post(wire.PathExchange, wire.ContentType, p.text(req), p.bearer())
	reply, lines, err := wire.ReadReply(bytes.NewReader(body))
	if status != http.StatusOK || err != nil {
		p.r.t.Fatalf("exchange: %d %s %v", status, body, err)
	}
	return reply, lines
}

func (r *rig) get(path string) (int, []byte) {
	r.t.Helper()
	return r.do(http.MethodGet, path, "", nil, nil)
}

func (r *rig) post(path, kind string, body []byte, h http.Header) (int, []byte) {
	r.t.Helper()
	return r.do(http.MethodPost, path, kind, body, h)
}

func (r *rig) do(method, path, kind string, body []byte, h http.Header) (int, []byte) {
	r.t.Helper()
	req, err := http.NewRequest(method, r.url+path, bytes.NewReader(body))
	if err != nil {
		r.t.Fatal(err)
	}
	for name, v := range h {
		req.Header[name] = v
	}
	if kind != "" {
		req.Header.Set("Content-Type", kind)
	}
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		r.t.Fatal(err)
	}
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	if err != nil {
		r.t.Fatal(err)
	}
	if res.Header.Get("X-Content-Type-Options") != "nosniff" || res.Header.Get("Cache-Control") == "" {
		r.t.Errorf("%s %s: headers %v", method, path, res.Header)
	}
	return res.StatusCode, text
}

// want checks a refusal: its code, its status and its one sentence.
func (r *rig) want(what string, code wire.Code, status int, body []byte) {
	r.t.Helper()
	var e wire.Error
	if err := json.Unmarshal(body, &e); err != nil || e.Code != code || status != code.Status() || e.Message != code.Sentence() || strings.Count(e.Message, ". ") > 1 {
		r.t.Errorf("%s: %d %s, want %s", what, status, body, code)
	}
}

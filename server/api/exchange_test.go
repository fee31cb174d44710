package api

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

func TestExchange(t *testing.T) {
	r := newRig(t)
	p := r.enrolled()
	p.write("one")
	p.write("two")
	reply, lines := p.send(p.request(1, p.lines...))
	if reply.Ack.N != 2 || reply.Ack.Hash != wire.HashOf(p.lines[1]) || reply.State != wire.Active || reply.Seq != 1 ||
		len(lines) != 2 || !bytes.Equal(lines[1].Bytes, p.lines[1]) || !reply.ServerTime.Equal(noon) {
		t.Errorf("%+v %d lines", reply, len(lines))
	}
	raw, v, _ := wire.EncodeBody(wire.KindNote, rom.Note{Episode: "e1", Text: "hello", By: "vega"})
	if _, err := r.store.Append("p1", []ledger.Draft{{Kind: wire.KindNote, V: v, Body: raw, At: noon, Zone: "UTC"}}, nil, ledger.Trail{At: noon}); err != nil {
		t.Fatal(err)
	}
	next := p.request(3)
	next.Header.Since = reply.Head
	status, packed := r.post(wire.PathExchange, wire.ContentType, pack(p.text(next)),
		http.Header{"Authorization": {"Bearer " + p.token}, "Content-Encoding": {"gzip"}, "Accept-Encoding": {"br, gzip;q=0.8"}})
	z, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil || status != http.StatusOK {
		t.Fatalf("packed both ways: %d %v", status, err)
	}
	reply, lines, err = wire.ReadReply(z)
	if err != nil || reply.Seq != 3 || len(lines) != 1 || !strings.Contains(string(lines[0].Bytes), "hello") {
		t.Errorf("packed both ways: %+v %d %v", reply, len(lines), err)
	}
}

// Bad requests: one clear sentence each, and nothing of them is stored; bad
// lines: set aside, acknowledged, and nothing is blocked.
func TestExchangeRefusals(t *testing.T) {
	r := newRig(t)
	p := r.enrolled()
	p.write("one")
	p.write("two")
	good := p.text(p.request(1, p.lines...))
	send := func(body []byte, h http.Header) (int, []byte) {
		return r.post(wire.PathExchange, wire.ContentType, body, h)
	}
	with := func(name, value string) http.Header {
		h := p.bearer()
		h.Set(name, value)
		return h
	}
	staff, err := r.api.Tokens.IssueStaff(access.StaffToken{Staff: "vega", Session: "s", Started: noon, Scopes: access.ScopesFor(ledger.Surgeon)}, "jti", noon)
	if err != nil {
		t.Fatal(err)
	}
	forged := access.Tokens{Issuer: r.url, Keys: testRing().Signing}
	alien, _ := forged.IssuePhone(access.Phone{Author: string(p.id.Author)}, "jti-0123456789", noon)
	other := r.enrolled()
	many := p.request(1)
	for range wire.MaxLines + 1 {
		many.Lines = append(many.Lines, []byte(`{}`))
	}
	fat := p.request(1)
	for range 9 {
		fat.Lines = append(fat.Lines, bytes.Repeat([]byte("x"), wire.MaxLine-10))
	}
	long := p.request(1, bytes.Repeat([]byte("x"), wire.MaxLine+1))
	newer := p.request(1)
	newer.Header.Proto = 2
	swapped := p.request(1, p.lines[1], p.lines[0])
	for _, c := range []struct {
		name string
		want wire.Code
		body []byte
		h    http.Header
	}{
		{"no token", wire.Unauthorized, good, nil},
		{"basic", wire.Unauthorized, good, http.Header{"Authorization": {"Basic YTpi"}}},
		{"no JWT", wire.Unauthorized, good, http.Header{"Authorization": {"Bearer abc"}}},
		{"a session of staff", wire.Unauthorized, good, http.Header{"Authorization": {"Bearer " + staff}}},
		{"signed by another server", wire.Unauthorized, good, http.Header{"Authorization": {"Bearer " + alien}}},
		{"token in the cookie", wire.Unauthorized, good, http.Header{"Cookie": {"sid=" + p.token}}},
		{"author of another phone", wire.Forbidden, other.text(other.request(1)), p.bearer()},
		{"201 lines", wire.TooBig, p.text(many), p.bearer()},
		{"72 KiB", wire.TooBig, p.text(fat), p.bearer()},
		{"a line of more than 8 KiB", wire.TooBig, p.text(long), p.bearer()},
		{"a megabyte", wire.TooBig, bytes.Repeat([]byte("x"), 1<<20), p.bearer()},
		{"a bomb: 50 MB of zeros in 50 kB", wire.TooBig, pack(make([]byte, 50<<20)), with("Content-Encoding", "gzip")},
		{"a bomb behind a good request", wire.TooBig, pack(append(bytes.Clone(good), make([]byte, 50<<20)...)), with("Content-Encoding", "gzip")},
		{"not packed as it says", wire.Malformed, good, with("Content-Encoding", "gzip")},
		{"packed and cut off", wire.Malformed, pack(good)[:len(pack(good))-9], with("Content-Encoding", "gzip")},
		{"brotli", wire.BadType, good, with("Content-Encoding", "br")},
		{"empty", wire.Malformed, nil, p.bearer()},
		{"no line feed at the end", wire.Malformed, good[:len(good)-1], p.bearer()},
		{"header is no JSON", wire.Malformed, []byte("{\n"), p.bearer()},
		{"numbers out of order", wire.Malformed, p.text(swapped), p.bearer()},
		{"a later protocol", wire.TooNew, p.text(newer), p.bearer()},
		{"gap", wire.Gap, p.text(p.request(2, p.lines[1])), p.bearer()},
	} {
		status, body := send(c.body, c.h)
		r.want(c.name, c.want, status, body)
	}
	status, body := r.post(wire.PathExchange, "application/json", good, p.bearer())
	r.want("another content type", wire.BadType, status, body)
	if lines, err := r.store.Read("p1", 1, 0); err != nil || len(lines) != 0 {
		t.Fatalf("%d lines were stored by refused requests: %v", len(lines), err)
	}

	p.send(p.request(1, p.lines...))
	status, body = send(p.text(p.request(4, p.lines[1])), p.bearer())
	r.want("framing: the line has another number", wire.Malformed, status, body)
	fork := &phone{r: r, keys: p.keys, id: p.id, token: p.token, lines: [][]byte{p.lines[0]}}
	fork.write("another two")
	status, body = send(p.text(p.request(2, fork.lines[1])), p.bearer())
	r.want("fork", wire.Fork, status, body)
	var e wire.Error
	if json.Unmarshal(body, &e) != nil || e.Ack == nil || e.Ack.N != 2 || e.Ack.Hash != wire.HashOf(p.lines[1]) {
		t.Errorf("fork tells the mark: %s", body)
	}
	p.lines = append(p.lines, []byte("this is no record"))
	p.write("four")
	reply, lines := p.send(p.request(3, p.lines[2], p.lines[3]))
	if reply.Ack.N != 4 || reply.Head.Seq != 3 || len(lines) != 3 {
		t.Errorf("a malformed record is acknowledged and blocks nothing: %+v", reply)
	}
	q, err := r.store.Quarantine("p1")
	if err != nil || len(q) != 2 {
		t.Errorf("quarantine: %+v %v", q, err)
	}
	r.later(access.PhoneTokenLife + access.Leeway + time.Second)
	status, body = send(good, p.bearer())
	r.want("expired token", wire.Unauthorized, status, body)
}

// Revoked: the row is looked up on every request, so a token from before
// does not help. It may send, is acknowledged, and gets nothing.
func TestRevokedPhone(t *testing.T) {
	r := newRig(t)
	p := r.enrolled()
	p.write("one")
	p.send(p.request(1, p.lines...))
	if err := r.store.RevokeAuthor(p.id.Author, ledger.Trail{At: noon}); err != nil {
		t.Fatal(err)
	}
	p.write("two")
	for _, token := range []string{"from before", "sealed"} {
		if token == "sealed" {
			p.signIn()
		}
		reply, lines := p.send(p.request(2, p.lines[1]))
		if reply.State != wire.Revoked || reply.Ack.N != 2 || len(lines) != 0 || reply.Head.Seq != 0 || reply.Seq != 0 {
			t.Errorf("token %s: %+v %d lines", token, reply, len(lines))
		}
	}
	if lines, _ := r.store.Read("p1", 1, 0); len(lines) != 1 {
		t.Errorf("log has %d lines", len(lines))
	}
	if sealed, err := r.store.Sealed(p.id.Author); err != nil || len(sealed) != 1 {
		t.Errorf("sealed: %v %v", sealed, err)
	}
}

// Every phone gets its own patient's lines, whatever it asks.
func TestPatientsApart(t *testing.T) {
	r := newRig(t)
	one, two := r.enrolled(), r.newPhone()
	if status, body := two.enrol(r.invite(ledger.AtDesk, "p2").QR); status != http.StatusCreated {
		t.Fatalf("%d %s", status, body)
	}
	two.signIn()
	one.write("secret of one")
	reply, _ := one.send(one.request(1, one.lines...))
	ask := two.request(1)
	for _, since := range []wire.Cursor{{}, reply.Head, {Seq: 99, Hash: reply.Head.Hash}} {
		ask.Header.Since = since
		got, lines := two.send(ask)
		if len(lines) != 0 || got.Head.Seq != 0 {
			t.Errorf("since %v: %d lines, head %v", since, len(lines), got.Head)
		}
	}
}

// net/http's CrossOriginProtection: a page of another origin changes nothing
// here, even where no cookie is involved.
func TestOtherOrigins(t *testing.T) {
	r := newRig(t)
	for name, h := range map[string]http.Header{
		"cross-site": {"Sec-Fetch-Site": {"cross-site"}}, "same-site": {"Sec-Fetch-Site": {"same-site"}},
		"foreign origin": {"Origin": {"https://evil.example"}}, "null origin": {"Origin": {"null"}},
	} {
		status, body := r.post(wire.PathEnrol, "application/json", []byte("{}"), h)
		r.want(name, wire.Forbidden, status, body)
	}
	status, body := r.post(wire.PathEnrol, "application/json", []byte("{}"), http.Header{"Sec-Fetch-Site": {"same-origin"}})
	r.want("own page", wire.Malformed, status, body)
}

func TestSmallAddresses(t *testing.T) {
	r := newRig(t)
	status, body := r.get("/readyz")
	r.want("before it is ready", wire.Unavailable, status, body)
	r.api.SetReady(true)
	for path, want := range map[string]string{"/healthz": `"ok"`, "/readyz": `"ready"`, "/.well-known/jwks.json": r.api.Tokens.Keys.Current.ID} {
		if status, body := r.get(path); status != http.StatusOK || !strings.Contains(string(body), want) {
			t.Errorf("%s: %d %s", path, status, body)
		}
		status, body := r.post(path, "", nil, nil)
		r.want("POST "+path, wire.BadMethod, status, body)
	}
	r.api.SetReady(false)
	status, body = r.get("/readyz")
	r.want("when it stops", wire.Unavailable, status, body)
	if status, _ := r.get("/healthz"); status != http.StatusOK {
		t.Errorf("healthz while stopping: %d", status)
	}
	for _, path := range []string{"/v1/", "/v1/exchange/", "/v1/patients", "/v2/hello", "/.well-known/x"} {
		status, body := r.get(path)
		r.want(path, wire.NotFound, status, body)
	}
	_, body = r.get(wire.PathHello)
	var hello wire.Hello
	if err := json.Unmarshal(body, &hello); err != nil || hello.ProtoMin != 1 || hello.ProtoMax != 1 || !hello.ServerTime.Equal(noon) || hello.Nonce == "" || hello.Epoch == "" {
		t.Errorf("hello: %s %v", body, err)
	}
}

// broken is a store whose disk is full, or that has a fault.
type broken struct {
	Store
	err error
}

func (b broken) Exchange(ledger.ExchangeRequest) (ledger.ExchangeReply, error) {
	if b.err == nil {
		panic("canary of a fault")
	}
	return ledger.ExchangeReply{}, b.err
}

func (b broken) Health() (ledger.Health, error) { return ledger.Health{}, b.err }

func TestStoreFails(t *testing.T) {
	r := newRig(t)
	p := r.enrolled()
	r.api.SetReady(true)
	for _, c := range []struct {
		err  error
		want wire.Code
	}{
		{errors.New("commit: no space left on device"), wire.Unavailable},
		{fmt.Errorf("exchange: %w: a row is missing", ledger.ErrDamaged), wire.Unavailable},
		{fmt.Errorf("exchange: %w", ledger.ErrErased), wire.Erased},
		{fmt.Errorf("exchange: %w", ledger.ErrUnknown), wire.UnknownDevice},
		{nil, wire.Internal},
	} {
		r.api.Store = broken{r.store, c.err}
		status, body := r.post(wire.PathExchange, wire.ContentType, p.text(p.request(1)), p.bearer())
		r.want(fmt.Sprint(c.err), c.want, status, body)
		if strings.Contains(string(body), "space") || strings.Contains(string(body), "canary") {
			t.Errorf("the answer tells of the inside: %s", body)
		}
		r.later(time.Minute)
	}
	r.api.Store = broken{r.store, errors.New("disk full")}
	status, body := r.get("/readyz")
	r.want("readyz of a full disk", wire.Unavailable, status, body)
}

// No names, tokens, codes or records in the log (OWASP ASVS 5.0, 16.2.5).
func TestLogHoldsNoSecrets(t *testing.T) {
	r := newRig(t)
	s := r.invite(ledger.AtDesk, "p1")
	p := r.newPhone()
	assertion := p.assertion(wire.PathToken, nil)
	p.enrol(s.Code)
	p.signIn()
	p.write("canary-record")
	p.send(p.request(1, p.lines...))
	r.newPhone().enrol(s.Code)
	p.askToken(assertion)
	r.post(wire.PathExchange, wire.ContentType, []byte("canary-record"), http.Header{"Authorization": {"Bearer canary-token"}})
	r.get("/v1/canary-path?canary-query")
	log := r.log.String()
	if strings.Count(log, "\n") < 8 || !strings.Contains(log, string(p.id.Author)) || !strings.Contains(log, string(wire.CodeUsed)) {
		t.Errorf("the log says too little: %s", log)
	}
	for _, secret := range []string{"canary", "Canary", "Phone of", s.Code, s.QR, p.token, assertion, "127.0.0.1", "Invented"} {
		if strings.Contains(log, secret) {
			t.Errorf("the log holds %.20q", secret)
		}
	}
}

// Many phones at once, some sending everything twice: every record once.
func TestManyPhones(t *testing.T) {
	r := newRig(t)
	var phones []*phone
	for range 6 {
		phones = append(phones, r.enrolled())
	}
	done := make(chan error, len(phones))
	for _, p := range phones {
		for i := range 30 {
			p.write(fmt.Sprint(i))
		}
		go func() {
			for from := 0; from < 30; from += 5 {
				for range 2 {
					body := pack(p.text(p.request(int64(from)+1, p.lines[from:from+5]...)))
					h := p.bearer()
					h.Set("Content-Encoding", "gzip")
					req, _ := http.NewRequest(http.MethodPost, r.url+wire.PathExchange, bytes.NewReader(body))
					req.Header = h
					req.Header.Set("Content-Type", wire.ContentType)
					res, err := http.DefaultClient.Do(req)
					if err != nil || res.StatusCode != http.StatusOK {
						done <- fmt.Errorf("exchange: %v %v", res, err)
						return
					}
					res.Body.Close()
				}
			}
			done <- nil
		}()
	}
	for range phones {
		if err := <-done; err != nil {
			t.Error(err)
		}
	}
	lines, err := r.store.Read("p1", 1, 0)
	if err != nil || len(lines) != 6*30 {
		t.Errorf("%d lines: %v", len(lines), err)
	}
	if rep, err := r.store.Verify(context.Background()); err != nil || len(rep.Faults) != 0 {
		t.Errorf("%+v %v", rep, err)
	}
}

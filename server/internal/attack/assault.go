package main

import (
	"bytes"
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"time"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// assault is one attack under way: where to, and what the attacker has in hand.
type assault struct {
	ctx  context.Context
	t    *target
	base string // where requests go: the server, or something weaker in front of it

	mu       sync.Mutex
	spare    []invitation // not used yet
	secrets  []string     // what must appear in no log
	clients  map[string]*http.Client
	phoneA   *phone // of one patient
	phoneB   *phone // of another
	slow     chan error
	slowBody chan error
}

// begin lets two phones join, so that there is something to steal, and starts the slow connections, which take their time.
func begin(ctx context.Context, t *target, base string) (*assault, error) {
	a := &assault{ctx: ctx, t: t, base: base, spare: append([]invitation(nil), t.Invitations...), clients: map[string]*http.Client{}}
	for _, s := range t.Staff {
		a.secrets = append(a.secrets, s.Password)
	}
	for _, i := range t.Invitations {
		a.secrets = append(a.secrets, i.Code, i.secret())
	}
	a.slow, a.slowBody = a.dribble("GET /healthz HTTP/1.1\r\nHost: localhost\r\nX-Slow: "), a.dribble("POST /v1/enrol HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: 4000\r\n\r\n{")
	for _, p := range []**phone{&a.phoneA, &a.phoneB} {
		var err error
		if *p, err = a.join(); err != nil {
			return nil, fmt.Errorf("before anything is attacked: %w", err)
		}
	}
	return a, nil
}

// take gives an invitation that was not used.
func (a *assault) take() invitation {
	a.mu.Lock()
	defer a.mu.Unlock()
	if len(a.spare) == 0 {
		panic("no invitation is left")
	}
	one := a.spare[0]
	a.spare = a.spare[1:]
	return one
}

// client speaks from one address of the loopback, follows nothing and remembers nothing.
func (a *assault) client(from string) *http.Client {
	a.mu.Lock()
	defer a.mu.Unlock()
	if c := a.clients[from]; c != nil {
		return c
	}
	d := &net.Dialer{Timeout: 10 * time.Second, LocalAddr: &net.TCPAddr{IP: net.ParseIP(from)}}
	c := &http.Client{
		Timeout: 2 * time.Minute,
		Transport: &http.Transport{
			DialContext: func(ctx context.Context, _, addr string) (net.Conn, error) {
				_, port, _ := net.SplitHostPort(addr)
				return d.DialContext(ctx, "tcp4", "127.0.0.1:"+port)
			},
			DisableCompression: true, MaxIdleConnsPerHost: 8,
		},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
	a.clients[from] = c
	return c
}

// ask is one request.
type ask struct {
	method, path string
	from         string // address it comes from; 127.0.0.1 if not given
	host         string // that it claims to ask; the right one if not given
	kind         string // content type
	head         map[string]string
	body         []byte
}

type answer struct {
	status int
	head   http.Header
	body   []byte
}

func (r answer) code() string {
	var e struct{ Code string }
	_ = json.Unmarshal(r.body, &e)
	return e.Code
}

func (r answer) String() string { return fmt.Sprintf("%d %s", r.status, r.code()) }

func (a *assault) do(q ask) answer {
	r, err := a.try(q)
	if err != nil {
		panic(err)
	}
	return r
}

func (a *assault) try(q ask) (answer, error) {
	if q.from == "" {
		q.from = "127.0.0.1"
	}
	req, err := http.NewRequestWithContext(a.ctx, q.method, a.base+q.path, bytes.NewReader(q.body))
	if err != nil {
		return answer{}, err
	}
	if q.kind != "" {
		req.Header.Set("Content-Type", q.kind)
	}
	if q.host != "" {
		req.Host = q.host
	}
	for k, v := range q.head {
		req.Header.Set(k, v)
	}
	res, err := a.client(q.from).Do(req)
	if err != nil {
		return answer{}, err
	}
	defer res.Body.Close()
	body, err := io.ReadAll(io.LimitReader(res.Body, 64<<20))
	return answer{res.StatusCode, res.Header, body}, err
}

var b64 = base64.RawURLEncoding.EncodeToString

func random(n int) []byte {
	b := make([]byte, n)
	_, _ = rand.Read(b)
	return b
}

// phone is an installation that says whatever the attacker wants.
type phone struct {
	a       *assault
	id      rom.Author
	key     *ecdsa.PrivateKey
	jwk     json.RawMessage
	patient string
	token   string
	episode string
	lines   [][]byte
	from    string
}

func (a *assault) newPhone() *phone {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		panic(err)
	}
	point, err := key.PublicKey.Bytes()
	if err != nil {
		panic(err)
	}
	return &phone{a: a, id: rom.Author("p-" + b64(random(16))), key: key,
		jwk: fmt.Appendf(nil, `{"crv":"P-256","kty":"EC","x":%q,"y":%q}`, b64(point[1:33]), b64(point[33:]))}
}

func (p *phone) sign(text string) string {
	sum := sha256.Sum256([]byte(text))
	r, s, err := ecdsa.Sign(rand.Reader, p.key, sum[:])
	if err != nil {
		panic(err)
	}
	out := make([]byte, 64)
	r.FillBytes(out[:32])
	s.FillBytes(out[32:])
	return text + "." + b64(out)
}

func (a *assault) hello() wire.Hello {
	var h wire.Hello
	if err := json.Unmarshal(a.do(ask{method: "GET", path: wire.PathHello}).body, &h); err != nil {
		panic(err)
	}
	return h
}

// assertion is a good one for path, changed by change.
func (p *phone) assertion(path string, change func(map[string]any)) string {
	h := p.a.hello()
	claims := map[string]any{"iss": p.id, "sub": p.id, "aud": p.a.t.base + path, "jti": b64(random(16)), "nonce": h.Nonce,
		"iat": h.ServerTime.Unix(), "exp": h.ServerTime.Unix() + 60}
	if change != nil {
		change(claims)
	}
	text, _ := json.Marshal(claims)
	return p.sign(b64([]byte(`{"alg":"ES256","typ":"JWT"}`)) + "." + b64(text))
}

func (p *phone) enrol(code, pin string, extra map[string]any) answer {
	m := map[string]any{"code": code, "author": p.id, "key": p.jwk, "name": "attacker", "assertion": p.assertion(wire.PathEnrol, nil)}
	if pin != "" {
		m["pin"] = pin
	}
	for k, v := range extra {
		m[k] = v
	}
	body, _ := json.Marshal(m)
	r := p.a.do(ask{method: "POST", path: wire.PathEnrol, kind: "application/json", body: body, from: p.from})
	var e wire.Enrolled
	if r.status == http.StatusCreated && json.Unmarshal(r.body, &e) == nil {
		p.patient = string(e.Patient)
	}
	return r
}

func (p *phone) askToken(assertion string) answer {
	form := url.Values{"grant_type": {"client_credentials"}, "client_assertion_type": {wire.AssertionType}, "client_assertion": {assertion}}
	return p.a.do(ask{method: "POST", path: wire.PathToken, kind: "application/x-www-form-urlencoded", body: []byte(form.Encode())})
}

// signIn gets a token.
func (p *phone) signIn() (wire.Token, error) {
	r := p.askToken(p.assertion(wire.PathToken, nil))
	var tok wire.Token
	if err := json.Unmarshal(r.body, &tok); err != nil || r.status != http.StatusOK {
		return tok, fmt.Errorf("token: %s", r)
	}
	p.token = tok.AccessToken
	p.a.mu.Lock()
	p.a.secrets = append(p.a.secrets, p.token)
	p.a.mu.Unlock()
	return tok, nil
}

// join is a phone that an invitation let in, with a token.
func (a *assault) join() (*phone, error) {
	p := a.newPhone()
	if r := p.enrol(a.take().secret(), "", nil); r.status != http.StatusCreated {
		return nil, fmt.Errorf("join: %s", r)
	}
	if _, err := p.signIn(); err != nil {
		return nil, err
	}
	_, _, lines := p.exchange(p.token, p.id, 1)
	for _, l := range lines {
		if m := episodeOf.FindSubmatch(l.Bytes); m != nil {
			p.episode = string(m[1])
		}
	}
	if p.episode == "" {
		return nil, fmt.Errorf("the log of a phone that joined names no episode")
	}
	return p, nil
}

var episodeOf = regexp.MustCompile(`"episode":"([^"]+)"`)

// write adds a line to the phone's own log.
func (p *phone) write(text string) {
	n := int64(len(p.lines)) + 1
	prev := wire.NoPrev
	if n > 1 {
		prev = wire.HashOf(p.lines[n-2])
	}
	body, _ := json.Marshal(map[string]any{"episode": p.episode, "text": text})
	line, err := wire.Encode(wire.Record{Author: p.id, N: n, Prev: prev, Salt: wire.Salt([16]byte(random(16))), Kind: wire.KindQuestion, V: 1,
		Run: "attack", Mono: n, At: time.Now().UTC(), TZ: "UTC", Body: body})
	if err != nil {
		panic(err)
	}
	p.lines = append(p.lines, line)
}

// exchange sends lines from number from on, as author, under token.
func (p *phone) exchange(token string, author rom.Author, from int64, lines ...[]byte) (answer, wire.Reply, []wire.LogLine) {
	var b bytes.Buffer
	if err := wire.WriteRequest(&b, wire.Request{Header: wire.Header{Proto: 1, App: "attack", Author: author, From: from}, Lines: lines}); err != nil {
		panic(err)
	}
	r := p.a.do(ask{method: "POST", path: wire.PathExchange, kind: wire.ContentType, body: b.Bytes(), head: map[string]string{"Authorization": "Bearer " + token}})
	if r.status != http.StatusOK {
		return r, wire.Reply{}, nil
	}
	reply, got, err := wire.ReadReply(bytes.NewReader(r.body))
	if err != nil {
		panic(err)
	}
	return r, reply, got
}

// send sends what the phone has written.
func (p *phone) send() (answer, wire.Reply, []wire.LogLine) {
	return p.exchange(p.token, p.id, 1, p.lines...)
}

// dribble holds a connection open and sends next to nothing. The channel gives nil once the server has ended it in time.
func (a *assault) dribble(begin string) chan error {
	done := make(chan error, 1)
	go func() {
		conn, err := net.DialTimeout("tcp4", a.t.addr, time.Minute)
		if err != nil {
			done <- err
			return
		}
		defer conn.Close()
		start := time.Now()
		if _, err := conn.Write([]byte(begin)); err != nil {
			done <- nil
			return
		}
		go func() {
			for time.Since(start) < 2*time.Minute {
				time.Sleep(time.Second)
				if _, err := conn.Write([]byte("x")); err != nil {
					return
				}
			}
		}()
		_ = conn.SetReadDeadline(start.Add(100 * time.Second))
		_, err = io.Copy(io.Discard, conn)
		if time.Since(start) > 90*time.Second {
			done <- fmt.Errorf("a slow connection was still open after %.0f s", time.Since(start).Seconds())
			return
		}
		_ = err // a reset is an end as well
		done <- nil
	}()
	return done
}

// contains names the first of the needles in text.
func contains(text string, needles ...string) (string, bool) {
	for _, n := range needles {
		if n != "" && strings.Contains(text, n) {
			return n, true
		}
	}
	return "", false
}

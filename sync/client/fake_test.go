package client

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"math/big"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// clinic is a server in memory: it checks what a client must get right and
// decides by package replica.
type clinic struct {
	*httptest.Server
	lock   sync.Mutex
	keys   map[rom.Author]*ecdsa.PublicKey
	log    [][]byte
	hashes map[rom.Ref]wire.Hash
	marks  map[rom.Author]wire.Mark
	epoch  string
	code   string
	token  string
	tokens int
	states map[rom.Author]string
	before func(http.ResponseWriter, *http.Request) bool // answers instead
	asked  []string
}

func newClinic(t *testing.T) *clinic {
	c := &clinic{
		keys: map[rom.Author]*ecdsa.PublicKey{}, hashes: map[rom.Ref]wire.Hash{}, marks: map[rom.Author]wire.Mark{},
		states: map[rom.Author]string{}, epoch: "epoch-1", code: "ABCD2345", token: "token-0",
	}
	mux := http.NewServeMux()
	mux.HandleFunc("GET "+wire.PathHello, c.hello)
	mux.HandleFunc("POST "+wire.PathEnrol, c.enrol)
	mux.HandleFunc("POST "+wire.PathToken, c.giveToken)
	mux.HandleFunc("POST "+wire.PathDevices, c.devices)
	mux.HandleFunc("POST "+wire.PathExchange, c.exchange)
	c.Server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		c.lock.Lock()
		defer c.lock.Unlock()
		c.asked = append(c.asked, r.URL.Path)
		if c.before != nil && c.before(w, r) {
			return
		}
		mux.ServeHTTP(w, r)
	}))
	t.Cleanup(c.Close)
	return c
}

func answer(w http.ResponseWriter, status int, v any) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	json.NewEncoder(w).Encode(v)
}

func refuse(w http.ResponseWriter, e *wire.Error) { answer(w, e.Code.Status(), e) }

var serverTime = time.Date(2031, 5, 6, 7, 8, 9, 0, time.UTC)

func (c *clinic) hello(w http.ResponseWriter, _ *http.Request) {
	answer(w, 200, wire.Hello{Epoch: c.epoch, ProtoMin: 1, ProtoMax: 1, ServerTime: serverTime, Nonce: "nonce-1"})
}

// signed checks an assertion as RFC 7523 section 3 and RFC 7518 section 3.4
// have it.
func (c *clinic) signed(text string, key *ecdsa.PublicKey, author rom.Author, path string) error {
	parts := strings.Split(text, ".")
	if len(parts) != 3 || key == nil {
		return fmt.Errorf("not a token with a known key")
	}
	b64 := base64.RawURLEncoding
	head, _ := b64.DecodeString(parts[0])
	body, _ := b64.DecodeString(parts[1])
	sig, _ := b64.DecodeString(parts[2])
	sum := sha256.Sum256([]byte(parts[0] + "." + parts[1]))
	if len(sig) != 64 || !ecdsa.Verify(key, sum[:], new(big.Int).SetBytes(sig[:32]), new(big.Int).SetBytes(sig[32:])) {
		return fmt.Errorf("signature does not fit")
	}
	var h struct{ Alg, Typ string }
	var p struct {
		Iss, Sub, Aud, Jti, Nonce string
		Iat, Exp                  int64
	}
	if json.Unmarshal(head, &h) != nil || json.Unmarshal(body, &p) != nil || h.Alg != "ES256" || h.Typ != "JWT" {
		return fmt.Errorf("head or claims do not read")
	}
	if p.Iss != string(author) || p.Sub != p.Iss || p.Aud != c.URL+path || p.Nonce != "nonce-1" || len(p.Jti) != 22 ||
		p.Iat != serverTime.Unix() || p.Exp != p.Iat+60 {
		return fmt.Errorf("claims %+v", p)
	}
	return nil
}

func parseKey(raw json.RawMessage) *ecdsa.PublicKey {
	var j struct{ Kty, Crv, X, Y string }
	if json.Unmarshal(raw, &j) != nil || j.Kty != "EC" || j.Crv != "P-256" {
		return nil
	}
	x, _ := base64.RawURLEncoding.DecodeString(j.X)
	y, _ := base64.RawURLEncoding.DecodeString(j.Y)
	return &ecdsa.PublicKey{Curve: elliptic.P256(), X: new(big.Int).SetBytes(x), Y: new(big.Int).SetBytes(y)}
}

func (c *clinic) enrol(w http.ResponseWriter, r *http.Request) {
	var m wire.Enrol
	key := (*ecdsa.PublicKey)(nil)
	if wire.ReadMessage(r.Body, &m) == nil {
		key = parseKey(m.Key)
	}
	if err := c.signed(m.Assertion, key, m.Author, wire.PathEnrol); err != nil {
		refuse(w, wire.Refuse(wire.BadAssertion))
		return
	}
	switch _, known := c.keys[m.Author]; {
	case m.Code != c.code:
		refuse(w, wire.Refuse(wire.CodeUnknown))
	case known && !c.keys[m.Author].Equal(key):
		refuse(w, wire.Refuse(wire.DeviceTaken))
	default:
		c.keys[m.Author], c.states[m.Author] = key, wire.Active
		answer(w, 201, wire.Enrolled{Patient: "pat", State: wire.Active, Check: "47", Clinic: wire.Clinic{Name: "Example", Phone: "1", Zone: "UTC"}, Epoch: c.epoch})
	}
}

func (c *clinic) giveToken(w http.ResponseWriter, r *http.Request) {
	assertion := r.PostFormValue("client_assertion")
	if r.PostFormValue("grant_type") != "client_credentials" || r.PostFormValue("client_assertion_type") != wire.AssertionType {
		refuse(w, wire.Refuse(wire.Malformed))
		return
	}
	for a, key := range c.keys {
		if c.signed(assertion, key, a, wire.PathToken) == nil {
			c.tokens++
			c.token = fmt.Sprintf("token-%d:%s", c.tokens, a)
			answer(w, 200, wire.Token{AccessToken: c.token, TokenType: "Bearer", ExpiresIn: 900, Scope: wire.ScopeExchange})
			return
		}
	}
	refuse(w, wire.Refuse(wire.BadAssertion))
}

// bearer returns the author of a good token.
func (c *clinic) bearer(r *http.Request) (rom.Author, bool) {
	_, a, _ := strings.Cut(c.token, ":")
	return rom.Author(a), r.Header.Get("Authorization") == "Bearer "+c.token && a != ""
}

func (c *clinic) devices(w http.ResponseWriter, r *http.Request) {
	var m wire.NewDevice
	if _, ok := c.bearer(r); !ok {
		refuse(w, wire.Refuse(wire.Unauthorized))
		return
	}
	if wire.ReadMessage(r.Body, &m) != nil || c.signed(m.Assertion, parseKey(m.Key), m.Author, wire.PathDevices) != nil {
		refuse(w, wire.Refuse(wire.BadAssertion))
		return
	}
	c.keys[m.Author], c.states[m.Author] = parseKey(m.Key), wire.Active
	answer(w, 201, wire.Enrolled{Patient: "pat", State: wire.Active, Epoch: c.epoch})
}

func (c *clinic) exchange(w http.ResponseWriter, r *http.Request) {
	author, ok := c.bearer(r)
	if !ok {
		refuse(w, wire.Refuse(wire.Unauthorized))
		return
	}
	if r.Header.Get("Content-Type") != wire.ContentType || r.Header.Get("Content-Encoding") != "gzip" {
		refuse(w, wire.Refuse(wire.BadType))
		return
	}
	z, err := gzip.NewReader(r.Body)
	if err != nil {
		refuse(w, wire.Refuse(wire.Malformed))
		return
	}
	req, err := wire.ReadRequest(z)
	if e, is := wire.AsError(err); is {
		refuse(w, e)
		return
	}
	v, _ := replica.Accept(c.marks[author], req.Header, req.Lines, func(n int64) (wire.Hash, error) {
		return c.hashes[rom.Ref{Author: author, N: n}], nil
	})
	for _, l := range v.Store {
		c.log = append(c.log, l.Bytes)
		c.hashes[rom.Ref{Author: author, N: l.N}] = l.Hash
	}
	c.marks[author] = v.Mark
	if v.Code != "" {
		e := wire.Refuse(v.Code)
		e.Ack = &v.Mark
		refuse(w, e)
		return
	}
	reply := wire.Reply{Epoch: c.epoch, State: c.states[author], Ack: v.Mark, ServerTime: serverTime}
	var lines []wire.LogLine
	if reply.State == wire.Active {
		head := wire.Cursor{}
		if n := len(c.log); n > 0 {
			head = wire.Cursor{Seq: int64(n), Hash: wire.HashOf(c.log[n-1])}
		}
		reply.Head = head
		reply.Seq, _, _ = replica.Resume(req.Header.Since, head, func(seq int64) (wire.Hash, error) { return wire.HashOf(c.log[seq-1]), nil })
		for i, l := range c.log[reply.Seq-1:] {
			lines = append(lines, wire.LogLine{Seq: reply.Seq + int64(i), Bytes: l, Hash: wire.HashOf(l)})
		}
	}
	var out bytes.Buffer
	wire.WriteReply(&out, reply, lines)
	w.Header().Set("Content-Type", wire.ContentType)
	if strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
		w.Header().Set("Content-Encoding", "gzip")
		z := gzip.NewWriter(w)
		z.Write(out.Bytes())
		z.Close()
		return
	}
	io.Copy(w, &out)
}

// ring keeps keys in memory.
type ring struct {
	lock sync.Mutex
	keys map[rom.Author]*ecdsa.PrivateKey
	made int
}

func (k *ring) New(context.Context) (Identity, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return Identity{}, err
	}
	k.lock.Lock()
	defer k.lock.Unlock()
	k.made++
	a := rom.Author(fmt.Sprintf("p-%d", k.made))
	if k.keys == nil {
		k.keys = map[rom.Author]*ecdsa.PrivateKey{}
	}
	k.keys[a] = key
	point, err := key.PublicKey.Bytes() // 4, x, y
	if err != nil {
		return Identity{}, err
	}
	b64 := base64.RawURLEncoding.EncodeToString
	jwk := fmt.Sprintf(`{"kty":"EC","crv":"P-256","x":"%s","y":"%s"}`, b64(point[1:33]), b64(point[33:]))
	return Identity{Author: a, Key: json.RawMessage(jwk)}, nil
}

func (k *ring) Sign(_ context.Context, a rom.Author, data []byte) ([]byte, error) {
	k.lock.Lock()
	defer k.lock.Unlock()
	sum := sha256.Sum256(data)
	r, s, err := ecdsa.Sign(rand.Reader, k.keys[a], sum[:])
	if err != nil {
		return nil, err
	}
	return append(r.FillBytes(make([]byte, 32)), s.FillBytes(make([]byte, 32))...), nil
}

package main

import (
	"bytes"
	"crypto/ed25519"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"time"

	"unsling/sync/wire"
)

// claims are those of a good token, to be forged with.
func claims(token string) []byte {
	parts := strings.Split(token, ".")
	raw, err := base64.RawURLEncoding.DecodeString(parts[1])
	if err != nil {
		panic(err)
	}
	return raw
}

// refusesAll sends forged tokens to the exchange, and as a cookie to the clinic.
func (a *assault) refusesAll(tokens map[string]string) (string, error) {
	for name, token := range tokens {
		if r, _, _ := a.phoneA.exchange(token, a.phoneA.id, 1); r.status != http.StatusUnauthorized {
			return "", fmt.Errorf("%s: %s", name, r)
		}
		r := a.do(ask{method: "GET", path: "/clinic/", head: map[string]string{"Cookie": "sid=" + token}})
		if r.status != http.StatusSeeOther {
			return "", fmt.Errorf("%s as a cookie of staff: %d", name, r.status)
		}
	}
	if r, _, _ := a.phoneA.exchange(a.phoneA.token, a.phoneA.id, 1); r.status != http.StatusOK {
		return "", fmt.Errorf("the good token does not work either: %s", r)
	}
	return fmt.Sprintf("%d forged tokens refused, the good one works", len(tokens)), nil
}

// publicKey is what the server publishes.
func (a *assault) publicKey() (x []byte, kid string) {
	var set struct{ Keys []struct{ X, Kid string } }
	if err := json.Unmarshal(a.do(ask{method: "GET", path: "/.well-known/jwks.json"}).body, &set); err != nil || len(set.Keys) == 0 {
		panic(fmt.Sprint("no published key: ", err))
	}
	x, err := base64.RawURLEncoding.DecodeString(set.Keys[0].X)
	if err != nil {
		panic(err)
	}
	return x, set.Keys[0].Kid
}

func algorithms(a *assault) (string, error) {
	x, kid := a.publicKey()
	body := b64(claims(a.phoneA.token))
	head := func(alg string) string { return b64(fmt.Appendf(nil, `{"alg":%q,"typ":"at+jwt","kid":%q}`, alg, kid)) }
	hs := func(key []byte) string {
		text := head("HS256") + "." + body
		m := hmac.New(sha256.New, key)
		m.Write([]byte(text))
		return text + "." + b64(m.Sum(nil))
	}
	parts := strings.Split(a.phoneA.token, ".")
	return a.refusesAll(map[string]string{
		// RFC 7515, appendix A.5, as printed there.
		"RFC 7515 A.5":                    "eyJhbGciOiJub25lIn0.eyJpc3MiOiJqb2UiLA0KICJleHAiOjEzMDA4MTkzODAsDQogImh0dHA6Ly9leGFtcGxlLmNvbS9pc19yb290Ijp0cnVlfQ.",
		"alg none":                        head("none") + "." + body + ".",
		"alg None with the old signature": head("None") + "." + body + "." + parts[2],
		"HS256 with the public key":       hs(x),
		"HS256 with no key":               hs(nil),
		"signature left out":              parts[0] + "." + parts[1] + ".",
		"signature of zeros":              parts[0] + "." + parts[1] + "." + b64(make([]byte, 64)),
		"claims changed":                  parts[0] + "." + b64(bytes.Replace(claims(a.phoneA.token), []byte(a.phoneA.id), []byte(a.phoneB.id), -1)) + "." + parts[2],
	})
}

func headerKeys(a *assault) (string, error) {
	public, private, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		return "", err
	}
	_, kid := a.publicKey()
	body := b64(claims(a.phoneA.token))
	own := func(head string) string {
		text := b64([]byte(head)) + "." + body
		return text + "." + b64(ed25519.Sign(private, []byte(text)))
	}
	jwk := fmt.Sprintf(`{"kty":"OKP","crv":"Ed25519","x":%q}`, b64(public))
	return a.refusesAll(map[string]string{
		"own key in jwk":             own(`{"alg":"EdDSA","typ":"at+jwt","jwk":` + jwk + `}`),
		"own key by jku":             own(`{"alg":"EdDSA","typ":"at+jwt","jku":"http://127.0.0.1:9/keys"}`),
		"own key by x5u":             own(`{"alg":"EdDSA","typ":"at+jwt","x5u":"http://127.0.0.1:9/cert"}`),
		"server's kid":               own(`{"alg":"EdDSA","typ":"at+jwt","kid":"` + kid + `"}`),
		"unknown kid":                own(`{"alg":"EdDSA","typ":"at+jwt","kid":"nobody"}`),
		"kid that climbs":            own(`{"alg":"EdDSA","typ":"at+jwt","kid":"../../keys/signing.json"}`),
		"kid of 4 kB":                own(`{"alg":"EdDSA","typ":"at+jwt","kid":"` + strings.Repeat("k", 4096) + `"}`),
		"crit":                       own(`{"alg":"EdDSA","typ":"at+jwt","kid":"` + kid + `","crit":["exp"],"exp":1}`),
		"two algorithms":             own(`{"alg":"none","alg":"EdDSA","typ":"at+jwt","kid":"` + kid + `"}`),
		"a header that is no object": b64([]byte(`"EdDSA"`)) + "." + body + "." + b64(make([]byte, 64)),
	})
}

func tokenKinds(a *assault) (string, error) {
	surgeon, err := a.signIn(a.login("spare"), "127.0.0.1")
	if err != nil {
		return "", err
	}
	_, staff, _ := strings.Cut(surgeon.cookie, "=")
	name, _, _ := strings.Cut(surgeon.cookie, "=")
	for what, token := range map[string]string{
		"cookie of staff":             staff,
		"assertion for a token":       a.phoneA.assertion(wire.PathToken, nil),
		"assertion for the exchange":  a.phoneA.assertion(wire.PathExchange, nil),
		"nonce":                       a.hello().Nonce,
		"two tokens":                  a.phoneA.token + " " + a.phoneB.token,
		"token with a point too many": a.phoneA.token + ".",
	} {
		if r, _, _ := a.phoneA.exchange(token, a.phoneA.id, 1); r.status != http.StatusUnauthorized {
			return "", fmt.Errorf("%s at the exchange: %s", what, r)
		}
	}
	for what, token := range map[string]string{"token of a phone": a.phoneA.token, "assertion": a.phoneA.assertion(wire.PathToken, nil)} {
		if r := a.do(ask{method: "GET", path: "/clinic/", head: map[string]string{"Cookie": name + "=" + token}}); r.status != http.StatusSeeOther {
			return "", fmt.Errorf("%s as a cookie of staff: %d", what, r.status)
		}
		if r := a.do(ask{method: "GET", path: "/clinic/", head: map[string]string{"Authorization": "Bearer " + token}}); r.status != http.StatusSeeOther {
			return "", fmt.Errorf("%s as bearer at the clinic's pages: %d", what, r.status)
		}
	}
	for _, place := range []string{"?access_token=", "?token="} { // RFC 6750 section 2.3: not taken here
		r := a.do(ask{method: "POST", path: wire.PathExchange + place + a.phoneA.token, kind: wire.ContentType})
		if r.status != http.StatusUnauthorized {
			return "", fmt.Errorf("a token in the address: %s", r)
		}
	}
	// Claims that the server did not ask for, signed by the phone's own key. (Its own tokens without a claim can only be made
	// with its key: TestPhoneTokens and TestStaffTokens in server/access do.)
	for what, change := range map[string]func(map[string]any){
		"no exp": func(m map[string]any) { delete(m, "exp") }, "no aud": func(m map[string]any) { delete(m, "aud") },
		"no iss": func(m map[string]any) { delete(m, "iss") }, "no jti": func(m map[string]any) { delete(m, "jti") },
		"no nonce":       func(m map[string]any) { delete(m, "nonce") },
		"sub of another": func(m map[string]any) { m["sub"] = a.phoneA.id },
		"other aud":      func(m map[string]any) { m["aud"] = "https://elsewhere.example/v1/token" },
		"for enrolment":  func(m map[string]any) { m["aud"] = a.t.base + wire.PathEnrol },
		"expired":        func(m map[string]any) { m["iat"], m["exp"] = time.Now().Unix()-600, time.Now().Unix()-500 },
		"from the future": func(m map[string]any) {
			m["iat"], m["nbf"], m["exp"] = time.Now().Unix()+3600, time.Now().Unix()+3600, time.Now().Unix()+3660
		},
		"good for a year": func(m map[string]any) { m["exp"] = time.Now().Unix() + 365*86400 },
		"own nonce":       func(m map[string]any) { m["nonce"] = b64(random(24)) },
	} {
		if r := a.phoneB.askToken(a.phoneB.assertion(wire.PathToken, change)); r.status == http.StatusOK {
			return "", fmt.Errorf("an assertion with %s gives a token", what)
		}
	}
	return "8 things in place of a token, 4 in place of a session, 2 places for tokens, 12 twisted assertions refused", nil
}

func replayed(a *assault) (string, error) {
	p, err := a.join()
	if err != nil {
		return "", err
	}
	// The same assertion twice, and its nonce in another one after it.
	one := p.assertion(wire.PathToken, nil)
	if r := p.askToken(one); r.status != http.StatusOK {
		return "", fmt.Errorf("a good assertion: %s", r)
	}
	if r := p.askToken(one); r.status == http.StatusOK {
		return "", fmt.Errorf("the same assertion gives a second token")
	}
	// Under another phone's key: who has a token or an id has no key.
	thief := a.newPhone()
	thief.id = p.id
	if r := thief.askToken(thief.assertion(wire.PathToken, nil)); r.status == http.StatusOK {
		return "", fmt.Errorf("another key gives a token of this phone")
	}
	// A stolen token reads and writes in its own patient's log only, and under no other name.
	if r, _, _ := thief.exchange(p.token, a.phoneB.id, 1); r.status == http.StatusOK {
		return "", fmt.Errorf("a token writes under another phone's name")
	}
	// After the phone has left, the stolen token gets nothing more.
	p.write("before leaving")
	if r, _, _ := p.send(); r.status != http.StatusOK {
		return "", fmt.Errorf("exchange: %s", r)
	}
	stolen := p.token
	if r := a.do(ask{method: "POST", path: wire.PathLeave, kind: "application/json", body: []byte("{}"), head: map[string]string{"Authorization": "Bearer " + p.token}}); r.status != http.StatusOK {
		return "", fmt.Errorf("leave: %s", r)
	}
	r, reply, lines := p.exchange(stolen, p.id, 2)
	if r.status == http.StatusOK && (reply.State != wire.Revoked || len(lines) > 0) {
		return "", fmt.Errorf("a token that was stolen before the phone left still gets %d lines", len(lines))
	}
	return "assertion twice, another key, another name, token after revocation", nil
}

func noRefresh(a *assault) (string, error) {
	for _, form := range []url.Values{
		{"grant_type": {"refresh_token"}, "refresh_token": {a.phoneA.token}},
		{"grant_type": {"password"}, "username": {"spare"}, "password": {a.login("spare").Password}},
		{"grant_type": {"authorization_code"}, "code": {"x"}},
		{"grant_type": {"client_credentials"}, "client_id": {string(a.phoneA.id)}, "client_secret": {"x"}},
	} {
		r := a.do(ask{method: "POST", path: wire.PathToken, kind: "application/x-www-form-urlencoded", body: []byte(form.Encode())})
		if r.status < 400 || r.status > 499 {
			return "", fmt.Errorf("grant %s: %s", form.Get("grant_type"), r)
		}
	}
	r := a.phoneA.askToken(a.phoneA.assertion(wire.PathToken, nil))
	if _, has := contains(string(r.body), "refresh"); has || r.status != http.StatusOK {
		return "", fmt.Errorf("the answer to a token request: %s", r)
	}
	return "4 other grants refused, no refresh token is ever given", nil
}

func lostAnswer(a *assault) (string, error) {
	for i := range 3 { // three answers are lost; the fourth arrives
		if _, err := a.phoneA.signIn(); err != nil {
			return "", fmt.Errorf("after %d lost answers: %w", i, err)
		}
	}
	p := a.newPhone()
	code := a.take().secret()
	first := p.enrol(code, "", nil)
	again := p.enrol(code, "", nil)
	if first.status != http.StatusCreated || again.status != http.StatusCreated || !bytes.Equal(first.body, again.body) {
		return "", fmt.Errorf("joining again after a lost answer: %s, then %s", first, again)
	}
	return "three token answers and one enrolment answer lost, the phone goes on", nil
}

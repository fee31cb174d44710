package access

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"
)

// joseAnswer is what the script of testdata/jose.mjs found and made.
type joseAnswer struct {
	Verified   []string          // names of tokens that jose took
	Refused    []string          // and of those it did not
	Thumbs     []string          // RFC 7638 thumbprints of the keys of our JWKS
	Tokens     map[string]string // made by jose with our private key
	Assertion  string            // ES256, by a key that jose made
	AssertKey  json.RawMessage
	Thumbprint string
}

// The reference library is jose (npm, version in .ci/node/package.json), an
// implementation of RFC 7515 to 7519, 8037 and 7638 by somebody else: it takes
// our tokens by our published keys, and we take its tokens.
func TestCrossCheckedWithJose(t *testing.T) {
	node, err := exec.LookPath("node")
	if err != nil {
		t.Fatal("no node on this machine: ", err)
	}
	lib, err := filepath.Abs("../../.ci/node/node_modules/jose/dist/webapi/index.js")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(lib); err != nil {
		t.Fatalf("jose is missing (run .ci/tools): %v", err)
	}
	now := time.Now().Truncate(time.Second)
	set, err := NewKeySet(seeded(11), now.Add(-time.Hour))
	if err != nil {
		t.Fatal(err)
	}
	tokens := &Tokens{Issuer: "https://clinic.test", Keys: set}
	old, err := tokens.IssuePhone(Phone{Author: "a1"}, "jti-old-0123456789", now)
	if err != nil {
		t.Fatal(err)
	}
	if set, err = set.Rotate(seeded(12), now); err != nil {
		t.Fatal(err)
	}
	tokens.ReplaceKeys(set)
	phone, err := tokens.IssuePhone(Phone{Author: "a1"}, "jti-new-0123456789", now)
	if err != nil {
		t.Fatal(err)
	}
	staff, err := tokens.IssueStaff(StaffToken{Staff: "vega", Session: "s", Started: now, Scopes: ScopesFor("surgeon")}, "jti-staff-0123456", now)
	if err != nil {
		t.Fatal(err)
	}
	gone, err := NewKeySet(seeded(13), now)
	if err != nil {
		t.Fatal(err)
	}
	stranger, err := (&Tokens{Issuer: "https://clinic.test", Keys: gone}).IssuePhone(Phone{Author: "a1"}, "jti-other-0123456", now)
	if err != nil {
		t.Fatal(err)
	}
	in, err := json.Marshal(map[string]any{
		"issuer": tokens.Issuer, "jwks": json.RawMessage(set.JWKS()), "now": now.Unix(),
		"tokens":    map[string]string{"phone": phone, "rotated": old, "staff": staff, "stranger": stranger},
		"audiences": map[string]string{"phone": tokens.phoneAudience(), "rotated": tokens.phoneAudience(), "staff": tokens.fhirAudience(), "stranger": tokens.phoneAudience()},
		"private":   map[string]string{"kty": "OKP", "crv": "Ed25519", "x": b64.EncodeToString(set.Current.Public()), "d": b64.EncodeToString(set.Current.Private.Seed())},
		"kid":       set.Current.ID, "endpoint": tokens.Issuer + "/v1/token",
	})
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(node, "testdata/jose.mjs", "file://"+lib)
	cmd.Stdin = bytes.NewReader(in)
	text, err := cmd.Output()
	if err != nil {
		var said []byte
		if e, ok := err.(*exec.ExitError); ok {
			said = e.Stderr
		}
		t.Fatalf("jose: %v\n%s", err, said)
	}
	var got joseAnswer
	if err := json.Unmarshal(text, &got); err != nil {
		t.Fatalf("%v in %s", err, text)
	}
	if len(got.Verified) != 3 || len(got.Refused) != 1 || got.Refused[0] != "stranger" {
		t.Errorf("jose took %v and refused %v", got.Verified, got.Refused)
	}
	for i, k := range set.all() {
		if i >= len(got.Thumbs) || got.Thumbs[i] != k.ID {
			t.Errorf("key %d: id %s, jose's thumbprints %v", i, k.ID, got.Thumbs)
		}
	}
	p, err := tokens.ParsePhone(got.Tokens["good"], now)
	if err != nil || p.Author != "a1" {
		t.Errorf("a token of jose: %+v %v", p, err)
	}
	if len(got.Tokens) < 6 {
		t.Fatalf("jose made only %d tokens", len(got.Tokens))
	}
	for name, text := range got.Tokens {
		if _, err := tokens.ParsePhone(text, now); (err == nil) != (name == "good") {
			t.Errorf("token %q of jose: %v", name, err)
		}
	}
	key, err := ParsePhoneKey(got.AssertKey)
	if err != nil || key.Thumbprint != got.Thumbprint {
		t.Fatalf("phone key of jose: %v, thumbprint %s, jose's %s", err, key.Thumbprint, got.Thumbprint)
	}
	a, err := VerifyAssertion(got.Assertion, key, "a1", tokens.Issuer+"/v1/token", now)
	if err != nil || a.Nonce != "nonce" {
		t.Errorf("assertion of jose: %+v %v", a, err)
	}
}

package access

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/golang-jwt/jwt/v5"
)

// Every claim of another type than RFC 7519 section 4.1 gives it is refused, whatever the library would make of it, in all kinds
// of tokens alike: an exp as text was taken for a time.
func TestClaimsHaveTheirTypes(t *testing.T) {
	private, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	key := PhoneKey{Public: &private.PublicKey}
	tokens := testTokens(t)
	asPhone := func(payload string) error {
		text := rawToken(t, `{"alg":"ES256","typ":"JWT"}`, payload, jwt.SigningMethodES256, private)
		_, err := VerifyAssertion(text, key, "a1", tokenURL, noon)
		return err
	}
	signing := tokens.Keys.Current
	access := func(payload string) string {
		return rawToken(t, `{"alg":"EdDSA","typ":"at+jwt","kid":"`+signing.ID+`"}`, payload, jwt.SigningMethodEdDSA, signing.Private)
	}
	at := strconv.FormatInt(noon.Unix(), 10)
	until := strconv.FormatInt(noon.Add(time.Minute).Unix(), 10)
	good := map[string]struct {
		claims [][2]string
		parse  func(string) error
	}{
		"assertion": {[][2]string{{"iss", `"a1"`}, {"sub", `"a1"`}, {"aud", `"` + tokenURL + `"`}, {"jti", `"abcdefghijklmnopqrstuv"`}, {"nonce", `"n"`}, {"iat", at}, {"exp", until}}, asPhone},
		"phone's token": {[][2]string{{"iss", `"` + tokens.Issuer + `"`}, {"sub", `"a1"`}, {"client_id", `"a1"`}, {"aud", `["` + tokens.phoneAudience() + `"]`},
			{"jti", `"jti-0123456789"`}, {"scope", `"__exchange"`}, {"iat", at}, {"exp", until}},
			func(p string) error { _, err := tokens.ParsePhone(access(p), noon); return err }},
	}
	for kind, c := range good {
		build := func(name, value string) string {
			var parts []string
			for _, x := range c.claims {
				if x[0] == name {
					x[1] = value
				}
				parts = append(parts, fmt.Sprintf("%q:%s", x[0], x[1]))
			}
			return "{" + strings.Join(parts, ",") + "}"
		}
		if err := c.parse(build("", "")); err != nil {
			t.Fatalf("%s: the good one: %v", kind, err)
		}
		for _, x := range c.claims {
			odd := []string{`null`, `{}`, `true`, `[]`, `[1]`, `["a","a"]`}
			if x[0] == "iat" || x[0] == "exp" {
				odd = append(odd, `"`+x[1]+`"`, x[1]+".5", "1e300", "1.7e9", "-1", `"never"`, "99999999999999999999", "["+x[1]+"]")
			} else {
				odd = append(odd, "1", "1.5")
			}
			for _, value := range odd {
				if err := c.parse(build(x[0], value)); !errors.Is(err, ErrToken) {
					t.Errorf("%s, %s is %s: %v", kind, x[0], value, err)
				}
			}
			twice := strings.TrimSuffix(build("", ""), "}") + fmt.Sprintf(",%q:%s}", x[0], x[1])
			if err := c.parse(twice); !errors.Is(err, ErrToken) {
				t.Errorf("%s, %s twice: %v", kind, x[0], err)
			}
			loud := strings.TrimSuffix(build("", ""), "}") + fmt.Sprintf(",%q:%s}", strings.ToUpper(x[0]), x[1])
			if err := c.parse(loud); !errors.Is(err, ErrToken) {
				t.Errorf("%s, %s in capitals besides: %v", kind, x[0], err)
			}
		}
	}
	// What we issue ourselves passes, each kind by its reader.
	staff, err := tokens.IssueStaff(StaffToken{Staff: "s1", Session: "x", Started: noon, Scopes: ScopesFor("surgeon")}, "jti-0123456789", noon)
	if err == nil {
		_, err = tokens.ParseStaff(staff, noon)
	}
	if err != nil {
		t.Errorf("a session of staff: %v", err)
	}
}

// rawToken signs a payload as it stands.
func rawToken(t *testing.T, header, payload string, method jwt.SigningMethod, key any) string {
	t.Helper()
	if !json.Valid([]byte(payload)) {
		t.Fatalf("not JSON: %s", payload)
	}
	input := b64.EncodeToString([]byte(header)) + "." + b64.EncodeToString([]byte(payload))
	sig, err := method.Sign(input, key)
	if err != nil {
		t.Fatal(err)
	}
	return input + "." + b64.EncodeToString(sig)
}

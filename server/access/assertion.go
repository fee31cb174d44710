package access

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/golang-jwt/jwt/v5"
)

// AssertionLife is how long an assertion is good after its iat, which is the
// server's own time out of hello and never the phone's clock.
const AssertionLife = 60 * time.Second

// assertionType is the header type of a phone's assertion.
const assertionType = "JWT"

// ErrKey means that a posted key is not a public P-256 key as RFC 7517 and
// RFC 7518 section 6.2 write it.
var ErrKey = errors.New("key is not a public P-256 JWK")

// PhoneKey is the public key of one installation.
type PhoneKey struct {
	Public     *ecdsa.PublicKey
	Thumbprint string // RFC 7638
}

// ParsePhoneKey reads a JWK. A private key is refused: it should never have
// left the phone.
func ParsePhoneKey(text []byte) (PhoneKey, error) {
	if len(text) > 1024 {
		return PhoneKey{}, ErrKey
	}
	var j map[string]any
	if err := json.Unmarshal(text, &j); err != nil {
		return PhoneKey{}, ErrKey
	}
	if _, private := j["d"]; private {
		return PhoneKey{}, fmt.Errorf("%w: it holds a private key", ErrKey)
	}
	xText, _ := j["x"].(string)
	yText, _ := j["y"].(string)
	x, errX := b64.DecodeString(xText)
	y, errY := b64.DecodeString(yText)
	if j["kty"] != "EC" || j["crv"] != "P-256" || errX != nil || errY != nil || len(x) != 32 || len(y) != 32 {
		return PhoneKey{}, ErrKey
	}
	point := append(append([]byte{4}, x...), y...)
	public, err := ecdsa.ParseUncompressedPublicKey(elliptic.P256(), point)
	if err != nil {
		return PhoneKey{}, fmt.Errorf("%w: the point is not on the curve", ErrKey)
	}
	id := thumbprint("crv", "P-256", "kty", "EC", "x", xText, "y", yText)
	return PhoneKey{Public: public, Thumbprint: id}, nil
}

// Assertion is what a phone said with its signature (RFC 7523 section 3).
type Assertion struct {
	Author string
	ID     string // jti, to be used once
	Nonce  string // out of hello, to be checked
}

type assertionClaims struct {
	jwt.RegisteredClaims
	Nonce string `json:"nonce"`
}

func (c *assertionClaims) registered() *jwt.RegisteredClaims { return &c.RegisteredClaims }

// AssertionAuthor returns whom an assertion claims to be from, unverified:
// good for finding the row with the key and for nothing else.
func AssertionAuthor(text string) (string, error) {
	if len(text) > maxToken {
		return "", refused("too long")
	}
	var c assertionClaims
	if _, _, err := jwt.NewParser(jwt.WithStrictDecoding()).ParseUnverified(text, &c); err != nil {
		return "", refused("malformed")
	}
	if c.Issuer == "" || c.Issuer != c.Subject {
		return "", refused("iss and sub must both be the author")
	}
	return c.Issuer, nil
}

// VerifyAssertion checks an assertion of author, signed by key, made for the
// endpoint at audience. The caller still has to check the nonce and to see
// that the id was not used before: the id and not the text, because an ECDSA
// signature can be turned into another valid one. Errors are ErrToken.
func VerifyAssertion(text string, key PhoneKey, author, audience string, now time.Time) (Assertion, error) {
	var c assertionClaims
	kind := tokenKind{typ: assertionType, alg: "ES256", issuer: author, audience: audience}
	err := kind.parse(text, now, &c, func(kid string) (any, bool) {
		return key.Public, kid == "" || kid == key.Thumbprint
	})
	switch {
	case err != nil:
		return Assertion{}, err
	case c.Subject != author:
		return Assertion{}, refused("sub is not the author")
	case len(c.Audience) != 1:
		return Assertion{}, refused("more than one audience")
	case c.ExpiresAt.Sub(c.IssuedAt.Time) > AssertionLife+time.Second:
		return Assertion{}, refused("it would be good for too long")
	case len(c.ID) < 16 || len(c.ID) > 64 || !isBase64url(c.ID):
		return Assertion{}, refused("jti must be 16 to 64 letters of base64url")
	case c.Nonce == "":
		return Assertion{}, refused("nonce is missing")
	}
	return Assertion{Author: author, ID: c.ID, Nonce: c.Nonce}, nil
}

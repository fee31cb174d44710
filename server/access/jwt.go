package access

import (
	"errors"
	"fmt"
	"time"

	"github.com/golang-jwt/jwt/v5"
)

// Leeway is the clock difference that a token may show.
const Leeway = 30 * time.Second

// maxToken bounds what is parsed at all, in bytes.
const maxToken = 4096

// ErrToken is the one answer to every token that is not accepted. The text
// after it is for the log and names no content of the token.
var ErrToken = errors.New("token refused")

// ErrTokenExpired is ErrToken for a token that was good and has run out.
var ErrTokenExpired = fmt.Errorf("%w: it has expired", ErrToken)

func refused(why string) error { return fmt.Errorf("%w: %s", ErrToken, why) }

// tokenKind is the rule set of one kind of token (RFC 8725 section 3).
type tokenKind struct {
	typ      string // header type, compared exactly
	alg      string // the only algorithm
	issuer   string
	audience string
}

type claims interface {
	jwt.Claims
	registered() *jwt.RegisteredClaims
}

// parse verifies text against the kind and fills into. find returns the key
// for a key id, "" if the header has none.
func (k tokenKind) parse(text string, now time.Time, into claims, find func(kid string) (any, bool)) error {
	if len(text) > maxToken {
		return refused("too long")
	}
	parser := jwt.NewParser(
		jwt.WithValidMethods([]string{k.alg}),
		jwt.WithExpirationRequired(),
		jwt.WithIssuer(k.issuer),
		jwt.WithAudience(k.audience),
		jwt.WithLeeway(Leeway),
		jwt.WithIssuedAt(),
		jwt.WithStrictDecoding(),
		jwt.WithTimeFunc(func() time.Time { return now }),
	)
	_, err := parser.ParseWithClaims(text, into, func(t *jwt.Token) (any, error) {
		kid, err := k.checkHeader(t.Header)
		if err != nil {
			return nil, err
		}
		key, ok := find(kid)
		if !ok {
			return nil, refused("unknown key")
		}
		return key, nil
	})
	switch {
	case errors.Is(err, jwt.ErrTokenExpired) && !errors.Is(err, jwt.ErrTokenInvalidAudience) &&
		!errors.Is(err, jwt.ErrTokenInvalidIssuer):
		return ErrTokenExpired
	case errors.Is(err, ErrToken):
		return err
	case err != nil:
		return refused(reason(err))
	}
	if err := checkTypes(text); err != nil {
		return err
	}
	c := into.registered()
	if c.Subject == "" || c.ID == "" || c.IssuedAt == nil {
		return refused("sub, jti or iat is missing")
	}
	if !c.ExpiresAt.After(c.IssuedAt.Time) {
		return refused("exp is not after iat")
	}
	return nil
}

// headerNames is everything that a header of ours can hold. Refusing the
// rest covers crit and every way of bringing one's own key (jwk, jku, x5u,
// x5c), whatever else is registered later.
var headerNames = map[string]bool{"alg": true, "typ": true, "kid": true}

func (k tokenKind) checkHeader(header map[string]any) (kid string, err error) {
	for name := range header {
		if !headerNames[name] {
			return "", refused("header has a member that is not allowed")
		}
	}
	if typ, ok := header["typ"].(string); !ok || typ != k.typ {
		return "", refused("wrong type of token")
	}
	if header["alg"] != k.alg {
		return "", refused("wrong algorithm")
	}
	if raw, present := header["kid"]; present {
		kid, ok := raw.(string)
		if !ok || len(kid) != 43 || !isBase64url(kid) {
			return "", refused("odd key id")
		}
		return kid, nil
	}
	return "", nil
}

func isBase64url(s string) bool {
	for i := range len(s) {
		c := s[i]
		if !(c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '-' || c == '_') {
			return false
		}
	}
	return true
}

// reason names the library's error class without its text, which can hold
// parts of the token.
func reason(err error) string {
	for _, known := range []error{
		jwt.ErrTokenMalformed, jwt.ErrTokenSignatureInvalid, jwt.ErrTokenUnverifiable,
		jwt.ErrTokenInvalidAudience, jwt.ErrTokenInvalidIssuer, jwt.ErrTokenUsedBeforeIssued,
		jwt.ErrTokenNotValidYet, jwt.ErrTokenRequiredClaimMissing, jwt.ErrTokenInvalidClaims,
	} {
		if errors.Is(err, known) {
			return known.Error()
		}
	}
	return "not acceptable"
}

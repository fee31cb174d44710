package access

import (
	"errors"
	"slices"
	"sync/atomic"
	"time"

	"github.com/golang-jwt/jwt/v5"
)

// The scopes of phones. Names that begin with two underscores are our own
// (SMART App Launch, "scopes for requesting FHIR resources": implementer-
// specific scopes).
const (
	ScopeExchange = "__exchange"
	ScopeSealed   = "__sealed" // of a revoked phone: may send, gets nothing
)

// Lifetimes.
const (
	PhoneTokenLife = 15 * time.Minute
	SessionIdle    = 15 * time.Minute // a session not used for so long is over
	SessionLife    = 12 * time.Hour   // and after so long in any case
)

// accessType is the header type of RFC 9068 access tokens.
const accessType = "at+jwt"

// Tokens issues and reads the clinic's access tokens. Issuer is the public
// address of the server without a slash at the end. Keys are those it begins
// with; ReplaceKeys rotates them while it is in use.
type Tokens struct {
	Issuer string
	Keys   KeySet

	newer atomic.Pointer[KeySet]
}

// ReplaceKeys takes rotated keys into use.
func (t *Tokens) ReplaceKeys(keys KeySet) { t.newer.Store(&keys) }

// CurrentKeys returns the keys in use.
func (t *Tokens) CurrentKeys() KeySet {
	if newer := t.newer.Load(); newer != nil {
		return *newer
	}
	return t.Keys
}

// The audiences. A phone's token is of no use at the clinic's pages, and the
// other way round.
func (t *Tokens) phoneAudience() string  { return t.Issuer + "/v1" }
func (t *Tokens) clinicAudience() string { return t.Issuer + "/clinic" }
func (t *Tokens) fhirAudience() string   { return t.Issuer + "/fhir" }

// Claims of RFC 9068 section 2.2, with the session of staff beside them.
type accessClaims struct {
	jwt.RegisteredClaims
	ClientID string           `json:"client_id"`
	Scope    string           `json:"scope"`
	Session  string           `json:"sid,omitempty"`
	AuthTime *jwt.NumericDate `json:"auth_time,omitempty"`
}

func (c *accessClaims) registered() *jwt.RegisteredClaims { return &c.RegisteredClaims }

// Phone is what a phone's access token says.
type Phone struct {
	Author string
	Sealed bool
}

// IssuePhone signs an access token of PhoneTokenLife for an installation.
// jti is fresh and random.
func (t *Tokens) IssuePhone(p Phone, jti string, now time.Time) (string, error) {
	scope := ScopeExchange
	if p.Sealed {
		scope = ScopeSealed
	}
	return t.sign(&accessClaims{
		RegisteredClaims: jwt.RegisteredClaims{
			Issuer: t.Issuer, Subject: p.Author, Audience: jwt.ClaimStrings{t.phoneAudience()},
			IssuedAt: jwt.NewNumericDate(now), ExpiresAt: jwt.NewNumericDate(now.Add(PhoneTokenLife)), ID: jti,
		},
		ClientID: p.Author, Scope: scope,
	})
}

// ParsePhone reads a phone's access token. Errors are ErrToken.
func (t *Tokens) ParsePhone(text string, now time.Time) (Phone, error) {
	var c accessClaims
	if err := t.parse(text, t.phoneAudience(), now, &c); err != nil {
		return Phone{}, err
	}
	if c.ClientID != c.Subject || c.Session != "" {
		return Phone{}, refused("not a phone's token")
	}
	switch c.Scope {
	case ScopeExchange:
		return Phone{Author: c.Subject}, nil
	case ScopeSealed:
		return Phone{Author: c.Subject, Sealed: true}, nil
	}
	return Phone{}, refused("scope is not a phone's")
}

// StaffToken is what the session token of a member of staff says.
type StaffToken struct {
	Staff   string
	Session string
	Started time.Time // when the person signed in
	Issued  time.Time
	Expires time.Time
	Scopes  Scopes
}

// staffClient is the client id of the clinic's own pages.
const staffClient = "clinic"

// ErrSessionOver means that SessionLife has passed since the sign-in.
var ErrSessionOver = errors.New("the session is over")

// IssueStaff signs a session token that runs out after SessionIdle, and in
// any case SessionLife after the sign-in. The same token is good as a bearer
// at /fhir.
func (t *Tokens) IssueStaff(s StaffToken, jti string, now time.Time) (string, error) {
	until := now.Add(SessionIdle)
	if end := s.Started.Add(SessionLife); until.After(end) {
		until = end
	}
	if !until.After(now) {
		return "", ErrSessionOver
	}
	return t.sign(&accessClaims{
		RegisteredClaims: jwt.RegisteredClaims{
			Issuer: t.Issuer, Subject: s.Staff, Audience: jwt.ClaimStrings{t.clinicAudience(), t.fhirAudience()},
			IssuedAt: jwt.NewNumericDate(now), ExpiresAt: jwt.NewNumericDate(until), ID: jti,
		},
		ClientID: staffClient, Scope: s.Scopes.String(), Session: s.Session, AuthTime: jwt.NewNumericDate(s.Started),
	})
}

// ParseStaff reads the session token of staff. Errors are ErrToken. The
// leeway does not lengthen the idle time: the same server wrote it.
func (t *Tokens) ParseStaff(text string, now time.Time) (StaffToken, error) {
	return t.parseSession(text, t.clinicAudience(), now, staffClient)
}

// parseSession reads a token that belongs to a session of staff and was made
// for one of clients.
func (t *Tokens) parseSession(text, audience string, now time.Time, clients ...string) (StaffToken, error) {
	var c accessClaims
	if err := t.parse(text, audience, now, &c); err != nil {
		return StaffToken{}, err
	}
	if !slices.Contains(clients, c.ClientID) || c.Session == "" || c.AuthTime == nil {
		return StaffToken{}, refused("not a session of staff")
	}
	if !now.Before(c.ExpiresAt.Time) || !now.Before(c.AuthTime.Add(SessionLife)) {
		return StaffToken{}, ErrTokenExpired
	}
	scopes, err := ParseScopes(c.Scope)
	if err != nil {
		return StaffToken{}, refused("scope")
	}
	return StaffToken{Staff: c.Subject, Session: c.Session, Started: c.AuthTime.Time,
		Issued: c.IssuedAt.Time, Expires: c.ExpiresAt.Time, Scopes: scopes}, nil
}

// ownerFor is how long after its end a session token still says whose it was.
const ownerFor = 24 * time.Hour

// StaffOf returns whose session token this is, though it may have run out:
// good for keeping that person's form, and for nothing else. "" for no token
// of ours.
func (t *Tokens) StaffOf(text string, now time.Time) string {
	if len(text) > maxToken {
		return ""
	}
	var c accessClaims
	if _, _, err := jwt.NewParser(jwt.WithStrictDecoding()).ParseUnverified(text, &c); err != nil || c.IssuedAt == nil {
		return ""
	}
	if age := now.Sub(c.IssuedAt.Time); age < -Leeway || age > SessionLife+ownerFor {
		return ""
	}
	s, err := t.ParseStaff(text, c.IssuedAt.Time)
	if err != nil {
		return ""
	}
	return s.Staff
}

func (t *Tokens) sign(c *accessClaims) (string, error) {
	token := jwt.NewWithClaims(jwt.SigningMethodEdDSA, c)
	token.Header["typ"] = accessType
	current := t.CurrentKeys().Current
	token.Header["kid"] = current.ID
	return token.SignedString(current.Private)
}

func (t *Tokens) parse(text, audience string, now time.Time, c *accessClaims) error {
	kind := tokenKind{typ: accessType, alg: Alg, issuer: t.Issuer, audience: audience}
	keys := t.CurrentKeys()
	err := kind.parse(text, now, c, func(kid string) (any, bool) {
		key, ok := keys.find(kid)
		return key, ok
	})
	if err != nil {
		return err
	}
	if !slices.Contains(c.Audience, audience) || c.ClientID == "" || c.Scope == "" {
		return refused("client_id or scope is missing")
	}
	return nil
}

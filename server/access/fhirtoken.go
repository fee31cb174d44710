package access

import (
	"slices"
	"time"

	"github.com/golang-jwt/jwt/v5"
)

// FHIRTokenLife is how long a token for another program is good.
const FHIRTokenLife = SessionIdle

// programClient is the client id of a program to which a person gave a token.
const programClient = "program"

// IssueFHIR signs a token that is good at the FHIR door only, for a program
// that the person of the session trusts: it cannot change anything and ends
// with the session. Scopes are the person's own, reading and searching only.
func (t *Tokens) IssueFHIR(s StaffToken, jti string, now time.Time) (string, error) {
	until := now.Add(FHIRTokenLife)
	if end := s.Started.Add(SessionLife); until.After(end) {
		until = end
	}
	scopes := ReadOnly(s.Scopes)
	if !until.After(now) || len(scopes) == 0 {
		return "", ErrSessionOver
	}
	return t.sign(&accessClaims{
		RegisteredClaims: jwt.RegisteredClaims{
			Issuer: t.Issuer, Subject: s.Staff, Audience: jwt.ClaimStrings{t.fhirAudience()},
			IssuedAt: jwt.NewNumericDate(now), ExpiresAt: jwt.NewNumericDate(until), ID: jti,
		},
		ClientID: programClient, Scope: scopes.String(), Session: s.Session, AuthTime: jwt.NewNumericDate(s.Started),
	})
}

// ParseFHIR reads the bearer token of a request at the FHIR door: a session of
// staff, or a token made by IssueFHIR. Errors are ErrToken. Whether the
// session still stands is the caller's to look up.
func (t *Tokens) ParseFHIR(text string, now time.Time) (StaffToken, error) {
	return t.parseSession(text, t.fhirAudience(), now, staffClient, programClient)
}

// ReadOnly keeps the resource scopes, with reading and searching only.
func ReadOnly(s Scopes) (out Scopes) {
	for _, one := range s {
		if one.Level == "" {
			continue
		}
		acts := ""
		for _, a := range "rs" {
			if slices.Contains([]rune(one.Acts), a) {
				acts += string(a)
			}
		}
		if acts != "" {
			out = append(out, Scope{one.Level, one.Resource, acts})
		}
	}
	return out
}

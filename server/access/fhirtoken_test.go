package access

import (
	crand "crypto/rand"
	"errors"
	"testing"
	"time"
)

// A token for another program opens the FHIR door and no page of the clinic
// (RFC 9068 section 4: the audience is checked), may only read and search,
// and ends with the session at the latest.
func TestTokenForAProgram(t *testing.T) {
	now := time.Date(2026, 3, 2, 10, 0, 0, 0, time.UTC)
	keys, err := NewKeySet(crand.Reader, now.Add(-time.Hour))
	if err != nil {
		t.Fatal(err)
	}
	tokens := &Tokens{Issuer: "https://clinic.test", Keys: keys}
	s := StaffToken{Staff: "vega", Session: "s1", Started: now, Scopes: ScopesFor("surgeon")}
	text, err := tokens.IssueFHIR(s, "jti-0123456789", now)
	if err != nil {
		t.Fatal(err)
	}
	got, err := tokens.ParseFHIR(text, now.Add(FHIRTokenLife-time.Second))
	if err != nil || got.Staff != "vega" || got.Session != "s1" {
		t.Fatalf("%+v %v", got, err)
	}
	if !got.Scopes.Allows("user", "Observation", 'r') || !got.Scopes.Allows("user", "Observation", 's') {
		t.Errorf("cannot read: %s", got.Scopes)
	}
	for _, one := range got.Scopes {
		for _, act := range "cud" {
			if got.Scopes.Allows(one.Level, one.Resource, byte(act)) {
				t.Errorf("%s lets a program write", one)
			}
		}
	}
	if _, err := tokens.ParseStaff(text, now); !errors.Is(err, ErrToken) {
		t.Errorf("at the clinic's pages: %v", err)
	}
	if _, err := tokens.ParsePhone(text, now); !errors.Is(err, ErrToken) {
		t.Errorf("as a phone: %v", err)
	}
	if _, err := tokens.ParseFHIR(text, now.Add(FHIRTokenLife)); !errors.Is(err, ErrTokenExpired) {
		t.Errorf("after its end: %v", err)
	}
	phone, err := tokens.IssuePhone(Phone{Author: "a1"}, "jti-0123456789", now)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := tokens.ParseFHIR(phone, now); !errors.Is(err, ErrToken) {
		t.Errorf("a phone's token: %v", err)
	}
	session, err := tokens.IssueStaff(s, "jti-0123456789", now)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := tokens.ParseFHIR(session, now); err != nil {
		t.Errorf("the session's own token: %v", err)
	}
	s.Scopes = ScopesFor("administrator")
	if text, err := tokens.IssueFHIR(s, "jti-0123456789", now); err == nil {
		t.Errorf("an administrator has nothing to read, and got %q", text)
	}
}

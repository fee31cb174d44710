package ledger

import (
	"errors"
	"time"

	"unsling/engine/rom"
)

// Factors is what a person signs in with beside the password. Every secret
// in it is hashed, public, or sealed under a key that is not in the store.
type Factors struct {
	Passkeys []Passkey `json:"passkeys,omitempty"`
	TOTP     *TOTP     `json:"totp,omitempty"`
	// Recovery are the hashes of the recovery codes that are left.
	Recovery     []string  `json:"recovery,omitempty"`
	RecoveryMade time.Time `json:"recovery_made,omitzero"`
}

// Passkey is one WebAuthn credential.
type Passkey struct {
	ID     string    `json:"id"`   // base64url credential id
	Name   string    `json:"name"` // as the person calls it
	Record []byte    `json:"record"`
	Added  time.Time `json:"added"`
	Used   time.Time `json:"used,omitzero"`
}

// TOTP is the time-based one-time password of an authenticator app.
type TOTP struct {
	Secret []byte    `json:"secret"` // sealed, see package access
	Since  time.Time `json:"since"`
	Step   int64     `json:"step"` // the last one that was used
}

// Any reports whether there is a second factor at all.
func (f Factors) Any() bool { return len(f.Passkeys) > 0 || f.TOTP != nil }

// StaffInvitation lets a person set up the own sign-in, once.
type StaffInvitation struct {
	MAC   string      `json:"mac"` // of the secret in the link
	Made  time.Time   `json:"made"`
	Until time.Time   `json:"until"`
	By    rom.StaffID `json:"by"`
	// Reset is set for a person who signs in already: it is good once Second,
	// another than By, has confirmed it.
	Reset  bool        `json:"reset,omitempty"`
	Second rom.StaffID `json:"second,omitempty"`
}

// ErrLastAdministrator means that nobody would be left to look after the
// clinic's staff.
var ErrLastAdministrator = errors.New("this is the last administrator who can sign in")

// CanSignIn reports whether there is anything to sign in with.
func (s Staff) CanSignIn() bool {
	return !s.Disabled && (s.Password != "" || len(s.Factors.Passkeys) > 0)
}

// Weaker reports whether s has lost or replaced something that old signed in
// with, or has another role: then every session that is open has to end.
func (s Staff) Weaker(old Staff) bool {
	if s.Disabled || s.Role != old.Role || s.Password != old.Password {
		return true
	}
	if old.Factors.TOTP != nil && (s.Factors.TOTP == nil || string(s.Factors.TOTP.Secret) != string(old.Factors.TOTP.Secret)) {
		return true
	}
	kept := map[string]bool{}
	for _, p := range s.Factors.Passkeys {
		kept[p.ID] = true
	}
	for _, p := range old.Factors.Passkeys {
		if !kept[p.ID] {
			return true
		}
	}
	return false
}

// Accounts is what the pages of accounts need.
type Accounts interface {
	// ChangeStaff lets change alter the person's row and writes it, in one
	// transaction that nobody else writes beside; act names it in the audit
	// log. An error of change comes back as it is, and nothing is written.
	// Sessions of a row that has become Weaker end with the same transaction.
	// ErrLastAdministrator if nobody would be left. The login cannot change.
	ChangeStaff(id rom.StaffID, act string, trail Trail, change func(*Staff) error) (Staff, error)

	// NextSession ends a session and starts the one that takes its place, of
	// the same person; ErrState if the old one has ended.
	NextSession(old string, next Session, trail Trail) error
	// Sessions returns a person's sessions that have not been ended.
	Sessions(rom.StaffID) ([]Session, error)

	// Breaks returns every emergency access ever given, newest first.
	Breaks() ([]Glass, error)
	// EndGlass ends an emergency access now; ErrUnknown if there is none open.
	EndGlass(p rom.PatientID, who rom.StaffID, trail Trail) error
}

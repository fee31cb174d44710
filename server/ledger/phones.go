package ledger

import (
	"time"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// InvitationKind says how an invitation reaches the patient, and with that
// how long it is good and what else is asked for.
type InvitationKind string

// The kinds of invitation.
const (
	AtDesk   InvitationKind = "desk"      // on the clinic's screen, 15 minutes
	TakeHome InvitationKind = "take-home" // printed, 7 days, with a number said aloud
	InDemo   InvitationKind = "demo"      // invented clinic, 24 hours
)

// Invitation lets one phone into one patient's log. Its secrets are known to
// the store by their HMAC only (access.CodeMAC); either uses it up.
type Invitation struct {
	ID      string         `json:"id"`
	Patient rom.PatientID  `json:"patient"`
	Kind    InvitationKind `json:"kind"`
	Secrets []string       `json:"secrets"`       // HMAC of the QR secret and, at the desk, of the typed code
	PIN     string         `json:"pin,omitempty"` // HMAC of the spoken number, take-home only
	By      rom.StaffID    `json:"by,omitempty"`
	// Replaces names the phones whose access ends at the moment in which the
	// new one is let in; empty when it comes beside them.
	Replaces []rom.Author `json:"replaces,omitempty"`
	Made     time.Time    `json:"made"`
	Until    time.Time    `json:"until"`
	Tries    int          `json:"tries,omitempty"` // wrong tries so far
	UsedBy   rom.Author   `json:"used_by,omitempty"`
	UsedAt   time.Time    `json:"used_at,omitzero"`
}

// MaxTries is the number of wrong tries after which an invitation is dead.
const MaxTries = 5

// MaxPhones bounds how many installations one patient can have, copies and
// revoked ones included.
const MaxPhones = 32

// AuthorState is whether a phone may exchange.
type AuthorState string

// The states of an author.
const (
	Pending AuthorState = "pending" // staff have not yet compared the numbers
	Active  AuthorState = "active"
	Revoked AuthorState = "revoked" // what it sends is sealed, it gets no data
)

// Author is one installation of the app that was let into one patient's log.
type Author struct {
	ID         rom.Author    `json:"id"`
	Patient    rom.PatientID `json:"patient"`
	State      AuthorState   `json:"state"`
	Key        []byte        `json:"key"`        // public P-256 JWK as sent
	Thumbprint string        `json:"thumbprint"` // RFC 7638, of Key
	Name       string        `json:"name"`       // what the phone calls itself
	Check      string        `json:"check"`      // the number both screens show
	Invitation string        `json:"invitation"`
	CopyOf     rom.Author    `json:"copy_of,omitempty"` // whose copy it was before it registered
	Enrolled   time.Time     `json:"enrolled"`
	Revoked    time.Time     `json:"revoked,omitzero"`

	// What its last exchange said. LastSeen is the server's clock.
	LastSeen       time.Time `json:"last_seen,omitzero"`
	App            string    `json:"app,omitempty"`
	Following      int       `json:"following"` // plan revision the phone obeys, 0 for none
	FollowingSince time.Time `json:"following_since,omitzero"`
	Mark           wire.Mark `json:"-"` // how far the log has this author
	SealedMark     wire.Mark `json:"-"` // how far its sealed lines go, Revoked only
	BackedUp       int64     `json:"-"` // highest n inside a verified backup
}

// Enrolment asks to use an invitation for one installation.
type Enrolment struct {
	Secret     string     // HMAC of what was scanned or typed
	PIN        string     // HMAC of the spoken number, "" if none was given
	Author     rom.Author // random id chosen by the installation
	Key        []byte     // its public JWK
	Thumbprint string
	Name       string
	Check      string // two digits for both screens
	Confirm    bool   // leave the author pending until staff confirm
	At         time.Time
}

// QuarantineKind says why a line was set aside.
type QuarantineKind string

// The reasons for quarantine.
const (
	Forked    QuarantineKind = "fork"      // other bytes at an (author, n) that the log has
	Malformed QuarantineKind = "malformed" // not JSON, or does not follow the line before it
)

// Quarantined is one line set aside.
type Quarantined struct {
	Author rom.Author
	N      int64
	Hash   wire.Hash
	Kind   QuarantineKind
	At     time.Time
	Bytes  []byte
}

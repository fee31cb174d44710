package ledger

import (
	"time"

	"unsling/engine/rom"
)

// Role is what a member of staff is to the clinic. One person has one role.
type Role string

// The roles. What each may do is one table in package access.
const (
	Surgeon       Role = "surgeon"
	Therapist     Role = "therapist"
	Assistant     Role = "assistant"
	Administrator Role = "administrator" // staff, keys, backups; no clinical data
)

// Valid reports whether r is one of the roles.
func (r Role) Valid() bool {
	switch r {
	case Surgeon, Therapist, Assistant, Administrator:
		return true
	}
	return false
}

// Staff is one person who signs in at the clinic.
type Staff struct {
	ID       rom.StaffID `json:"id"`
	Login    string      `json:"login"` // lower case, unique in the clinic
	Name     string      `json:"name"`
	Role     Role        `json:"role"`
	Password string      `json:"password"` // PHC string, see access.Passwords
	Disabled bool        `json:"disabled,omitempty"`
	Added    time.Time   `json:"added"`

	// Factors is what the person signs in with beside the password, and
	// Invited the invitation to set that up, nil for none.
	Factors Factors          `json:"factors,omitzero"`
	Invited *StaffInvitation `json:"invited,omitempty"`
}

// Session is one sign-in of one member of staff. It ends at Until at the
// latest, whatever the token in the browser says.
type Session struct {
	ID      string      `json:"id"`
	Staff   rom.StaffID `json:"staff"`
	Started time.Time   `json:"started"`
	Until   time.Time   `json:"until"`
	Ended   time.Time   `json:"ended,omitzero"`

	// Checked is when the person last proved who it is, zero for at Started.
	Checked time.Time `json:"checked,omitzero"`
	// How the person signed in: "passkey", "password", or "password and code".
	How string `json:"how,omitempty"`
	// Bare sessions open nothing but the own account: the clinic asks for a
	// second factor, and the person has none yet.
	Bare bool `json:"bare,omitempty"`
}

// LastChecked is when the person last proved who it is.
func (s Session) LastChecked() time.Time {
	if s.Checked.IsZero() {
		return s.Started
	}
	return s.Checked
}

// Live reports whether the session still stands at the instant at.
func (s Session) Live(at time.Time) bool { return s.Ended.IsZero() && at.Before(s.Until) }

// Patient is what the clinic knows of a person beside the log. It never
// leaves the server for the phone.
type Patient struct {
	ID      rom.PatientID `json:"id"`
	Name    string        `json:"name"`
	Born    string        `json:"born,omitempty"`   // civil date, 2006-01-02
	Number  string        `json:"number,omitempty"` // the clinic's own number for the person
	Phone   string        `json:"phone,omitempty"`
	Zone    string        `json:"zone"` // IANA zone of the patient's home
	Lang    string        `json:"lang"` // of the phone's words, such as "en"
	Note    string        `json:"note,omitempty"`
	Created time.Time     `json:"created"`

	// Restricted is set while processing is restricted; only
	// Restricting.Restrict and Lift change it.
	Restricted *Restriction `json:"restricted,omitempty"`
}

// RestrictedBy is who restricted processing, "" while nobody has.
func (p Patient) RestrictedBy() rom.StaffID {
	if p.Restricted == nil {
		return ""
	}
	return p.Restricted.By
}

// Restriction says that a patient's data may be kept and looked at and not
// otherwise processed (GDPR article 18), by whom and why.
type Restriction struct {
	By     rom.StaffID `json:"by"`
	At     time.Time   `json:"at"`
	Reason string      `json:"reason"`
}

// Member is one place in a patient's care team.
type Member struct {
	Staff rom.StaffID `json:"staff"`
	Since time.Time   `json:"since"`
	By    rom.StaffID `json:"by"`
}

// Glass is emergency access of one person to one patient outside the care
// team: with a reason, for a limited time, and the team is told.
type Glass struct {
	Patient rom.PatientID `json:"patient"`
	Staff   rom.StaffID   `json:"staff"`
	Reason  string        `json:"reason"`
	From    time.Time     `json:"from"`
	Until   time.Time     `json:"until"`
}

// Clinic is the practice itself.
type Clinic struct {
	Name       string            `json:"name"`
	Phone      string            `json:"phone"`
	AfterHours string            `json:"after_hours"` // number outside the clinic's hours
	Zone       string            `json:"zone"`        // IANA zone
	Hours      []Hours           `json:"hours"`
	Deputy     rom.StaffID       `json:"deputy,omitempty"`
	Demo       bool              `json:"demo,omitempty"`    // invented clinic, said so on every page
	Confirm    bool              `json:"confirm,omitempty"` // enrolment waits until both screens show the same number
	Settings   map[string]string `json:"settings,omitempty"`
}

// Monitoring reports whether the clinic has what it needs to watch patients:
// hours, a number outside them, and a deputy.
func (c Clinic) Monitoring() bool {
	return len(c.Hours) > 0 && c.Phone != "" && c.AfterHours != "" && c.Deputy != ""
}

// Hours is one span of one weekday in which findings are worked on.
type Hours struct {
	Day      time.Weekday `json:"day"`
	From, To int          // minutes after midnight in the clinic's zone
}

// Adoption is a document that a surgeon of this clinic reviewed and made the
// clinic's own, such as a protocol. Later ones of the same name replace
// earlier ones for new prescriptions; none is ever removed.
type Adoption struct {
	Name    string      `json:"name"` // such as "cuff-repair-small"
	Version int         `json:"version"`
	By      rom.StaffID `json:"by"`
	At      time.Time   `json:"at"`
	Hash    string      `json:"hash"` // base64url SHA-256 of Body
	Body    []byte      `json:"body"` // the very text that was reviewed
	Note    string      `json:"note,omitempty"`
}

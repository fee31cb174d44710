package ledger

import (
	"context"
	"time"

	"unsling/engine/rom"
)

// Store is everything the server keeps. Users declare the part they need as
// an interface of their own; one value serves all. Methods may be called from
// many goroutines.
type Store interface {
	Staffing
	Accounts
	Patients
	Phones
	Log
	Audits
	Erasing
	Restricting
	Archive
	Upkeep
}

// Staffing is the clinic and the people who work there.
type Staffing interface {
	// Clinic returns the practice; ErrUnknown before SetClinic.
	Clinic() (Clinic, error)
	SetClinic(Clinic, Trail) error

	// AddStaff adds a person; ErrTaken if id or login is in use.
	AddStaff(Staff, Trail) error
	// PutStaff replaces the row of the same id. Disabling somebody ends all
	// of the person's sessions with the same transaction.
	PutStaff(Staff, Trail) error
	Staff(rom.StaffID) (Staff, error)
	StaffByLogin(login string) (Staff, error)
	AllStaff() ([]Staff, error)

	// Look returns what a person had seen of the watch list when it was last
	// marked as seen; ErrUnknown before the first SetLook. It is a comfort: a
	// restore does not bring it back.
	Look(rom.StaffID) (Look, error)
	SetLook(Look, Trail) error

	StartSession(Session, Trail) error
	// Session returns the sign-in and the person as they stand now. Ask on
	// every request; a disabled person's sessions are ended.
	Session(id string) (Session, Staff, error)
	EndSession(id string, trail Trail) error

	// Adopt appends an adoption; its version must be one above the newest of
	// that name (1 for the first), else ErrTaken.
	Adopt(Adoption, Trail) error
	// Adoptions returns all of them, by name and then version.
	Adoptions() ([]Adoption, error)
}

// Patients are the rows beside the logs, and who looks after whom.
type Patients interface {
	// CreatePatient makes the row, a fresh content key, the care team and the
	// first clinic records of the log. ErrTaken if the id is in use.
	CreatePatient(Patient, []rom.StaffID, []Draft, Trail) error
	Patient(rom.PatientID) (Patient, error)
	PutPatient(Patient, Trail) error

	// Panel returns the patients in whose care team the person is, each with
	// the facts of its log, by id. With "" it returns every patient (the
	// upkeep jobs need that, no page does).
	Panel(rom.StaffID) ([]PanelRow, error)
	// Heads is Panel without the facts themselves: Facts has Version and Seq
	// only. It costs the same however long the logs are.
	Heads(rom.StaffID) ([]PanelRow, error)

	// Team returns the care team; ErrUnknown for no such patient.
	Team(rom.PatientID) ([]Member, error)
	// SetTeam adds and removes. A team of none is refused with ErrState.
	SetTeam(p rom.PatientID, add, remove []rom.StaffID, trail Trail) error

	// BreakGlass grants emergency access and audits it with the reason.
	BreakGlass(Glass, Trail) error
	// Glass returns the grants that a person holds at an instant, and
	// GlassOn those ever given on a patient, newest first.
	Glass(who rom.StaffID, at time.Time) ([]Glass, error)
	GlassOn(rom.PatientID) ([]Glass, error)
}

// PanelRow is one patient on a list.
type PanelRow struct {
	Patient Patient
	Facts   Facts
	Phones  []Author
	// Quarantined is how many lines of the log are set aside.
	Quarantined int
}

// Phones are the installations and the invitations that let them in.
type Phones interface {
	// Invite stores an invitation; ErrTaken if a secret is in use.
	Invite(Invitation, Trail) error
	// Invitations returns those of a patient, newest first.
	Invitations(rom.PatientID) ([]Invitation, error)

	// Enrol uses an invitation and makes the author's row in one
	// transaction. The same secret, author and key again return the same row.
	// ErrUnknown, ErrExpired, ErrUsed, ErrWrongPIN, ErrTooMany, and
	// ErrDeviceTaken if the id or the key belongs to another enrolment. A
	// wrong PIN and a taken device are counted as tries even though the
	// method returns an error. A phone of the same patient that is active may
	// use a further invitation up: its row stays as it is, and the clinic's
	// word that it belongs to the patient is given anew. The phones that the
	// invitation replaces are revoked in the same transaction, or, when staff
	// must confirm, with ConfirmAuthor.
	Enrol(Enrolment, Trail) (Author, error)

	// Register makes a row for a copied phone that takes a new id and key
	// (replica rule 12), for the same patient and in the same state as old.
	// Secret and PIN of e are not asked for. The same again returns the same
	// row. ErrState unless old is active, ErrDeviceTaken, and ErrTooMany
	// beyond MaxPhones of one patient.
	Register(old rom.Author, e Enrolment, trail Trail) (Author, error)

	// Author returns the row as it stands. Ask on every request.
	Author(rom.Author) (Author, error)
	Authors(rom.PatientID) ([]Author, error)
	// ConfirmAuthor makes a pending author active, and revokes the phones that
	// its invitation replaces; ErrState otherwise.
	ConfirmAuthor(rom.Author, Trail) error
	// RevokeAuthor is final.
	RevokeAuthor(rom.Author, Trail) error
}

// Log is the patients' logs.
type Log interface {
	// Exchange is one exchange with one phone: it accepts what follows the
	// author's mark, and reads the log from where the phone stands.
	Exchange(ExchangeRequest) (ExchangeReply, error)

	// Append adds clinic records. A plan or an episode among them is refused
	// (ErrStale, as a *StaleError) unless it follows the newest revision of
	// its episode, and a plan with replica.ErrPlanLost while a phone follows a revision
	// that this store does not have. base may be nil.
	Append(rom.PatientID, []Draft, *Base, Trail) ([]Line, error)

	// Read returns up to max lines from seq on (0 for max: all).
	Read(p rom.PatientID, from int64, max int) ([]Line, error)
	// Facts returns the facts of the log as the store's fold makes them.
	Facts(rom.PatientID) (Facts, error)

	Quarantine(rom.PatientID) ([]Quarantined, error)
	// Sealed returns the lines kept apart from a revoked author.
	Sealed(rom.Author) ([]Line, error)
	// Release appends sealed lines to the log, in their order. The author
	// stays revoked.
	Release(rom.Author, Trail) ([]Line, error)
}

// Audits is the audit log.
type Audits interface {
	// Note writes an entry for an act that changes nothing else, such as
	// reading a patient's page.
	Note(Entry) error
	// Audit returns up to max entries from seq on.
	Audit(from int64, max int) ([]Entry, error)
}

// Upkeep is what the operator needs.
type Upkeep interface {
	About() (About, error)
	// NewEpoch begins another life of the store, with a new clinic author.
	NewEpoch(Trail) (About, error)
	// SetRoom says how much room is left on the disk. Below Plenty, what
	// phones send and new patients are refused with ErrFull; at None every
	// write is, but for Erase. Reading goes on.
	SetRoom(Room)
	// Health tries a write and a read, and returns sizes.
	Health() (Health, error)
	// Verify walks everything: chains, hashes, marks, the audit log, and
	// facts against a fresh fold. Findings are in the report; the error is
	// for a walk that could not be finished.
	Verify(context.Context) (Report, error)
	// Tidy gives back space that old facts take. Run it daily; nothing of a
	// log is touched.
	Tidy() error
	Close() error
}

// About names this life of the store.
type About struct {
	Epoch  string     `json:"epoch"`
	Clinic rom.Author `json:"clinic"` // author of the clinic's lines in this epoch
	Since  time.Time  `json:"since"`
	Schema int        `json:"schema"`
}

// Room is how much is left on the disk.
type Room int

// The levels of room.
const (
	Plenty Room = iota
	Little
	None
)

// Health is how the store is.
type Health struct {
	Bytes    int64 // on disk
	Patients int
	Audit    int64 // entries
}

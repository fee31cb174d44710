package ledger

import (
	"time"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// Erasing destroys what was written about a patient. It takes two people.
type Erasing interface {
	// AskErasure notes that somebody asks for a patient's erasure; asking
	// again replaces the first. ErrErased if it is done already.
	AskErasure(p rom.PatientID, by rom.StaffID, trail Trail) error
	// DropErasure takes the question back; ErrState if there is none.
	DropErasure(p rom.PatientID, trail Trail) error
	// Erase destroys the patient's content key, and with it everything that
	// is encrypted under it: row, log, quarantine, sealed lines, facts. Names
	// beside it are blanked. by must be another person than who asked, within
	// ErasureWindow, else ErrState. Ids, hashes and the audit log stay.
	//
	// The key is gone from the store's rows when it returns. Purged in the
	// receipt tells whether older copies of it are gone from the store's
	// files too; if not, Tidy does it.
	Erase(p rom.PatientID, by rom.StaffID, trail Trail) (Erasure, error)
	// Erasures returns the questions and the receipts, by patient.
	Erasures() ([]Erasure, error)
}

// ErasureWindow is how long a question for erasure stands.
const ErasureWindow = 14 * 24 * time.Hour

// Erasure is a question for erasure and, once done, its receipt.
type Erasure struct {
	Patient rom.PatientID `json:"patient"`
	AskedBy rom.StaffID   `json:"asked_by"`
	AskedAt time.Time     `json:"asked_at"`
	By      rom.StaffID   `json:"by,omitempty"`
	At      time.Time     `json:"at,omitzero"`  // zero until it is done
	Log     wire.Cursor   `json:"log,omitzero"` // end of the log that was erased
	Phones  int           `json:"phones,omitempty"`
	Purged  bool          `json:"purged,omitempty"`
}

// Done reports whether the patient was erased.
func (e Erasure) Done() bool { return !e.At.IsZero() }

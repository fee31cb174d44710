package rom

// The identifiers. All are random except StaffID, which a clinic chooses.
type (
	PatientID string
	EpisodeID string
	SessionID string
	StaffID   string
	// Author is one installation of the app, or the ledger of a clinic
	// (those begin with "c-" and are new with every epoch).
	Author string
)

// FromClinic reports whether a is a clinic's ledger.
func (a Author) FromClinic() bool { return len(a) > 2 && a[:2] == "c-" }

// Ref names one record for ever: the n-th of its author in one patient's log.
type Ref struct {
	Author Author `json:"author"`
	N      int64  `json:"n"`
}

// IsZero reports whether r names no record.
func (r Ref) IsZero() bool { return r == Ref{} }

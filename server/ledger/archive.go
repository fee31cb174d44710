package ledger

import (
	"iter"
	"time"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// Archive is what backups need of the store.
type Archive interface {
	// Backup returns what the store remembers of its continuous backup.
	Backup() (BackupState, error)

	// Export gives f everything that came after what the store remembers as
	// backed up, of one consistent state; with whole it gives everything.
	// Rows of the same space and key that come later replace earlier ones.
	// What cannot be read is left out and named in Exported.Damaged.
	// ErrWentBack means that the store has less than was backed up.
	Export(whole bool, f func(Row) error) (Exported, error)

	// SetBackedUp remembers a verified backup of what was exported, and
	// raises every author's highest n inside a verified backup.
	SetBackedUp(BackupState, Exported, Trail) error

	// Import fills a store that is empty with the rows of exports in their
	// order, applies what is final, and begins a new epoch. A store in which
	// an import did not finish is not opened again.
	Import(rows iter.Seq2[Row, error], final Final, trail Trail) (Imported, error)
}

// Space says what a row of an export is. Keys are ids, with numbers in
// decimal, divided by slashes.
type Space string

// The spaces. "Sealed" values are encrypted under the patient's content key.
const (
	SpaceClinic   Space = "clinic"   // no key: JSON of Clinic
	SpaceStaff    Space = "staff"    // staff: JSON of Staff
	SpaceLogin    Space = "login"    // login: JSON of the staff id that it belongs to, former logins included
	SpaceAdoption Space = "adoption" // name/version: JSON of Adoption
	SpaceKey      Space = "key"      // patient: the wrapped content key; never written beside the rest
	SpacePatient  Space = "patient"  // patient: sealed JSON of Patient
	SpaceBeside   Space = "beside"   // patient: sealed JSON of Beside
	SpaceErased   Space = "erased"   // patient: JSON of Erased, in place of the three above
	SpaceLine     Space = "line"     // patient/seq: author, n and hash in clear, the line sealed
	SpaceAside    Space = "aside"    // patient/author/n/hash: what was set aside, the line sealed
	SpaceSealed   Space = "sealed"   // patient/author/n: as line, of a revoked phone
	SpaceErasure  Space = "erasure"  // patient: JSON of Erasure
	SpaceAudit    Space = "audit"    // seq: hash of the chain, then the entry's JSON
)

// Row is one row of an export.
type Row struct {
	Space Space
	Key   string
	Value []byte
}

// Beside is what there is of a patient beside the row and the log.
type Beside struct {
	Team        []Member     `json:"team"`
	Glass       []Glass      `json:"glass,omitempty"`
	Phones      []Author     `json:"phones,omitempty"`
	Invitations []Invitation `json:"invitations,omitempty"`
}

// Erased is what is left of a patient whose content key was destroyed: the
// phones are kept, without their names, so that they can be told.
type Erased struct {
	Phones []Author `json:"phones,omitempty"`
}

// BackupState is what the store remembers of its continuous backup. The zero
// value is none.
type BackupState struct {
	Series   string    `json:"series"`  // the run of segments in the backup's folder
	Segment  int       `json:"segment"` // the last one that was verified there
	Sum      string    `json:"sum"`     // its SHA-256, hexadecimal
	At       time.Time `json:"at"`
	Audit    Head      `json:"audit"` // end of the audit chain inside the backup
	Patients int       `json:"patients"`
	Lines    int64     `json:"lines"`

	// Damaged are patients of whom something could not be read; they are
	// tried again each time.
	Damaged []rom.PatientID `json:"damaged,omitempty"`
	// Behind says that something was written since.
	Behind bool `json:"-"`
}

// Head is the end of the audit chain.
type Head struct {
	Seq  int64  `json:"seq"`
	Hash string `json:"hash"`
}

// Exported is what an export came to.
type Exported struct {
	Rows    map[Space]int64
	Audit   Head
	Logs    map[rom.PatientID]Extent // of the patients that it holds something of
	New     int                      // patients that no earlier export held
	Damaged []rom.PatientID
	// Final is set when something became final since the last export.
	Final *Final
}

// Extent is how much of one patient's log is in the exports so far.
type Extent struct {
	Series string               `json:"series"`
	Log    wire.Cursor          `json:"log"`
	Aside  int                  `json:"aside,omitempty"`
	Sealed map[rom.Author]int64 `json:"sealed,omitempty"`
	Marks  map[rom.Author]int64 `json:"marks,omitempty"` // phones only
}

// Final is what no restore may take back.
type Final struct {
	Revoked  map[rom.Author]time.Time `json:"revoked,omitempty"`
	Disabled []rom.StaffID            `json:"disabled,omitempty"`
	Erased   []Erasure                `json:"erased,omitempty"`
}

// Imported is what a restore came to.
type Imported struct {
	About    About
	Audit    Head // as imported, before the restore's own entries
	Patients int
	Lines    int64
	Entries  int64
	Revoked  int // phones that only Final had as revoked
	Erased   int // patients that only Final had as erased
	Disabled int // members of staff that only Final had as disabled
	// Unreadable are patients without a content key, who were not erased.
	Unreadable []rom.PatientID
}

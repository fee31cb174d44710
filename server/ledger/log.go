package ledger

import (
	"encoding/json"
	"time"

	"unsling/engine/rom"
)

// Line is one record of a patient's log as it was written.
type Line struct {
	Seq    int64
	Author rom.Author
	N      int64
	Hash   string // base64url SHA-256 of Bytes
	Bytes  []byte // without line feed; nil when Erased
	Erased bool
}

// Draft is a clinic record before the store gives it author, n, prev and
// salt.
type Draft struct {
	Kind string          // one of the clinic kinds of sync/wire
	V    int             // version of the kind
	Body json.RawMessage // with the staff id inside
	Rev  int             // plan revision in force, 0 for none
	At   time.Time       // with the offset of the clinic's zone
	Zone string          // IANA zone
}

// Base is the plan revision a change was made from, and the one it makes.
// The first revision of an episode has Base 0.
type Base struct {
	Episode rom.EpisodeID
	Base    int
	New     int
}

// Cursor is how far a phone has the log of its patient.
type Cursor struct {
	Seq  int64
	Hash string // "" at 0
}

// ExchangeRequest is one exchange as the store sees it. The patient is that
// of the author's row.
type ExchangeRequest struct {
	Author    rom.Author
	Epoch     string
	From      int64 // n of the first line
	Lines     [][]byte
	Since     Cursor
	Following int
	App       string
	At        time.Time

	MaxLines, MaxBytes int // of the reply
	Trail              Trail
}

// ExchangeReply is what an exchange came to. Code is empty or one of the
// wire's error codes (gap, fork); with a code nothing past the fault was
// stored, and Ack still tells the mark.
type ExchangeReply struct {
	Code     string
	Epoch    string
	State    AuthorState
	Ack      Mark
	BackedUp int64
	Lines    []Line // the log from Since on; none for a revoked phone
	More     bool
	Head     Cursor
	Rewound  bool // Since was not of this log: Lines begin at 1
}

// Facts is what the fold made of a log. Data is nil for an empty log.
type Facts struct {
	Version int
	Seq     int64 // of the last line folded
	Data    []byte
}

// Fold turns lines into facts. Add is pure: it must not depend on the clock,
// and adding in one go or in parts must give the same bytes, because Verify
// compares them. A line that Add does not understand is skipped by it.
type Fold struct {
	Version int // changes whenever Add's result for the same lines changes
	Add     func(facts []byte, lines []Line) ([]byte, error)
}

// Report is what Verify saw.
type Report struct {
	Patients, Lines, Authors, Entries int
	Faults                            []Fault
}

// Fault is one thing that is not as it was written.
type Fault struct {
	Patient rom.PatientID
	Seq     int64
	What    string // one sentence without patient data
}

package ledger

import (
	"encoding/json"
	"time"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// Line is one record of a patient's log as it was written.
type Line struct {
	Seq    int64
	Author rom.Author
	N      int64
	Hash   wire.Hash // of Bytes, or of what was erased
	Bytes  []byte    // without line feed; nil when Erased
	Erased bool
}

// Draft is a clinic record before the store gives it author, n, prev and
// salt.
type Draft struct {
	Kind wire.Kind
	V    int             // version of the body, see wire.EncodeBody
	Body json.RawMessage // names the member of staff
	Rev  int             // plan revision in force, 0 for none
	At   time.Time       // with the offset of the clinic's zone
	Zone string          // IANA name of that zone
}

// Base is the plan revision a change was made from, and the one it makes.
// The first revision of an episode has Base 0. It has to agree with the plan
// among the drafts; without plan among them it only says that the newest
// revision must still be Base (New is 0 then).
type Base struct {
	Episode rom.EpisodeID
	Base    int
	New     int
	// Tightens says that the revision permits nothing that Base does not: then no
	// phone that follows something this store has lost holds it up.
	Tightens bool
}

// ExchangeRequest is one exchange as the store sees it. The patient is that
// of the author's row and never named by the phone.
type ExchangeRequest struct {
	Author  rom.Author   // of the token; the header's has been compared with it
	Request wire.Request // framing already checked
	At      time.Time    // server clock
	Trail   Trail

	MaxLines, MaxBytes int // of the lines in the reply
}

// ExchangeReply is what an exchange came to. Code is empty or one of the
// wire's error codes (gap, fork, pending); with a code nothing past the fault
// was stored, and Reply.Ack still tells the mark.
type ExchangeReply struct {
	Code  wire.Code
	Reply wire.Reply // but for ServerTime
	Lines []Line     // the log from Reply.Seq on; none for a revoked phone
	Took  Took
}

// Took counts what became of the lines of one request.
type Took struct {
	Stored, Known, Aside, Returned, Sealed int
}

// Facts is what the fold made of a log. Data is nil for an empty log.
type Facts struct {
	Version int
	Seq     int64 // of the last line folded
	Data    []byte
}

// Fold turns lines into facts. Add is pure: it must not depend on the clock,
// must not change facts in place, and adding in one go or in parts must give
// the same bytes, because Verify compares them. A line that Add does not
// understand is skipped by it; erased lines are not given to it.
type Fold struct {
	Version int // changes whenever Add's result for the same lines changes
	Add     func(facts []byte, lines []Line) ([]byte, error)
}

// Report is what Verify saw.
type Report struct {
	Patients, Lines, Authors, Entries int
	Faults                            []Fault
	Aside                             []Aside // of patients with lines in quarantine
}

// Aside is how many lines of one patient are in quarantine: kept as they
// came, and served as nothing.
type Aside struct {
	Patient           rom.PatientID
	Forked, Malformed int
}

// Fault is one thing that is not as it was written.
type Fault struct {
	Patient rom.PatientID
	Seq     int64
	What    string // one sentence without patient data
}

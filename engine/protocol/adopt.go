package protocol

import (
	"fmt"
	"time"

	"unsling/engine/rom"
)

// NotAdoptedError says that a protocol was prescribed that no surgeon of the
// clinic has adopted.
type NotAdoptedError struct {
	ID      string
	Version int
}

func (e *NotAdoptedError) Error() string {
	return fmt.Sprintf("protocol %s version %d is a draft: a surgeon of the clinic must review and adopt it first", e.ID, e.Version)
}

// UnansweredError says that the surgeon must answer a question first.
type UnansweredError struct{ Protocol, Key string }

func (e *UnansweredError) Error() string {
	return fmt.Sprintf("protocol %s: the question %q must be answered first", e.Protocol, e.Key)
}

// Adopt returns p as reviewed and adopted by a surgeon on a day, with the days
// from which the clinic lets phases begin where they differ from the draft's
// (phase key to day after surgery). It refuses a protocol with faults. That
// by is a surgeon is for the caller to know.
func Adopt(p Protocol, by rom.StaffID, on rom.Date, gates map[string]int) (Protocol, error) {
	return p, nil
}

// Choices is what the clinic decides for one patient beyond the protocol.
type Choices struct {
	// GateDays postpones phases (key to day after surgery); a day before the
	// adopted one is refused.
	GateDays map[string]int
	// Waived lets a gate open by date alone: phase key to the surgeon who
	// answers for it.
	Waived map[string]rom.StaffID
	// Answers to the questions of the protocols: key to "yes" or "no".
	Answers map[string]string
	// Opened and Closed exercises, beyond those of the protocols.
	Opened, Closed []rom.ExerciseID

	TherapyDays    []time.Weekday
	TherapyDayLess int
	// WakeFrom and WakeTo in minutes after midnight; both 0 for 08:00 to 21:00.
	WakeFrom, WakeTo int
	LeastGap         int // minutes; 0 for 120
	MayI             []rom.MayI
	Contact          rom.Contact

	Rev, Base int // Rev 0 for 1
	By        rom.StaffID
	On        rom.Date
	Reason    string
}

// MaxPlanBytes is how long the JSON of a plan may be: a record holds 8 KiB
// with its envelope.
const MaxPlanBytes = 7680

// MakePlan builds the first plan of an episode from one adopted protocol for
// each procedure done. Several are merged to the stricter value, row by row;
// with a cuff repair the cuff protocol governs. Errors: *NotAdoptedError,
// *UnansweredError, *MissingError, *rom.InvalidError.
func MakePlan(adopted []Protocol, ep rom.Episode, c Choices) (rom.Plan, error) {
	return rom.Plan{}, nil
}

// MissingError says that a procedure of the episode has no protocol among
// those given.
type MissingError struct{ Procedure rom.Procedure }

func (e *MissingError) Error() string {
	return fmt.Sprintf("no protocol for %s was given", e.Procedure)
}

// Merge combines protocols of one operation to the stricter value of each
// row, the first governing; sources of both are kept.
func Merge(ps ...Protocol) (Protocol, error) { return Protocol{}, nil }

// Conflict is one place in which a plan permits more than a protocol.
type Conflict struct {
	Phase    string     // key in the plan
	Motion   rom.Motion // empty when it is not about a motion
	What     ConflictKind
	Plan     string     // what the plan says, such as "active" or "120"
	Protocol string     // what the protocol says
	From     rom.Source // of the protocol's value
}

// ConflictKind is what a conflict is about.
type ConflictKind string

// The kinds of conflict.
const (
	PastClass     ConflictKind = "class"     // a higher class
	PastCeiling   ConflictKind = "ceiling"   // a higher ceiling
	PastGate      ConflictKind = "gate"      // a clearance left out
	PastSling     ConflictKind = "sling"     // less of the sling
	PastLock      ConflictKind = "lock"      // an exercise opened
	PastPain      ConflictKind = "pain-cap"  // more pain
	PastForbidden ConflictKind = "forbidden" // a forbidden combination left out
)

// CheckPlan lists where plan goes past the protocol (merge several first). A
// therapist may make only plans without conflicts; a surgeon decides.
func CheckPlan(plan rom.Plan, p Protocol) []Conflict { return nil }

// Fault is one thing wrong with a protocol file.
type Fault struct {
	Line   int    // counted from 1
	Path   string // such as "phases[2].limits[0].ceil"
	Reason string // one sentence
}

func (f Fault) String() string { return fmt.Sprintf("line %d: %s: %s", f.Line, f.Path, f.Reason) }

// Check reads a protocol file and lists everything wrong with it, by line.
func Check(file []byte) []Fault { return nil }

// FaultsError says that a file is no valid protocol.
type FaultsError struct{ Faults []Fault }

func (e *FaultsError) Error() string {
	if len(e.Faults) == 1 {
		return e.Faults[0].String()
	}
	return fmt.Sprintf("%s (and %d more)", e.Faults[0], len(e.Faults)-1)
}

// Parse reads a protocol file; a *FaultsError lists what is wrong with it.
func Parse(file []byte) (Protocol, error) { return Protocol{}, nil }

package schedule

import (
	"unsling/engine/protocol"
	"unsling/engine/rom"
)

// State says whether the programme runs on a day.
type State string

// The states of a day.
const (
	CannotSay    State = "cannot-say"    // no episode, an invalid plan or an absurd date; see Problem
	BeforeOp     State = "before"        // planned, the day of surgery has not come
	NotConfirmed State = "not-confirmed" // the day has come, the surgeon has not confirmed the operation
	Postponed    State = "postponed"     // everything frozen until a new date is given
	NoPlan       State = "no-plan"       // confirmed, but no plan has arrived
	Running      State = "running"
	Paused       State = "paused"
	Stopped      State = "stopped" // by the clinic
	Halted       State = "halted"  // by the patient's own report; the clinic must answer first
	Ended        State = "ended"   // discharged or withdrawn: nobody reads this any more
)

// With is what On must know besides the history.
type With struct {
	// LastContact is the last day on which phone and clinic exchanged; zero
	// when they never did or it is not known.
	LastContact rom.Date
	// Error is the error of measurement to keep below a ceiling, for a
	// motion; nil means DefaultError.
	Error func(rom.Motion) rom.Degrees
	// Told is a report that stops everything and that the phone could not keep;
	// nil for none. It holds as a kept one does.
	Told *Halt
	// Pains are scores that the phone could not keep yet. They hold as kept ones do.
	Pains []rom.Entry[rom.Pain]
	// Clock is the date that the phone's clock shows, by which it dates what it writes, where that is known to be
	// ahead; zero for today.
	Clock rom.Date
}

// Day is everything about one day of one episode.
type Day struct {
	State   State
	Problem string // why State is CannotSay; one sentence for staff
	// Baseline says that both arms may be measured freely: the operation has
	// not taken place, and the clinic has not stopped or paused the plan.
	Baseline bool
	// Practice is what may be tried before the operation; nil for nothing.
	Practice *Practice
	Why      string // the clinic's reason for a pause or stop, for the patient
	Date     rom.Date
	Minute   int // after midnight, as asked
	Episode  rom.Episode
	Plan     rom.Plan // the revision obeyed; Rev 0 for none

	// Number counts days after surgery (0 on the day itself, negative
	// before) and Week the complete weeks; they mean nothing unless Dated.
	Dated        bool
	Number, Week int

	// Phase is the one in force, Since its first day; InPhase is false when
	// none is.
	InPhase bool
	Phase   rom.Phase
	Since   rom.Date
	Next    *Next // the phase that comes after; nil in the last

	// Sling is that of the phase; while no phase is in force it is worn
	// always after the operation, and empty before.
	Sling     rom.Sling
	Forbidden []string
	PainCap   int

	Motions   []Allowance // one per motion, in the order of rom.Motions
	Exercises []Allowed   // the whole catalogue in its order

	TherapyDay bool // a weekday of therapy, or therapy took place
	Attended   bool // therapy took place
	Rest       bool // a day on which the clinic asked for no sessions

	// PainRest says that nothing begins yet because of pain; nil for none.
	PainRest *PainRest

	Due []Due
	// DoneForToday says that at least one session is done and none is left to
	// do today: more is not better.
	DoneForToday bool
	// Dropped is how many sessions attended therapy took off the day.
	Dropped int
	// Extra counts sessions done today beyond those due.
	Extra int

	Measures []Measure
	MayI     []rom.MayI // the answers of the phase in force

	// ContactDays is how many days ago phone and clinic last exchanged, -1
	// when not known. Stale says 14 days or more: the plan may have changed.
	ContactDays int
	Stale       bool
	// ClockBehind says that the date lies before something the clinic has
	// already dated: the phone's clock is wrong.
	ClockBehind bool
	// Halt is the report that stopped everything, in state Halted.
	Halt *Halt
}

// Waits says what a phase waits for.
type Waits string

// What a phase can wait for.
const (
	ForDate      Waits = "date"
	ForClearance Waits = "clearance"
	ForBoth      Waits = "both"
)

// Next is the phase after the one in force.
type Next struct {
	Phase    rom.Phase
	Earliest rom.Date // the first day its day allows
	Waits    Waits
	Review   *rom.Criterion // asks the clinic to look; never for the patient
}

// Allowance is what a day permits of one motion of the operated arm.
type Allowance struct {
	Motion rom.Motion
	Limit  rom.Limit // Class Locked when locked
	Locked bool
	Why    Reason // why it is locked
	// Aim is the angle to aim at most at: the ceiling less the error of
	// measurement. It means something only when HasAim.
	Aim    rom.Degrees
	HasAim bool
	Error  rom.Degrees
}

// Reason is why a motion or an exercise is locked. The list is closed.
type Reason string

// The reasons.
const (
	NotLocked          Reason = ""
	WhyNotYet          Reason = "not-yet"   // a later phase permits it
	WhyClass           Reason = "class"     // its motion is open, but no phase of the plan permits its class
	WhyMotion          Reason = "motion"    // no phase of the plan permits its motion
	WhyProcedure       Reason = "procedure" // locked after what was operated
	WhyClosed          Reason = "closed"    // closed by the clinic
	WhyPaused          Reason = "paused"
	WhyStopped         Reason = "stopped"
	WhyHalted          Reason = "halted"
	WhyNotConfirmed    Reason = "not-confirmed"
	WhyPostponed       Reason = "postponed"
	WhyNoPlan          Reason = "no-plan"
	WhyEnded           Reason = "ended"
	WhyUnknownExercise Reason = "unknown-exercise"
)

// Allowed is what a day says of one exercise.
type Allowed struct {
	Exercise protocol.Exercise
	Locked   bool
	Why      Reason
	// Until is the first day after surgery on which a lock of the procedure
	// or the day of the phase ends; 0 when no date opens it.
	Until int
	// Phase is the key of the first later phase that permits it, for WhyNotYet.
	Phase string
	// Prescribed says that the phase in force prescribes it.
	Prescribed bool
	From       rom.Source // of the lock
}

// Status is how a due session stands.
type Status string

// The standings.
const (
	Done   Status = "done"
	Partly Status = "partly" // done in part; may be taken up again while Open
	NextUp Status = "next"   // may be done now, or is the next to come
	Later  Status = "later"
	Missed Status = "missed" // never added to a later one
	Spare  Status = "spare"  // only if today's therapy does not take place
)

// Due is one session asked of a day.
type Due struct {
	Slot int // counts from 1 within the day
	// From and To bound its part of the waking day in minutes after
	// midnight, when it is best done; after To it is missed, but for the last
	// one, which waits until midnight. NotBefore is the end of the least gap
	// after the session before it, 0 when there was none.
	From, To, NotBefore int
	// Open says that it may be begun, or taken up again, now.
	Open bool
	// Prescriptions are what is left to do: of a session that was begun, the rest of it.
	Prescriptions  []rom.Prescription
	Status         Status
	Counted, Asked int // holds or repetitions

	over bool // begun and not gone on with any more
}

// Measure is one motion the clinic wants measured.
type Measure struct {
	Motion  rom.Motion
	Trials  int
	PerWeek int
	Last    rom.Date // last own reading of the operated side; zero for none
	Count   int      // days with own readings in the last seven, today included
	Due     bool     // wanted today
	May     bool     // may be taken today; false once the week's number is reached
	// DuringHold says that it must be taken during a prescribed hold, in one
	// trial: the first six weeks after a repair.
	DuringHold bool
}

// Halt is a report of the patient that stopped everything on the phone: a
// sign whose rule says so, or a session stopped because something was wrong.
// It ends when a plan revision names it in Answers.
type Halt struct {
	Record rom.Ref
	On     rom.Date
	Sign   rom.SignID // empty for a session stopped as wrong
}

// DefaultError is the error kept below a ceiling when the caller knows none:
// the proposed SEM of a self-measured angle, 7 degrees (derived: a design
// choice, for want of a published figure).
const DefaultError rom.Degrees = 70

// Motion returns the allowance of m.
func (d Day) Motion(m rom.Motion) Allowance {
	for _, a := range d.Motions {
		if a.Motion == m {
			return a
		}
	}
	return Allowance{Motion: m, Limit: rom.Limit{Motion: m}, Locked: true, Why: WhyMotion}
}

// Exercise returns what d says of one exercise.
func (d Day) Exercise(id rom.ExerciseID) Allowed {
	for _, a := range d.Exercises {
		if a.Exercise.ID == id {
			return a
		}
	}
	return Allowed{Exercise: protocol.Exercise{ID: id}, Locked: true, Why: WhyUnknownExercise}
}

// NextDue returns the session to do now or next: one begun and still open, or
// the next; ok is false when none is left.
func (d Day) NextDue() (Due, bool) {
	for _, x := range d.Due {
		if x.Status == NextUp || x.Status == Partly && (x.Open || d.PainRest != nil && !x.over) {
			return x, true
		}
	}
	return Due{}, false
}

// LimitFor returns the row that holds for a prescription today: its motion's
// row for the class of the exercise, and the angle to aim at most at. The row
// is Locked when the exercise or its motion is, or it moves no such motion.
func (d Day) LimitFor(x rom.Prescription) (row rom.Limit, aim rom.Degrees, hasAim bool) {
	e := d.Exercise(x.Exercise)
	a := d.Motion(x.Motion)
	if e.Locked || a.Locked || x.Motion == "" {
		return rom.Limit{Motion: x.Motion}, 0, false
	}
	row = a.Limit.For(e.Exercise.Class)
	if row.Open || row.Motion.ByLevel() {
		return row, 0, false
	}
	return row, row.Ceiling - a.Error, true
}

// Limits returns today's rows of the motions that are open: what a running
// session has to obey when the plan, a clearance or a report changed.
func (d Day) Limits() []rom.Limit {
	var out []rom.Limit
	for _, a := range d.Motions {
		if !a.Locked {
			out = append(out, a.Limit)
		}
	}
	return out
}

// Closed returns the exercises that are locked today.
func (d Day) Closed() []rom.ExerciseID {
	var out []rom.ExerciseID
	for _, a := range d.Exercises {
		if a.Locked {
			out = append(out, a.Exercise.ID)
		}
	}
	return out
}

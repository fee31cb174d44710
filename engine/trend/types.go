package trend

import "unsling/engine/rom"

// Key names a series. Readings with different keys are never pooled.
type Key struct {
	Side         rom.Side
	Motion       rom.Motion
	Class        rom.Class // Passive, ActiveAssisted or Active
	Glenohumeral bool
}

// Series holds the readings of one key since the baseline, in order of days.
// Readings by eye and those under anaesthetic are kept out of it.
type Series struct {
	Key Key
	// Surgery is day 0 for the operated arm once the operation is confirmed,
	// zero otherwise; readings before it are the baseline, not the course.
	Surgery  rom.Date
	Readings []Point
}

// Point is one reading on its civil date.
type Point struct {
	Ref      rom.Ref
	Day      rom.Date
	Angle    rom.Degrees
	Level    rom.Level // for hand behind back; Angle is then 0
	SE       rom.Degrees
	Method   rom.Method
	By       rom.StaffID // empty for the patient's own
	Baseline bool
}

// Self reports whether the patient took it.
func (p Point) Self() bool { return p.By == "" }

// Range is a value with its 95 % interval.
type Range struct{ Low, Mid, High rom.Degrees }

// Band is the smoothed level on one day.
type Band struct {
	Day rom.Date
	Range
}

// Options are what a clinic may set. The zero Options are the defaults.
type Options struct {
	// ClinicSEM replaces the standard error of one clinician by goniometer
	// or inclinometer, whose default of 4 degrees is optimistic; 0 keeps it.
	// SelfSEM does the same for the patient's own readings, from their own
	// repeats; it can raise the default, never lower it. Five pairs with
	// clinic readings raise it by themselves where they clearly disagree.
	ClinicSEM, SelfSEM rom.Degrees
	// Surgery is day 0 for a series that Collect did not make; zero takes the
	// series' own.
	Surgery rom.Date
}

// Summary says where one series stands on one day. For hand behind back the
// unit of every value is a tenth of a vertebral level and lower is better. Known is false when there
// is too little to say anything; the other fields are then zero.
type Summary struct {
	Key   Key
	Day   rom.Date // the day it was judged for
	Known bool
	// Readings counts what was used; Days the distinct days among them.
	Readings, Days int
	First, Last    rom.Date // days of the first and the newest reading used
	// Now is the smoothed level on the day of the newest reading. It is not
	// carried on into days without readings: see Age.
	Now Range
	// Age is the number of days from the newest reading to Day.
	Age int
	// PerWeek is the rate on that day, in degrees per seven days. RateKnown
	// needs three days of readings.
	PerWeek   Range
	RateKnown bool
	// OwnScale says that the level stands on the patient's own readings
	// only, without a clinic reading to compare them with.
	OwnScale bool
	// Bias is own less clinic reading, estimated when there are both.
	Bias      Range
	BiasKnown bool
	// Path is the smoothed level on every day with a reading, for charts.
	Path []Band
	// SetAside are readings that one slip explains better than the joint.
	SetAside []Point
	// Jumps are days on which the joint itself changed at one stroke.
	Jumps []rom.Date
	// Since compares the newest reading with the first after surgery, Recent
	// with that of about four weeks before; both by the same rater.
	Since, Recent Change
	// LastReal is the newest change that exceeded its MDC.
	LastReal Change
	Plateau  Plateau

	fit *fit
}

// Change compares two readings of one rater by one method, or two means of
// several days each.
type Change struct {
	Known    bool
	From, To rom.Date
	Before   rom.Degrees
	After    rom.Degrees
	MDC      rom.Degrees // MDC95 of motion, method and rater
	Real     bool        // |After - Before| > MDC
	// Levels are set instead of angles for hand behind back.
	LevelBefore, LevelAfter rom.Level
	Source                  rom.Source
}

// Delta is After less Before.
func (c Change) Delta() rom.Degrees { return c.After - c.Before }

// Plateau says whether the level stopped rising over a long window.
type Plateau struct {
	Known  bool
	Holds  bool
	Window int         // days looked at
	Gain   Range       // over that window
	Needs  rom.Degrees // the gain below which it holds
	Why    string      // the reason in one sentence, also when not Known
	Source rom.Source
}

// Forecast says when a target will be reached.
type Forecast struct {
	Kind Outlook
	// Early and Late bound the day; Late is zero for ReachOpen.
	Early, Late rom.Date
	Why         string
}

// Outlook is the kind of a forecast.
type Outlook string

// The outlooks.
const (
	ReachUnknown Outlook = "cannot say"
	Reached      Outlook = "reached"
	ReachBetween Outlook = "between"            // Early and Late are set
	ReachOpen    Outlook = "not before"         // Early only: the slow end never arrives within a year
	OffCourse    Outlook = "not on this course" // the rate does not lead there within a year
)

// Reference says what a deficit is measured against.
type Reference string

// The references, the best first.
const (
	ByOtherArm Reference = "other arm"
	ByBaseline Reference = "before surgery"
	ByNorm     Reference = "norm for the age"
	ByNothing  Reference = ""
)

// Deficit is what is missing against a reference; positive means missing.
type Deficit struct {
	Motion    rom.Motion
	Against   Reference
	Value     rom.Degrees // of the operated arm
	Reference rom.Degrees
	Missing   rom.Degrees // Reference less Value
	// Real says that Missing exceeds the MDC of the two readings.
	MDC    rom.Degrees
	Real   bool
	On     rom.Date // of the operated arm's newest reading
	RefOn  rom.Date
	Caveat string // what the reader must know of this reference; may be empty
	Source rom.Source
	// LevelMissing replaces the angles for hand behind back.
	LevelMissing int
}

// Known reports whether there was a reference and a reading.
func (d Deficit) Known() bool { return d.Against != ByNothing }

// Share is Value per mille of Reference, 0 when unknown.
func (d Deficit) Share() int {
	if d.Reference <= 0 {
		return 0
	}
	return int(int64(d.Value) * 1000 / int64(d.Reference))
}

// Pattern compares elevation with rotation.
type Pattern struct {
	Known     bool
	Elevation Deficit // of forward flexion, else scaption
	Rotation  Deficit // of external rotation at the side
	// CappedAt is the ceiling that stood in for the rotation's reference
	// because the plan does not allow more; nil when none did.
	CappedAt *rom.Degrees
	Lags     bool // elevation is near its reference and rotation is not
	Why      string
	Source   rom.Source
}

// Answer is the outcome of one definition.
type Answer string

// The answers.
const (
	Met       Answer = "met"
	NotMet    Answer = "not met"
	CannotSay Answer = "cannot say"
	NotInTime Answer = "outside its time window"
)

// Definition is the name of a published definition of stiffness.
type Definition string

// The definitions.
const (
	Parsons2010 Definition = "PARSONS2010"
	Chung2013   Definition = "CHUNG2013"
	SciRep2022  Definition = "SCIREP2022"
	Brislin2007 Definition = "BRISLIN2007"
	Huberty2009 Definition = "HUBERTY2009"
	Tauro2006   Definition = "TAURO2006"
	Back2014    Definition = "BACK2014"
	Resolved    Definition = "RESOLVED"
	Capsulitis  Definition = "CAPSULITIS"
)

// Verdict is one definition judged on one day.
type Verdict struct {
	Definition Definition
	Rule       string // the rule in words
	Window     string // its time window in words
	Answer     Answer
	// Hits are the motions whose criterion is met.
	Hits []rom.Motion
	// Clearly says that of the criteria that are known none would be met with
	// five degrees less (or one level), or too few for the rule: what staff
	// may take for settled.
	Clearly bool
	Why     string // the numbers, or what is missing
	// Inputs are the values used.
	Inputs []Input
	// Grade is 1 to 3 for TAURO2006.
	Grade int
	// Source covers the whole rule; Weak lists the criteria of it that are
	// from memory, so that the reader can tell which part decided.
	Source rom.Source
	Weak   string
}

// Input is one value that a rule looked at.
type Input struct {
	Motion rom.Motion
	Value  rom.Degrees
	Level  rom.Level
	On     rom.Date
	Self   bool
}

package review

import (
	"time"

	"unsling/engine/rom"
)

// Severity is how soon a person must look.
type Severity int

// The severities in rising order.
const (
	Note   Severity = iota + 1 // worth knowing at the next visit
	Watch                      // watch, do not push
	Call                       // call within two working days
	Urgent                     // before all others; today, unless its due time says otherwise
)

var severityNames = [...]string{"", "note", "watch", "call", "urgent"}

// String returns the word that screens show.
func (s Severity) String() string {
	if s < Note || s > Urgent {
		return "unknown"
	}
	return severityNames[s]
}

// Class is the kind of trouble.
type Class string

// The classes.
const (
	LimitNear    Class = "limit-near"       // measured over a limit, as errors may explain
	LimitLikely  Class = "limit-likely"     // more likely beyond it than not
	LimitPassed  Class = "limit-passed"     // so likely beyond it that it is a matter of today
	LimitBroken  Class = "limit-broken"     // at any angle with pop, sharp pain, weakness or fall
	PainRule     Class = "pain-rule"        // more pain than the phase accepts, or worse next day
	WarningSign  Class = "warning-sign"     // a sign of the list
	Fall         Class = "fall"             // fall or forbidden use
	Stiffening   Class = "stiffening"       // a published definition is met
	Losing       Class = "losing-range"     // real loss of a motion
	RotationLag  Class = "rotation-lag"     // elevation good, rotation behind
	EarlyLoss    Class = "early-loss"       // loss in the first two weeks after a release
	TooMuchER    Class = "too-much-er"      // more ER than the other arm after subscapularis or labral repair
	RetearSign   Class = "re-tear-sign"     // active falls while passive stays
	TooMuch      Class = "too-much"         // more sessions or longer holds than asked
	TooLittle    Class = "too-little"       // much less than asked
	Afraid       Class = "afraid"           // skips for fear
	Silent       Class = "silent"           // no news
	PlanNotThere Class = "plan-not-there"   // a stop or narrower limit is not on the phone
	PlanOld      Class = "plan-unconfirmed" // a harmless revision has not arrived for long
	ClockWrong   Class = "clock-wrong"
	Damaged      Class = "damaged-data"
	SideMismatch Class = "side-mismatch"
	SignsUnread  Class = "signs-unread" // report or warning sign that nobody opened
	CallOverdue  Class = "call-overdue" // a call promised and not made
	GateReview   Class = "gate-review"  // a criterion was reached, or a clearance is due
)

// Role is who owns a finding.
type Role string

// The roles.
const (
	Surgeon       Role = "surgeon"
	Therapist     Role = "therapist"
	Assistant     Role = "assistant"
	Administrator Role = "administrator"
)

// Due is the closed list of due times.
type Due string

// The due times.
const (
	Today     Due = "today"
	TwoDays   Due = "within 2 working days"
	NextVisit Due = "at the next visit"
)

// Deadline is the end of a due time in clinic hours.
type Deadline struct {
	On     rom.Date // zero for NextVisit without a known visit
	Minute int      // after midnight of On, at the clinic
}

// Number is one value that a finding rests on.
type Number struct {
	Name  string // such as "limit", "reading", "error"
	Value string // printed with its unit, such as "92°"
}

// Standing says what staff have done about a finding.
type Standing string

// The standings.
const (
	Open     Standing = "open"
	Seen     Standing = "seen"    // seen by staff and not settled
	Snoozed  Standing = "snoozed" // quiet until a date
	Settled  Standing = "done"    // closed as it stands
	Reopened Standing = "changed" // closed or seen before, and changed since
)

// Finding is one reason to look at a patient.
type Finding struct {
	Episode rom.EpisodeID
	// Key is stable within the episode.
	Key         string
	Fingerprint string
	Class       Class
	Severity    Severity
	Motion      rom.Motion // empty when it concerns no single motion
	// Since is the day on which the rule began to hold; Newest the day of
	// the newest fact behind it.
	Since, Newest rom.Date
	// Staff is one plain sentence with the numbers in it.
	Staff string
	// Patient is a key of app/words; empty when the patient is not told.
	Patient string
	Numbers []Number
	Rule    string // name of the rule, as in Explain
	Source  rom.Source
	Clears  string // what settles it, as a sentence
	Owner   Role
	Due     Due
	By      Deadline
	Overdue bool
	// Records are the facts behind it, the newest last, at most 20.
	Records []rom.Ref

	Standing Standing
	// Quiet is true when staff have answered it as it stands: it is listed,
	// but does not count in the ranking.
	Quiet    bool
	Acts     []rom.Entry[rom.Task] // what staff did about this key, oldest first
	Assigned rom.StaffID
	Until    rom.Date // of a snooze

	from moment // when it became known, for the due time
}

// Phone is what the server knows about one installation of the app.
type Phone struct {
	Author rom.Author
	// Contact is the civil date of its last exchange; zero for never.
	Contact rom.Date
	// Since is when it was enrolled.
	Since rom.Date
	// Following is the plan revision that its last push named.
	Following int
	// ClockAhead is its clock less the server's at the last exchange.
	ClockAhead time.Duration
	Revoked    bool
}

// Inputs are the facts outside the history, and the clinic's settings.
type Inputs struct {
	Hours  Hours
	Minute int // of the day at the clinic, for what is due today; 0 is the day's start
	Phones []Phone
	// Quarantined counts lines held back as damaged; Forked that two phones
	// wrote under one name.
	Quarantined int
	Forked      bool
	Settings    Settings
}

// Settings are the clinic's own numbers. Zero fields take the defaults.
type Settings struct {
	SilentDays      int // days without contact; default 4
	UnconfirmedDays int // days a harmless revision may be on its way; default 14
	ClockMinutes    int // wrong clock; default 10
	ClearanceDays   int // days a phase may wait for its clearance; default 7
	// ClinicSEM is the standard error of one clinician; 0 takes the default
	// of 4 degrees, which is optimistic.
	ClinicSEM rom.Degrees
}

// Line is one rule evaluated on one day.
type Line struct {
	Rule    string
	Class   Class
	Motion  rom.Motion
	Inputs  []Number
	Outcome Outcome
	Why     string // one sentence
	Source  rom.Source
	Key     string // of the finding, when it fires
}

// Outcome is what came of a rule.
type Outcome string

// The outcomes.
const (
	Fires         Outcome = "fires"
	Quiet         Outcome = "does not fire"
	CannotSay     Outcome = "cannot say"
	NotApplicable Outcome = "does not apply"
)

package rom

import (
	"fmt"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// PlanState says whether a plan asks anything of the patient.
type PlanState string

// The states of a plan.
const (
	Running PlanState = "running"
	Paused  PlanState = "paused"  // asks nothing for now; permits gentle carrying on only as the clinic says
	Stopped PlanState = "stopped" // nothing is permitted until a surgeon resumes it
)

// Sling says how the sling is worn in a phase.
type Sling string

// The ways of wearing a sling.
const (
	SlingAlways  Sling = "always"  // day and night, off for washing and prescribed exercise
	SlingDay     Sling = "day"     // by day
	SlingOutdoor Sling = "outdoor" // away from home and in bed
	SlingComfort Sling = "comfort" // as needed
	SlingOff     Sling = "off"
)

// Gate is what must be true before a phase begins, besides its day.
type Gate struct {
	// Clearance asks for a surgeon's clearance. It must be true wherever the
	// class of any motion rises, unless Waived.
	Clearance bool `json:"clearance,omitempty"`
	// Waived is the surgeon who let this gate open by date alone.
	Waived StaffID `json:"waived,omitempty"`
	// Review names a motion and an angle that, when reached, ask the clinic
	// to look; it opens nothing and no patient sees it.
	Review *Criterion `json:"review,omitempty"`
}

// Criterion is an angle to be reached in a motion.
type Criterion struct {
	Motion  Motion  `json:"m"`
	AtLeast Degrees `json:"at_least"`
	From    Source  `json:"src"`
}

// MeasureRule asks for readings of one motion at home.
type MeasureRule struct {
	Motion  Motion `json:"m"`
	PerWeek int    `json:"per_week"` // 1 to 7
	Trials  int    `json:"trials"`   // 1 to 3
}

// Phase is one stage of a plan. A phase permits nothing of earlier phases
// that it does not list itself.
type Phase struct {
	Key   string `json:"key"`  // short, unique within the plan, such as "protect"
	From  int    `json:"from"` // first day after surgery on which it may begin
	Gate  Gate   `json:"gate,omitzero"`
	Sling Sling  `json:"sling"`
	// Limits has at most one row per motion; a motion without a row is locked.
	Limits []Limit `json:"limits,omitempty"`
	// Forbidden lists combinations that no limit expresses, as keys of
	// app/words, such as "abduction-with-external-rotation".
	Forbidden     []string       `json:"forbidden,omitempty"`
	Prescriptions []Prescription `json:"prescriptions,omitempty"`
	Measures      []MeasureRule  `json:"measures,omitempty"`
	// PainCap is the highest pain in exercise, 0 to 10, that this phase accepts.
	PainCap int `json:"pain_cap"`
	// Stretching says that end-range time is counted in this phase.
	Stretching bool   `json:"stretching,omitempty"`
	Basis      Source `json:"src"`
}

// Limit returns the row for m; the zero Limit, which is locked, if there is none.
func (p Phase) Limit(m Motion) Limit {
	for _, l := range p.Limits {
		if l.Motion == m {
			return l
		}
	}
	return Limit{Motion: m}
}

// HighestClass returns the highest class of any motion of the shoulder in p.
func (p Phase) HighestClass() Class {
	c := Locked
	for _, l := range p.Limits {
		switch l.Motion {
		case ElbowFlexion, ElbowExtension, ForearmRotation:
		default:
			c = max(c, l.Class)
		}
	}
	return c
}

// ProtocolRef names the protocol a plan was made from.
type ProtocolRef struct {
	ID      string `json:"id"`
	Version int    `json:"version"`
}

// Contact is who to call; the phone shows it offline.
type Contact struct {
	Clinic     string `json:"clinic"`
	Phone      string `json:"phone"`
	AfterHours string `json:"after_hours"`
	Emergency  string `json:"emergency"` // the emergency number of the place
	// Nearby is what the clinic says beside the emergency number, such as where the nearest emergency department is;
	// at most 200 letters of one line, empty for nothing. Apps from before it do not show it.
	Nearby string `json:"nearby,omitempty"`
}

// mostNearby is how many letters Contact.Nearby may have.
const mostNearby = 200

// MayI is the clinic's answer to one daily question in one phase.
type MayI struct {
	Phase    string `json:"phase"`
	Activity string `json:"act"`    // key of app/words, such as "shower"
	Answer   string `json:"answer"` // "yes", "no" or "ask"
}

// BreakKind says what stops during a break.
type BreakKind string

// The kinds of break.
const (
	NoTherapy  BreakKind = "no-therapy"  // the practice is closed: therapy days are home days
	NoSessions BreakKind = "no-sessions" // the clinic asks for no sessions; limits and sling stay
)

// Break is a holiday from one date to another, both included.
type Break struct {
	From Date      `json:"from"`
	To   Date      `json:"to"`
	Kind BreakKind `json:"kind"`
}

// Plan is one revision of the clinic's instructions for one episode, complete
// in itself. Revisions of one patient are numbered upwards without reuse.
type Plan struct {
	Episode  EpisodeID     `json:"episode"`
	Rev      int           `json:"rev"`  // greater than every earlier revision of this patient
	Base     int           `json:"base"` // the revision of this episode that it replaces; 0 for the first
	Protocol []ProtocolRef `json:"protocol"`
	State    PlanState     `json:"state"`
	Why      string        `json:"why,omitempty"` // reason of a pause or stop, shown to the patient
	Phases   []Phase       `json:"phases"`
	// Opened are exercises that a surgeon released from a lock of the
	// procedure; Closed are locked beyond it.
	Opened []ExerciseID `json:"opened,omitempty"`
	Closed []ExerciseID `json:"closed,omitempty"`
	// TherapyDays are the weekdays of supervised therapy.
	TherapyDays []time.Weekday `json:"therapy_days"`
	// TherapyDayLess is how many home sessions fewer are due on a day with
	// attended therapy.
	TherapyDayLess int `json:"therapy_day_less"`
	// Breaks are holidays: the practice is closed, or the patient rests.
	Breaks []Break `json:"breaks,omitempty"`
	// Answers names reports of the patient that stopped everything on the
	// phone and that this revision answers: what it permits holds again.
	Answers []Ref `json:"answers,omitempty"`
	// WakeFrom and WakeTo bound the patient's day in minutes after midnight;
	// LeastGap is the least number of minutes between two sessions.
	WakeFrom int    `json:"wake_from"`
	WakeTo   int    `json:"wake_to"`
	LeastGap int    `json:"least_gap"`
	MayI     []MayI `json:"may_i,omitempty"`
	// PassedFrom is from which chance on any limit of the plan counts as passed.
	PassedFrom Chance  `json:"passed_from,omitempty"`
	Contact    Contact `json:"contact"`
	By         StaffID `json:"by"`
	On         Date    `json:"on"`
	Reason     string  `json:"reason"` // why this revision was made
	// Signed tells the patient who made this revision.
	Signed Signature `json:"signed,omitzero"`
}

// Validate checks p by itself: everything but what needs the protocol or the
// history. It never changes p.
func (p Plan) Validate() error {
	switch {
	case p.Episode == "":
		return invalid("episode", "is missing")
	case p.Rev < 1:
		return invalid("rev", "must be 1 or more")
	case p.Base < 0 || p.Base >= p.Rev:
		return invalid("base", "must be an earlier revision, or 0")
	case p.By == "":
		return invalid("by", "must name who wrote this")
	case p.State != Running && p.State != Paused && p.State != Stopped:
		return invalid("state", "must be running, paused or stopped")
	case p.State != Running && p.Why == "":
		return invalid("why", "must tell the patient why the plan is paused or stopped")
	case p.WakeFrom < 0 || p.WakeTo > 24*60 || p.WakeTo-p.WakeFrom < 4*60:
		return invalid("wake_from", "and wake_to must leave at least four waking hours in one day")
	case p.LeastGap < 0 || p.LeastGap > 12*60:
		return invalid("least_gap", "must lie between 0 and 720 minutes")
	case p.TherapyDayLess < 0 || p.TherapyDayLess > 12:
		return invalid("therapy_day_less", "must lie between 0 and 12")
	case !p.PassedFrom.Valid():
		return invalid("passed_from", "must lie between 50 and 95 percent")
	case p.Contact.Phone == "":
		return invalid("contact.phone", "is missing: the patient must be able to call")
	case utf8.RuneCountInString(p.Contact.Nearby) > mostNearby || strings.ContainsFunc(p.Contact.Nearby, unicode.IsControl):
		return invalid("contact.nearby", "must be one line of at most 200 letters")
	case len(p.Phases) == 0:
		return invalid("phases", "must not be empty")
	}
	for _, d := range p.TherapyDays {
		if d < time.Sunday || d > time.Saturday {
			return invalid("therapy_days", "holds something that is no weekday")
		}
	}
	for _, list := range [][]ExerciseID{p.Opened, p.Closed} {
		for _, e := range list {
			if !e.Valid() {
				return invalid("opened", "and closed must name exercises of the catalogue")
			}
		}
	}
	for i, b := range p.Breaks {
		at := fmt.Sprintf("breaks[%d]", i)
		switch {
		case b.Kind != NoTherapy && b.Kind != NoSessions:
			return invalid(at+".kind", "must be no-therapy or no-sessions")
		case b.From.IsZero() || b.To < b.From:
			return invalid(at+".to", "must not lie before its beginning")
		}
	}
	return ValidatePhases(p.Phases)
}

// ValidatePhases checks phases as a sequence: keys are unique, days rise, no
// class rises without a gate, every row is valid.
func ValidatePhases(phases []Phase) error {
	keys := map[string]bool{}
	for i, ph := range phases {
		at := fmt.Sprintf("phases[%d]", i)
		if err := ph.validate(); err != nil {
			return within(at, err)
		}
		if keys[ph.Key] {
			return invalid(at+".key", "must be unique")
		}
		keys[ph.Key] = true
		if i == 0 {
			continue
		}
		before := phases[i-1]
		if ph.From < before.From {
			return invalid(at+".from", "must not lie before the phase ahead of it")
		}
		if ph.RaisesClass(before) && !ph.Gate.Clearance && ph.Gate.Waived == "" {
			return invalid(at+".gate", "must ask for clearance, since a class of movement rises here")
		}
	}
	return nil
}

// RaisesClass reports whether p changes a class of movement against the phase
// before it: a motion rises in class, or one that was locked opens in a class
// that nothing had yet. Such a step needs clearance; the rest are steps inside
// a class, which a date may open.
func (p Phase) RaisesClass(before Phase) bool {
	for _, l := range p.Limits {
		was := before.Limit(l.Motion).Class
		if l.Class > was && (was != Locked || l.Class > before.HighestClass()) {
			return true
		}
	}
	return false
}

func (p Phase) validate() error {
	switch {
	case p.Key == "":
		return invalid("key", "is missing")
	case p.From < 0 || p.From > 730:
		return invalid("from", "must lie between day 0 and day 730")
	case p.PainCap < 0 || p.PainCap > 10:
		return invalid("pain_cap", "must lie between 0 and 10")
	}
	switch p.Sling {
	case SlingAlways, SlingDay, SlingOutdoor, SlingComfort, SlingOff:
	default:
		return invalid("sling", "is not a way of wearing a sling")
	}
	seen := map[Motion]bool{}
	for i, l := range p.Limits {
		at := fmt.Sprintf("limits[%d]", i)
		if err := l.Validate(); err != nil {
			return within(at, err)
		}
		if seen[l.Motion] {
			return invalid(at+".m", "must not be listed twice")
		}
		seen[l.Motion] = true
	}
	for i, x := range p.Prescriptions {
		if err := x.Validate(); err != nil {
			return within(fmt.Sprintf("prescriptions[%d]", i), err)
		}
	}
	for i, m := range p.Measures {
		if !m.Motion.Valid() || m.PerWeek < 1 || m.PerWeek > 7 || m.Trials < 1 || m.Trials > 3 {
			return invalid(fmt.Sprintf("measures[%d]", i), "must name a motion, 1 to 7 a week, 1 to 3 trials")
		}
	}
	return nil
}

package protocol

import "unsling/engine/rom"

// Exercise is what the catalogue knows of one exercise.
type Exercise struct {
	ID    rom.ExerciseID `json:"id"`
	Class rom.Class      `json:"class"` // the class that its motions must be permitted
	// Motions are those it can serve, the usual one first; empty for hand
	// and scapula work, and for the pendulum.
	Motions []rom.Motion `json:"motions,omitempty"`
	// Shoulder says that it moves the operated shoulder, so that the phase
	// must permit its class in some motion even when Motions is empty.
	Shoulder bool         `json:"shoulder,omitempty"`
	Position rom.Position `json:"position"`
	// EndRange says that it is held at an end range and counts as
	// end-range time.
	EndRange bool       `json:"end_range,omitempty"`
	Locks    []Lock     `json:"locks,omitempty"`
	From     rom.Source `json:"src"`
}

// Lock closes an exercise after a procedure.
type Lock struct {
	Procedure rom.Procedure `json:"procedure"`
	// Until is the day after surgery on which the lock ends by itself; 0
	// means that only the surgeon opens it.
	Until int        `json:"until,omitempty"`
	From  rom.Source `json:"src"`
}

// Catalogue returns every exercise in the order of rom.Exercises.
func Catalogue() []Exercise { return nil }

// Lookup returns one exercise of the catalogue.
func Lookup(id rom.ExerciseID) (Exercise, bool) { return Exercise{}, false }

// LockedBy returns the lock of e that holds on a day after an operation with
// the given procedures, the longest one, if any.
func (e Exercise) LockedBy(procedures []rom.Procedure, day int) (Lock, bool) { return Lock{}, false }

// Urgency says how soon a warning sign needs an answer.
type Urgency string

// The urgencies, the most urgent first.
const (
	Emergency  Urgency = "emergency"   // the emergency number, now
	SameDay    Urgency = "same-day"    // the clinic or its out-of-hours number, today
	WithinDays Urgency = "within-days" // the clinic, within days
	NextVisit  Urgency = "next-visit"  // mention it
)

// SignRule is what the leaflets say of one warning sign.
type SignRule struct {
	Sign    rom.SignID `json:"sign"`
	Urgency Urgency    `json:"urgency"`
	// Stops says that all exercises stop until the clinic has answered.
	Stops   bool   `json:"stops,omitempty"`
	Suspect string `json:"suspect"` // for staff
	// WatchFrom and WatchTo are the days after surgery between which the
	// sign deserves most attention; WatchTo 0 means always.
	WatchFrom int        `json:"watch_from,omitempty"`
	WatchTo   int        `json:"watch_to,omitempty"`
	From      rom.Source `json:"src"`
	Watch     rom.Source `json:"watch_src,omitzero"`
}

// Signs returns the rule of every warning sign, the most urgent first.
func Signs() []SignRule { return nil }

// SignByID returns the rule of one sign; an unknown sign is answered like
// rom.SignOther, the same day.
func SignByID(id rom.SignID) SignRule { return SignRule{} }

// Watch lists the signs that deserve most attention on a day after surgery.
func Watch(day int) []SignRule { return nil }

// PainAct is the answer to a pain score in exercise.
type PainAct string

// The answers.
const (
	PainFine PainAct = "fine"
	PainEase PainAct = "ease" // go less far, and less next time
	PainStop PainAct = "stop" // stop for now
)

// PainRule is one published rule.
type PainRule struct {
	Key  string     `json:"key"`
	Low  int        `json:"low"`
	High int        `json:"high"`
	Act  PainAct    `json:"act"`
	From rom.Source `json:"src"`
}

// Pain answers a score of 0 to 10 given in exercise, where limit is the
// phase's pain cap; the rule applied is returned with its source. A score
// outside 0 to 10 gives ok false.
func Pain(limit, score int) (act PainAct, rule PainRule, ok bool) { return PainFine, PainRule{}, false }

// Citation is a published source.
type Citation struct {
	Key  string `json:"key"`
	Text string `json:"text"`
}

// Cite returns the citation of a key, as used in rom.Source; for joined keys
// ("A+B") one each.
func Cite(key string) []Citation { return nil }

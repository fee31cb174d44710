package protocol

import (
	"strings"

	"unsling/engine/rom"
)

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
	// sign deserves most attention; WatchTo 0 means no more than always.
	WatchFrom int        `json:"watch_from,omitempty"`
	WatchTo   int        `json:"watch_to,omitempty"`
	From      rom.Source `json:"src"`
	WatchSrc  rom.Source `json:"watch_src,omitzero"`
}

// Signs returns the rule of every warning sign, the most urgent first. The
// caller must not change it.
func Signs() []SignRule { return tables().signs }

// SignByID returns the rule of one sign; an unknown sign is answered like
// rom.SignOther, the same day.
func SignByID(id rom.SignID) SignRule {
	var other SignRule
	for _, s := range tables().signs {
		if s.Sign == id {
			return s
		}
		if s.Sign == rom.SignOther {
			other = s
		}
	}
	other.Sign = id
	return other
}

// Watch lists the signs that deserve most attention on a day after surgery.
func Watch(day int) []SignRule {
	var out []SignRule
	for _, s := range tables().signs {
		if s.WatchTo > 0 && day >= s.WatchFrom && day <= s.WatchTo {
			out = append(out, s)
		}
	}
	return out
}

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

// PainRules returns the rules; the caller must not change them.
func PainRules() []PainRule { return tables().pain }

// Pain answers a score of 0 to 10 given in exercise, where limit is the
// phase's pain cap, which replaces the general rule below it: at or under the
// cap is fine, above it ease off, from 6 on stop. A pain of 0 is fine, and no
// permission to go further. ok is false for a score outside 0 to 10.
func Pain(limit, score int) (act PainAct, rule PainRule, ok bool) {
	if score < 0 || score > 10 {
		return "", PainRule{}, false
	}
	key := "over-cap"
	switch {
	case score <= limit:
		key = "within-cap"
	case score >= 6:
		key = "strong"
	}
	for _, r := range tables().pain {
		if r.Key == key {
			return r.Act, r, true
		}
	}
	return "", PainRule{}, false
}

// Citation is a published source.
type Citation struct {
	Key  string `json:"key"`
	Text string `json:"text"`
}

// Cite returns the citations of a source key, one for each of joined keys
// ("A+B"). A key of a clinic's own has none.
func Cite(key string) []Citation {
	var out []Citation
	for _, k := range strings.Split(key, "+") {
		for _, c := range tables().sources {
			if c.Key == k {
				out = append(out, c)
			}
		}
	}
	return out
}

// Forbidden lists the keys of forbidden movements and combinations that the
// protocols here use; app/words has a text for each.
var Forbidden = []string{
	"active-lifting", "lifting", "sudden-movement", "weight-on-hand", "pushing", "forced-stretch",
	"elbow-behind-body", "hand-behind-back", "cross-body", "pendulum",
	"external-rotation-past-neutral", "abduction-with-external-rotation", "forced-internal-rotation", "flexion-adduction-internal-rotation",
	"biceps-contraction", "elbow-flexion-against-resistance", "forced-elbow-extension", "palm-up-turning",
}

package rom

import "slices"

// PainWhen says what a pain score speaks of.
type PainWhen string

// The times of a pain score.
const (
	PainAtRest   PainWhen = "rest"
	PainNextDay  PainWhen = "next-day" // 24 hours after a session
	PainAtNight  PainWhen = "night"
	PainInMotion PainWhen = "motion"
)

// Pain is a score outside a session, 0 to 10 (LOINC 72514-3).
type Pain struct {
	Episode EpisodeID `json:"episode"`
	Score   int       `json:"score"`
	When    PainWhen  `json:"when"`
	// Medicine tells whether medicine for pain was taken before; nil when it
	// was not asked.
	Medicine *bool `json:"medicine,omitempty"`
	// Sleep is how the night was, beside a score of the night; empty when it
	// was not asked.
	Sleep Sleep `json:"sleep,omitempty"`
}

// Sleep is how the nights of the week were, in the patient's words.
type Sleep string

// How the nights were.
const (
	SleptWell Sleep = "well"
	SleptWoke Sleep = "woke" // the shoulder woke me
	SleptBad  Sleep = "bad"  // hardly slept
)

// SignID names a warning sign; urgency and wording are data of
// protocol and app/words.
type SignID string

// The warning signs (clinical leaflets, union; see package protocol).
const (
	SignChest      SignID = "chest-pain-or-breathless"
	SignPaleHand   SignID = "pale-cold-blue-fingers"
	SignDrowsy     SignID = "too-sleepy"
	SignStroke     SignID = "face-arm-speech"
	SignAllergy    SignID = "swelling-of-face"
	SignFever      SignID = "fever"
	SignWound      SignID = "wound"
	SignCalf       SignID = "calf-or-arm-swelling"
	SignRisingPain SignID = "pain-rising"
	SignNumb       SignID = "numb-or-weak"
	SignPop        SignID = "pop-or-sudden-weakness"
	SignFall       SignID = "fall-or-forbidden-use"
	SignHand       SignID = "hand-swollen-stiff-colour"
	SignStiff      SignID = "sudden-stiffening"
	SignBulge      SignID = "new-shape-of-arm"
	SignOther      SignID = "other"
)

// Signs lists them, the most urgent first.
var Signs = []SignID{
	SignChest, SignPaleHand, SignDrowsy, SignStroke, SignAllergy,
	SignPop, SignFall, SignFever, SignWound, SignCalf, SignRisingPain, SignNumb,
	SignHand, SignStiff, SignBulge, SignOther,
}

// Valid reports whether s is one of Signs.
func (s SignID) Valid() bool { return slices.Contains(Signs, s) }

// Sign is a warning sign that the patient reported.
type Sign struct {
	Episode EpisodeID `json:"episode"`
	Sign    SignID    `json:"sign"`
	Text    string    `json:"text,omitempty"` // own words, at most 500 characters
	Called  bool      `json:"called,omitempty"`
}

// SlingReport says how the sling was worn on a day.
type SlingReport struct {
	Episode EpisodeID `json:"episode"`
	Day     Date      `json:"day"`
	Worn    string    `json:"worn"` // "as-asked", "partly", "not"
}

// Question is a note of the patient to the clinic.
type Question struct {
	Episode EpisodeID `json:"episode"`
	Text    string    `json:"text"` // at most 1000 characters
	// For is ForVisit for what the patient wants to ask at the next visit,
	// with no answer expected before; empty otherwise.
	For string `json:"for,omitempty"`
}

// ForVisit marks a question that is taken to the next visit.
const ForVisit = "visit"

// Seen says that a person saw a record: the patient a note, staff a report.
type Seen struct {
	What   Ref       `json:"what"`
	By     StaffID   `json:"by,omitempty"`    // empty for the patient
	Signed Signature `json:"signed,omitzero"` // for the patient to read; records from before it have none
}

// Signature says in words who wrote or read something, as the patient knows
// them: a phone knows staff by their ids only, which mean nothing to a
// patient. It proves nothing.
type Signature struct {
	Name string `json:"name,omitempty"` // at most 100 characters
	Role string `json:"role,omitempty"` // "surgeon", "therapist" or "assistant"; another is shown as the clinic
}

func (s Signature) validate() error {
	if err := text("signed.name", s.Name, 100); err != nil {
		return err
	}
	return text("signed.role", s.Role, 40)
}

// Adopted says that the phone follows a revision from now on.
type Adopted struct {
	Episode EpisodeID `json:"episode"`
	Rev     int       `json:"rev"`
}

// Install describes one installation of the app; it holds no name.
type Install struct {
	App       string `json:"app"` // version
	Platform  string `json:"platform"`
	Language  string `json:"lang"`
	FreeHand  Side   `json:"free_hand"`
	Persisted bool   `json:"persisted"` // the browser promised to keep the data
	// SideTapped is the shoulder the patient tapped on the figure.
	SideTapped Side `json:"side_tapped,omitempty"`
}

func text(field, s string, most int) error {
	if n := len([]rune(s)); n > most {
		return invalid(field, "must not exceed %d characters", most)
	}
	return nil
}

// Validate checks the score.
func (p Pain) Validate() error {
	if p.Score < 0 || p.Score > 10 {
		return invalid("score", "must lie between 0 and 10")
	}
	switch p.When {
	case PainAtRest, PainNextDay, PainAtNight, PainInMotion:
	default:
		return invalid("when", "is not one of the times of a pain score")
	}
	switch p.Sleep {
	case "", SleptWell, SleptWoke, SleptBad:
		return nil
	}
	return invalid("sleep", "is not one of the ways to have slept")
}

// Validate checks the sign. An unknown sign is no error: a newer phone may
// know more, and a warning must not be refused.
func (s Sign) Validate() error {
	if s.Sign == "" {
		return invalid("sign", "is missing")
	}
	return text("text", s.Text, 500)
}

// Validate checks the report.
func (s SlingReport) Validate() error {
	switch s.Worn {
	case "as-asked", "partly", "not":
		return nil
	}
	return invalid("worn", "must be as-asked, partly or not")
}

// Validate checks the text.
func (q Question) Validate() error {
	if q.Text == "" {
		return invalid("text", "is empty")
	}
	if q.For != "" && q.For != ForVisit {
		return invalid("for", "is not one of the uses of a question")
	}
	return text("text", q.Text, 1000)
}

// Validate checks that a record is named.
func (s Seen) Validate() error {
	if s.What.Author == "" || s.What.N < 1 {
		return invalid("what", "must name a record")
	}
	return s.Signed.validate()
}

// Validate checks the revision.
func (a Adopted) Validate() error {
	if a.Rev < 1 {
		return invalid("rev", "must be 1 or more")
	}
	return nil
}

// Validate checks the description.
func (i Install) Validate() error {
	if i.SideTapped != "" && !i.SideTapped.Valid() {
		return invalid("side_tapped", "must be left or right")
	}
	return text("platform", i.Platform, 200)
}

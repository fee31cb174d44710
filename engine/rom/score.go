package rom

import "slices"

// ScoreForm is a published score whose values a clinician enters.
type ScoreForm string

// The forms.
const (
	// ConstantMotionPart is the motion part, 40 points, of the Constant-Murley
	// score (CONSTANT1987).
	ConstantMotionPart ScoreForm = "constant-motion"
	// ASESScore is the patient's part of the American Shoulder and Elbow
	// Surgeons' form (RICHARDS1994). The wording of its items is not ours to
	// give; only the answers are kept.
	ASESScore ScoreForm = "ases"
)

// Score is what a clinician found or asked for a score of the operated arm. It
// holds the values, never the points: those are computed (package trend).
type Score struct {
	Episode EpisodeID `json:"episode"`
	On      Date      `json:"on"`
	Form    ScoreForm `json:"form"`
	By      StaffID   `json:"by"`

	// Forward and Lateral are pain-free active elevation, seated; Positions
	// are the indexes 0 to 4 of the positions of external rotation that are
	// reached without pain; Internal is how high the back of the hand reaches.
	Forward   *Degrees `json:"forward,omitempty"`
	Lateral   *Degrees `json:"lateral,omitempty"`
	Positions []int    `json:"positions,omitempty"`
	Internal  Level    `json:"internal,omitempty"`

	// Pain is 0 to 10, Items the ten answers of 0 to 3.
	Pain  *int  `json:"pain,omitempty"`
	Items []int `json:"items,omitempty"`
}

// Validate checks that everything that the form asks is given, and nothing
// else: a score with a gap is no score.
func (s Score) Validate() error {
	switch {
	case s.Episode == "":
		return invalid("episode", "is missing")
	case s.On.IsZero() || s.By == "":
		return invalid("on", "and by must be given")
	}
	switch s.Form {
	case ConstantMotionPart:
		for _, a := range []*Degrees{s.Forward, s.Lateral} {
			if a == nil || *a < 0 || *a > ForwardFlexion.AnatomicalMax() {
				return invalid("forward", "and lateral elevation must lie between 0 and %s degrees", ForwardFlexion.AnatomicalMax())
			}
		}
		for i, p := range s.Positions {
			if p < 0 || p > 4 || slices.Contains(s.Positions[:i], p) {
				return invalid("positions", "must be different numbers from 0 to 4")
			}
		}
		if s.Internal < LevelT1 || s.Internal > LevelThigh {
			return invalid("internal", "must be a level from T1 to the thigh")
		}
		if s.Pain != nil || s.Items != nil {
			return invalid("pain", "and items belong to another form")
		}
	case ASESScore:
		if s.Pain == nil || *s.Pain < 0 || *s.Pain > 10 {
			return invalid("pain", "must lie between 0 and 10")
		}
		if len(s.Items) != 10 {
			return invalid("items", "must be ten")
		}
		for _, i := range s.Items {
			if i < 0 || i > 3 {
				return invalid("items", "must lie between 0 and 3")
			}
		}
		if s.Forward != nil || s.Lateral != nil || s.Positions != nil || s.Internal != 0 {
			return invalid("forward", "and the other motions belong to another form")
		}
	default:
		return invalid("form", "is not a score known here")
	}
	return nil
}

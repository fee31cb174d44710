package rom

import "slices"

// Method is how an angle was measured.
type Method string

// The methods.
const (
	Goniometer   Method = "goniometer"
	Inclinometer Method = "inclinometer"
	Photo        Method = "photo" // landmarks on a picture, the on-screen protractor
	Tilt         Method = "tilt"  // the phone laid on trunk and arm
	LevelMethod  Method = "level" // vertebral level of the thumb
	Eye          Method = "eye"   // estimated; kept, never used for change
)

// Valid reports whether m is a known method.
func (m Method) Valid() bool {
	switch m {
	case Goniometer, Inclinometer, Photo, Tilt, LevelMethod, Eye:
		return true
	}
	return false
}

// Position is how the patient lay, sat or stood.
type Position string

// The positions.
const (
	Supine    Position = "supine"
	Seated    Position = "seated"
	Standing  Position = "standing"
	SideLying Position = "side-lying"
	Prone     Position = "prone"
)

// Point is a landmark on a picture, in thousandths of its width from the
// left and of its width (not height) from the top, so that angles survive.
type Point struct {
	X int `json:"x"`
	Y int `json:"y"`
}

// Trial is one measurement of a reading, with what it was computed from.
type Trial struct {
	Angle Degrees `json:"angle"`
	SE    Degrees `json:"se"` // of this trial alone, from its landmarks or samples
	// Landmarks are the marked points of a picture in the order that
	// engine/gonio gives for the motion. The picture stays on the phone.
	Landmarks []Point `json:"marks,omitempty"`
	// OutOfPlane is how far the camera or the arm was out of the plane of
	// motion, when the phone could tell.
	OutOfPlane Degrees `json:"out,omitempty"`
}

// Reading is the result of one to three trials of one motion of one arm
// taken in one set-up. Whole-arm and glenohumeral values, and values of
// different motions, are never pooled.
type Reading struct {
	Episode  EpisodeID `json:"episode"`
	Side     Side      `json:"side"`
	Motion   Motion    `json:"m"`
	Class    Class     `json:"class"` // Passive or Active in practice
	Method   Method    `json:"method"`
	Position Position  `json:"position,omitempty"`
	Trials   []Trial   `json:"trials,omitempty"`
	Angle    Degrees   `json:"angle"`
	SE       Degrees   `json:"se"`
	Level    Level     `json:"level,omitempty"` // for hand behind back
	// Glenohumeral says that the scapula was held still.
	Glenohumeral bool `json:"gh,omitempty"`
	// Anaesthetic says that it was taken under anaesthetic.
	Anaesthetic bool `json:"anaesthetic,omitempty"`
	Baseline    bool `json:"baseline,omitempty"` // before surgery
	Pain        *int `json:"pain,omitempty"`     // 0 to 10 while measured
	// EndFeel is how the end of the range felt to the clinician; empty when
	// nobody said.
	EndFeel EndFeel `json:"end_feel,omitempty"`
	// By is the clinician; empty for the patient's own.
	By StaffID `json:"by,omitempty"`
	// On is the civil date when it differs from that of the record, for
	// readings entered later; zero otherwise.
	On      Date      `json:"on,omitempty"`
	Session SessionID `json:"session,omitempty"`
}

// EndFeel is what stops a passive movement, as the clinician's hand feels it.
type EndFeel string

// The end feels (NORKIN2016): soft, firm and hard are those of healthy
// joints; empty is a stop by pain before any of them.
const (
	SoftFeel  EndFeel = "soft"
	FirmFeel  EndFeel = "firm"
	HardFeel  EndFeel = "hard"
	EmptyFeel EndFeel = "empty"
)

// EndFeels lists them.
var EndFeels = []EndFeel{FirmFeel, SoftFeel, HardFeel, EmptyFeel}

// Self reports whether the patient took the reading.
func (r Reading) Self() bool { return r.By == "" }

// Validate checks r by itself. Values that anatomy refuses are an error;
// surprising values are not: to question them is the screen's work.
func (r Reading) Validate() error {
	switch {
	case r.Episode == "":
		return invalid("episode", "is missing")
	case !r.Side.Valid():
		return invalid("side", "must be left or right")
	case !r.Motion.Valid():
		return invalid("m", "is not a known motion")
	case !r.Method.Valid():
		return invalid("method", "is not a known method")
	case r.Class < Passive || r.Class > Active:
		return invalid("class", "must be passive, active-assisted or active")
	case len(r.Trials) > 9:
		return invalid("trials", "must not exceed nine")
	case r.Pain != nil && (*r.Pain < 0 || *r.Pain > 10):
		return invalid("pain", "must lie between 0 and 10")
	case r.EndFeel != "" && !slices.Contains(EndFeels, r.EndFeel):
		return invalid("end_feel", "must be soft, firm, hard or empty")
	case r.SE < 0 || r.SE > Deg(90):
		return invalid("se", "must lie between 0 and 90 degrees")
	}
	if r.Motion.ByLevel() {
		if r.Level < LevelT1 || r.Level > LevelThigh {
			return invalid("level", "must be a level from T1 to the thigh")
		}
		return nil
	}
	return validAngle("angle", r.Motion, r.Angle)
}

func validAngle(field string, m Motion, a Degrees) error {
	if a < Deg(-60) || a > m.AnatomicalMax() {
		return invalid(field, "must lie between -60 and %s degrees", m.AnatomicalMax())
	}
	return nil
}

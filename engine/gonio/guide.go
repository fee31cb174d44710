package gonio

import "unsling/engine/rom"

// Landmark names a point to mark; a key of app/words.
type Landmark string

// The landmarks.
const (
	Acromion      Landmark = "acromion"       // tip of the shoulder of the measured arm
	OtherAcromion Landmark = "other-acromion" // tip of the other shoulder
	Epicondyle    Landmark = "epicondyle"     // outer point of the elbow
	Styloid       Landmark = "styloid"        // little-finger side of the wrist
	MidAxillary   Landmark = "mid-axillary"   // low on the side of the trunk, below the armpit, at the hip
	Armpit        Landmark = "armpit"         // high on the side of the trunk
	SternumTop    Landmark = "sternum-top"    // notch above the breastbone
	SternumLine   Landmark = "sternum-line"   // navel, or any low point of the middle line
	Olecranon     Landmark = "olecranon"      // point of the elbow
	PencilLow     Landmark = "pencil-low"     // end of a held pencil at the little finger
	PencilHigh    Landmark = "pencil-high"    // end of a held pencil at the thumb
	SpineC7       Landmark = "spine-c7"       // the bump at the base of the neck
	SpinePSIS     Landmark = "spine-psis"     // middle between the two dimples above the buttocks
	ThumbTip      Landmark = "thumb-tip"
)

// View is where the camera stands.
type View string

// The views. The camera is level for all but FromAbove.
const (
	FromSide   View = "side" // the measured side
	FromFront  View = "front"
	FromAbove  View = "above" // looking straight down
	FromHead   View = "head"  // from beyond the head of a lying person
	FromFeet   View = "feet"
	FromBehind View = "behind"
)

// Setup is a way in which somebody with one good arm gets it done.
type Setup string

// The set-ups.
const (
	WithHelper Setup = "helper"    // somebody else takes the picture or lays the phone on
	Propped    Setup = "propped"   // phone propped up, self-timer
	Strapped   Setup = "strapped"  // phone strapped to the limb
	FreeHand   Setup = "free-hand" // the other hand lays the phone on, while something else carries the arm
)

// Way is one way of measuring a motion at home.
type Way struct {
	Method    rom.Method
	Position  rom.Position
	View      View       // photographs only
	Landmarks []Landmark // in the order in which they are marked and stored
	Trunk     bool       // tilt: a first reading on the trunk, or the upper arm, is needed
	Setups    []Setup    // the easiest for one person first
}

// Alone reports whether somebody can do it without help.
func (w Way) Alone() bool {
	for _, s := range w.Setups {
		if s != WithHelper {
			return true
		}
	}
	return false
}

// Reason says why a method cannot measure a motion; a key of app/words.
type Reason string

// The reasons.
const (
	ReasonVertical   Reason = "vertical"   // the arm turns about the vertical, which gravity does not see
	ReasonNoAngle    Reason = "no-angle"   // the motion is a level, not an angle
	ReasonOtherZero  Reason = "other-zero" // gravity sees it, but no set-up is offered in this position
	ReasonBlocked    Reason = "blocked"    // the body or the bed hides or stops the limb
	ReasonNotOffered Reason = "not-offered"
)

// Cannot is a method that does not measure a motion in a position.
type Cannot struct {
	Method   rom.Method
	Position rom.Position
	Why      Reason
}

// Guide is how one motion is measured at home. A clinician's goniometer is
// outside of it.
type Guide struct {
	Motion rom.Motion
	Ways   []Way
	Cannot []Cannot
	// HoldStill and WatchFor are keys of app/words, from NORKIN2016 and
	// VAIRO2012 Table 1.
	HoldStill string
	WatchFor  []string
}

// AtHome reports whether any way exists.
func (g Guide) AtHome() bool { return len(g.Ways) > 0 }

// GuideFor returns the guide of a motion; without ways for no motion.
func GuideFor(m rom.Motion) Guide {
	g := guides[m]
	g.Motion = m
	return g
}

// WayFor returns the way of measuring m by a method in a position.
func WayFor(m rom.Motion, method rom.Method, p rom.Position) (Way, bool) {
	for _, w := range guides[m].Ways {
		if w.Method == method && w.Position == p {
			return w, true
		}
	}
	return Way{}, false
}

package session

import (
	"errors"

	"unsling/engine/rom"
)

// The reasons why a session cannot be built. Returned errors wrap one of them.
var (
	ErrNothing = errors.New("nothing to do in this session")
	ErrItem    = errors.New("an exercise of this session is not valid")
	ErrLocked  = errors.New("an exercise of this session moves a locked motion")
	ErrTooMuch = errors.New("this session is longer than one record can hold")
	ErrDraft   = errors.New("the draft of this session is damaged")
)

// Timing holds the lengths that no prescription gives, in seconds. The
// defaults are choices of this project.
type Timing struct {
	GetReady int `json:"get_ready"` // spoken countdown before an exercise and after a pause
	Move     int `json:"move"`      // time to reach the end point; There ends it early
	Longer   int `json:"longer"`    // what one tap on longer rest adds
}

// DefaultTiming returns 5 seconds to get ready, 5 to move, 30 of longer rest.
func DefaultTiming() Timing { return Timing{GetReady: 5, Move: 5, Longer: 30} }

// Item is one exercise of the session with what limits it today.
type Item struct {
	rom.Prescription
	// Class is the exercise's class; a limit of a lower class locks it.
	Class rom.Class `json:"class"`
	// Limit is the row of the phase for the item's motion. It is not looked
	// at when the item has no motion.
	Limit rom.Limit `json:"limit,omitzero"`
	// Error is the standard error of the patient's readings of the motion,
	// for the aim line; 0 takes the default of a photograph.
	Error rom.Degrees `json:"error,omitempty"`
	// Overs counts readings of the motion over the limit since it was set,
	// within error or not, before this session.
	Overs int `json:"overs,omitempty"`
}

// Config is one session to be done.
type Config struct {
	Episode   rom.EpisodeID `json:"episode"`
	ID        rom.SessionID `json:"id"`
	Due       rom.Date      `json:"due"`
	Slot      int           `json:"slot"`
	Phase     string        `json:"phase"`
	PainCap   int           `json:"pain_cap"`
	Items     []Item        `json:"items"`
	Timing    Timing        `json:"timing"` // zero takes DefaultTiming
	ByTap     bool          `json:"by_tap,omitempty"`
	Therapist bool          `json:"therapist,omitempty"`
}

// Machine is one running session. Its zero value is not usable.
type Machine struct{ d Draft }

// Draft is everything a session needs to go on after the app was killed. It
// encodes to JSON of at most MaxDraft bytes.
type Draft struct {
	Version int    `json:"v"`
	Config  Config `json:"config"`
}

// New returns a machine in state Ready, and what to show. It refuses a
// configuration that breaks a rule.
func New(c Config, at Millis) (*Machine, Output, error) {
	return nil, Output{}, ErrNothing
}

// Resume returns a machine, paused at the repetition that was running when
// the draft was kept, with all finished holds. awaySeconds is the wall time
// since then, as data for the session's length; implausible values count as 0.
func Resume(d Draft, at Millis, awaySeconds int) (*Machine, Output, error) {
	return nil, Output{}, ErrDraft
}

// Abandon returns the body of a session that is not taken up again.
func Abandon(d Draft) (rom.Session, error) { return rom.Session{}, ErrDraft }

// Step takes one event. It never fails: see Output.Ignored.
func (m *Machine) Step(e Event) Output { return Output{} }

// View returns what to show now, without an event.
func (m *Machine) View() View { return View{} }

// Draft returns the session as it stands.
func (m *Machine) Draft() Draft { return m.d }

// ChangeFor translates a newly adopted plan into what it means for a session
// of one phase; a phase that is gone closes everything.
func ChangeFor(p rom.Plan, phase string) Change { return Change{} }

// CountsFrom returns from how many tenths of a second a hold of the given
// prescribed seconds counts.
func CountsFrom(seconds int) int { return seconds * 9 }

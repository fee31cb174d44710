package session

import (
	"errors"
	"fmt"

	"unsling/engine/rom"
)

// The reasons why a session cannot be built. Returned errors wrap one of them.
var (
	ErrNothing = errors.New("nothing to do in this session")
	ErrItem    = errors.New("a part of this session is not valid")
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

// What one journal record can hold (see recordRoom).
const (
	recordRoom = 7600 // bytes of a body that leave room for the line's other fields
	holdRoom   = 46   // bytes of a hold with an angle
	repRoom    = 30   // bytes of a repetition without a hold
	itemRoom   = 130
	frameRoom  = 320
)

func (c Config) validate() error {
	if len(c.Items) == 0 {
		return ErrNothing
	}
	if c.Episode == "" || c.ID == "" || c.Slot < 0 || c.Slot > 24 || c.PainCap < 0 || c.PainCap > 10 || len(c.Items) > 20 {
		return ErrItem
	}
	for _, s := range []int{c.Timing.GetReady, c.Timing.Move, c.Timing.Longer} {
		if s < 0 || s > 120 {
			return ErrItem
		}
	}
	for _, it := range c.Items {
		if err := it.validate(); err != nil {
			return fmt.Errorf("exercise %q: %w", it.Exercise, err)
		}
	}
	if c.room() > recordRoom {
		return ErrTooMuch
	}
	return nil
}

func (it Item) validate() error {
	if err := it.Prescription.Validate(); err != nil {
		return fmt.Errorf("%w: %w", ErrItem, err)
	}
	if it.Error < 0 || it.Error > rom.Deg(90) {
		return ErrItem
	}
	if it.Motion == "" {
		return nil
	}
	if it.Limit.Class == rom.Locked || it.Class > it.Limit.Class {
		return ErrLocked
	}
	if err := it.Limit.Validate(); err != nil {
		return fmt.Errorf("%w: %w", ErrItem, err)
	}
	if it.Limit.Motion != it.Motion || it.Class < rom.Passive {
		return ErrItem
	}
	return nil
}

// room returns the most bytes that the finished record may take if every
// repetition is done once.
func (c Config) room() int {
	n := frameRoom
	for _, it := range c.Items {
		n += itemRoom + it.Dose.Reps*it.holdRoom()
	}
	return n
}

func (it Item) holdRoom() int {
	if it.Dose.Hold == 0 {
		return repRoom
	}
	return holdRoom
}

// MaxGap is the longest time between two events, in milliseconds, that is
// taken for time watched by the patient. The caller's ticks are much closer.
const MaxGap Millis = 3000

const (
	leastHold = 1000 // ms; what is shorter was a slip of the finger
	leastRep  = 500  // ms between two taps for repetitions without hold
	mostRest  = 600_000
)

// Machine is one running session; New and Resume make it.
type Machine struct {
	d      Draft
	notice Notice
	now    Millis // of the last event
	begun  Millis // of the running time
	length Millis // of the running time; 0 when it has no end of its own
	spoken int    // last number of seconds left that was said
	held   spot   // the last finished hold
	holds  []spot // every hold that began since New or Resume
	angle  *rom.Degrees
	out    Output
}

// spot is one hold: item and index, in draft order; the index is notKept while
// it goes on, and where the record has none of it.
type spot struct {
	item, hold int
	ok         bool
}

const notKept = -1

// New returns a machine in state Ready, and what to show. It refuses a
// configuration that breaks a rule.
func New(c Config, at Millis) (*Machine, Output, error) {
	if err := c.validate(); err != nil {
		return nil, Output{}, fmt.Errorf("new session: %w", err)
	}
	if c.Timing == (Timing{}) {
		c.Timing = DefaultTiming()
	}
	d := Draft{Version: draftVersion, Config: c, State: Ready, ByTap: c.ByTap}
	for _, it := range c.Items {
		d.Items = append(d.Items, Progress{SessionItem: rom.SessionItem{Exercise: it.Exercise, Motion: it.Motion, Dose: it.Dose}})
	}
	m := &Machine{d: d.clone(), now: at, notice: NoticePainFirst}
	return m, Output{View: m.View()}, nil
}

// Step takes one event. It never fails: see Output.Ignored.
func (m *Machine) Step(e Event) Output {
	m.out = Output{}
	if m.final() {
		m.out.Ignored = true
	} else {
		slept := m.pass(e.At)
		fits := m.apply(e)
		m.out.Ignored = !fits && !slept
		if fits && e.Kind != Tick || slept || m.out.Keep != nil {
			m.keep()
		}
		if m.final() {
			m.out.Keep = nil
		}
	}
	m.out.View = m.View()
	return m.out
}

// keep offers the draft; a state change by time alone keeps when it matters.
func (m *Machine) keep() {
	d := m.d.clone()
	m.out.Keep = &d
}

func (m *Machine) final() bool { return m.d.State == Finished || m.d.State == Stopped }

// running reports whether a time runs that must be watched.
func (m *Machine) running() bool {
	switch m.d.State {
	case GetReady, Moving, Holding, Resting:
		return true
	}
	return false
}

// pass moves the clock to at and reports whether that was a suspension, in
// which case a running time was broken off as of the last event.
func (m *Machine) pass(at Millis) (slept bool) {
	gap := at - m.now
	switch { // either may overflow
	case at < m.now:
		gap = -1
	case gap < 0:
		gap = dayMillis
	}
	if gap > 0 {
		m.d.Elapsed = min(m.d.Elapsed+min(gap, dayMillis), dayMillis)
	}
	if m.running() && (gap < 0 || gap > MaxGap) {
		m.breakOff(NoticeSuspended)
		slept = true
	}
	m.now = at
	return slept
}

const dayMillis Millis = 24 * 3600 * 1000

// item returns the exercise at hand.
func (m *Machine) item() *Item { return &m.d.Config.Items[m.d.Item] }

// done returns what was done of it.
func (m *Machine) done() *Progress { return &m.d.Items[m.d.Item] }

func (m *Machine) elapsed() Millis { return m.now - m.begun }

// View returns what to show now, without an event.
func (m *Machine) View() View { return m.view() }

// Draft returns the session as it stands.
func (m *Machine) Draft() Draft { return m.d.clone() }

// CountsFrom returns from how many tenths of a second a hold of the given
// prescribed seconds counts: nine tenths of it.
func CountsFrom(seconds int) int { return seconds * 9 }

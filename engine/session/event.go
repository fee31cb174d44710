package session

import (
	"unsling/engine/rom"
	"unsling/engine/verdict"
)

// Millis is an instant of the app's monotonic clock, in milliseconds. Its
// zero has no meaning and it starts anew with every start of the app.
type Millis int64

// EventKind names what happened.
type EventKind string

// The events. Every one is safe in every state: what does not fit is ignored
// and Output.Ignored says so.
const (
	Tick       EventKind = "tick"       // time went on
	PainBefore EventKind = "painBefore" // Score; must come before the first Start
	Start      EventKind = "start"      // one tap per exercise; a spoken countdown follows, the hand is free
	There      EventKind = "there"      // at the gentle end point: the hold begins now
	Done       EventKind = "done"       // the hold ends now, or one repetition without hold is done
	Longer     EventKind = "longer"     // longer rest
	Next       EventKind = "next"       // enough rest
	Pause      EventKind = "pause"
	Continue   EventKind = "continue"  // after a pause, a suspension or a resume
	Skip       EventKind = "skip"      // Why; leaves the rest of this exercise out
	ByTap      EventKind = "byTap"     // Flag: the patient counts and taps instead of the timer
	PainNow    EventKind = "painNow"   // Score, at any time in between
	Measured   EventKind = "measured"  // Angle or Level of the present or the last hold, and its Tier
	PainAfter  EventKind = "painAfter" // Score; finishes
	NoAnswer   EventKind = "noAnswer"  // finishes without a score
	Medicine   EventKind = "medicine"  // Flag: pain medicine before the session
	Helper     EventKind = "helper"    // Flag: somebody carried the arm
	Stop       EventKind = "stop"      // Stop: the reason
	Hidden     EventKind = "hidden"    // the app left the screen
	Changed    EventKind = "changed"   // To: the plan was revised meanwhile
)

// Event is one thing that happened, at one instant.
type Event struct {
	Kind  EventKind
	At    Millis
	Score int            // pain, 0 to 10
	Flag  bool           // ByTap, Medicine, Helper
	Why   rom.SkipReason // Skip
	Stop  rom.StopReason // Stop; an unknown reason is taken for StopOther
	Angle rom.Degrees    // Measured
	Level rom.Level      // Measured, for hand behind back
	Tier  verdict.Tier   // Measured: how it stands to the limit, as engine/verdict says
	// Hold is for Measured the View.Hold in which it was taken, NoHold for in none
	// of them, 0 for the present or the last. Motion is what was measured; it is
	// looked at with NoHold.
	Hold   int
	Motion rom.Motion
	To     *Change // Changed
}

// NoHold says that a measurement was taken while no hold went on: its tier
// counts, its angle is none of a hold.
const NoHold = -1

// Change is what a new plan revision, or a reading outside of a hold, means for
// a session that was begun. Narrower limits, closed exercises and a stop apply
// at once; anything wider waits for the next session.
type Change struct {
	// Stopped says that the plan is stopped or paused.
	Stopped bool
	// Halted says that the patient's own report stopped everything: the clinic
	// knows nothing of it yet.
	Halted bool
	// Limits are all rows of the phase; a motion without a row is locked.
	Limits []rom.Limit
	// Closed are exercises that are not to be done any more.
	Closed []rom.ExerciseID
	// Over are motions that were found past their limit today, in this session
	// or outside of it: their stretches end, and the clinic is to be rung. Those
	// of Likely end, too.
	Over, Likely []rom.Motion
	// PainCap is the phase's cap; a higher one than before waits.
	PainCap int
}

// ChangeFor translates a newly adopted plan into what it means for a session
// of one phase. A phase that is gone, or an exercise that the phase no longer
// prescribes, is closed.
func ChangeFor(p rom.Plan, phase string) Change {
	c := Change{Stopped: p.State != rom.Running}
	kept := map[rom.ExerciseID]bool{}
	for _, ph := range p.Phases {
		if ph.Key != phase {
			continue
		}
		c.Limits, c.PainCap = ph.Limits, ph.PainCap
		for _, x := range ph.Prescriptions {
			kept[x.Exercise] = true
		}
	}
	for _, e := range p.Closed {
		delete(kept, e)
	}
	for _, e := range rom.Exercises {
		if !kept[e] {
			c.Closed = append(c.Closed, e)
		}
	}
	return c
}

package session

import (
	"unsling/engine/rom"
	"unsling/engine/verdict"
)

// State is where the session stands.
type State string

// The states. Finished and Stopped are final.
const (
	Ready    State = "ready"     // waits for pain before and the tap on start
	GetReady State = "get-ready" // spoken countdown before the first move
	Moving   State = "moving"    // the arm goes slowly to its gentle end point
	Holding  State = "holding"
	Resting  State = "resting"
	Paused   State = "paused"
	Asking   State = "asking" // all done, asks for pain after
	Finished State = "finished"
	Stopped  State = "stopped"
)

// Notice is a sentence to show until the state changes; a key of app/words.
type Notice string

// The notices.
const (
	NoNotice         Notice = ""
	NoticePaused     Notice = "session.paused"
	NoticeSuspended  Notice = "session.suspended"   // the phone slept; same hold again
	NoticeResumed    Notice = "session.resumed"     // the app was closed; same hold again
	NoticeStillThere Notice = "session.still-there" // no tap for long
	NoticePainFirst  Notice = "session.pain-first"  // say how much it hurts first
	NoticePainBefore Notice = "session.pain-before" // above the cap before starting: rest, try later
	NoticePain       Notice = "session.pain"        // above the cap: stop, rest, less far
	NoticePainAfter  Notice = "session.pain-after"  // above the cap afterwards: less far next time
	NoticePainStop   Notice = "session.pain-stop"   // above the cap twice: ended for now
	NoticeClose      Notice = "limit.close"         // over the limit, as errors may explain
	NoticeLikely     Notice = "limit.likely"        // more likely over than not
	NoticeOver       Notice = "limit.over"          // a limit that counts as passed
	NoticeNarrowed   Notice = "session.narrowed"    // the clinic narrowed a limit
	NoticeClosed     Notice = "session.closed"      // the clinic closed an exercise
	NoticeByClinic   Notice = "session.by-clinic"   // the clinic stopped the plan
	NoticeCallNow    Notice = "session.call-now"    // something is wrong: stop all, call now
	NoticeDone       Notice = "session.done"        // done; more is not better
)

// Say is one thing to speak: a key of app/words and its number, if any.
type Say struct {
	Key string
	N   int
}

// The spoken keys besides the notices.
const (
	SayGetReady = "say.get-ready"
	SayCount    = "say.count" // N: 3, 2, 1
	SayMove     = "say.move"
	SayHold     = "say.hold" // N: seconds
	SayHalf     = "say.half"
	SayLeft     = "say.left" // N: seconds left
	SayRest     = "say.rest" // N: seconds
	SayBack     = "say.back" // come back slowly
	SayNext     = "say.next-exercise"
	SayAskPain  = "say.ask-pain"
)

// Tone is a sound.
type Tone string

// The tones.
const (
	Silent    Tone = ""
	ToneTick  Tone = "tick"
	ToneBegin Tone = "begin" // a hold begins
	ToneEnd   Tone = "end"   // a hold ended
	ToneAlert Tone = "alert"
)

// Urgency is how soon to call the clinic.
type Urgency int

// The urgencies.
const (
	NoCall Urgency = iota
	CallToday
	CallNow
)

// View is what a screen needs to draw one moment of the session.
type View struct {
	State    State
	Notice   Notice
	Item     int // index of the exercise, from 0
	Items    int
	Exercise rom.ExerciseID
	Motion   rom.Motion
	Rep      int // the repetition at hand, from 1
	Reps     int
	Hold     int          // while holding: which hold it is of all that began, from 1; else 0
	Total    Millis       // length of the running time, 0 when none runs
	Left     Millis       // what is left of it, never negative
	Elapsed  Millis       // what has passed of it
	ByTap    bool         // the patient ends the hold
	NoHold   bool         // repetitions without hold: tap for each
	Counted  int          // counted holds of the whole session
	Asked    int          // holds asked for
	Limit    *rom.Degrees // the ceiling; nil when there is none
	Aim      *rom.Degrees // the aim line, below the limit by the error
	Level    rom.Level    // highest level of hand behind back; 0 when none
	PainCap  int
	Buttons  []EventKind // what can be tapped now, the main one first
}

// Output is the answer to one event.
type Output struct {
	View    View
	Say     []Say
	Tone    Tone
	Vibrate []int // milliseconds on, off, on...; empty for none
	// Keep is to be written durably before anything says "kept".
	Keep *Draft
	// Record is the finished body, given exactly once.
	Record *rom.Session
	// Call asks for the clinic's number on the stop screen.
	Call Urgency
	// Tier is the verdict on a measured angle.
	Tier verdict.Tier
	// Ignored says that the event does not fit the state; nothing changed.
	Ignored bool
}

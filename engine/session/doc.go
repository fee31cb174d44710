// Package session guides one sitting of stretching: get ready, move, hold,
// rest, next. It is a state machine driven from outside; it has no clock, no
// screen and no store. One Machine serves one sitting.
//
// # What the caller must do
//
//  1. Call Step for every tap and, while a time runs, several times a second
//     with Tick. Event.At is a monotonic clock in milliseconds.
//  2. When Output.Keep is set, write that draft durably before anything says
//     "kept". It is set at the start and after every finished hold.
//  3. When Output.Record is set, append it to the journal and only then delete
//     the draft. At start-up, a draft whose session is already in the journal
//     is deleted, any other is offered with Resume, or closed with Abandon.
//  4. Speak, sound and vibrate what Output says; show Output.View.
//  5. Show Output.Call as the stop screen with the clinic's number. A warning
//     sign behind "something is wrong" is asked for and recorded there.
//  6. Send Hidden when the app leaves the screen, and Changed when a new plan
//     revision was adopted.
//
// # What counts
//
// A hold is timed from the moment the patient is at his or her own gentle end
// point. It counts when it lasted at least nine tenths of the prescribed time
// (CountsFrom) without a break. A shorter one that the patient ends is over: it
// is recorded with its seconds and does not count. One that was broken off, by
// a pause, by pain or by a sleeping phone, is recorded alike and the same
// repetition comes again; of one that died with the app nothing is known, and
// it comes again, too. The nine tenths are a choice of this project: they
// forgive a tap that comes early, not a broken hold. A hold whose measured
// angle counts as past the limit, or likely so (engine/verdict), is recorded
// with its angle and does not count.
//
// # Time
//
// Only time that was watched counts. A gap of more than MaxGap between two
// events, or a clock that runs backwards, is a suspension: the machine pauses
// at the same repetition, and the time in the gap belongs to no hold.
package session

// Package screen is what the patient sees: one root component, [Phone], and
// one file with the facts and rules of each screen, beside one that draws it.
//
// # How it is built
//
// An [App] holds everything that screens look at: the records as a history,
// the plan that the phone obeys, the day called today, the settings and the
// state of sending. Each screen has plain Go that turns the App and what was
// tapped into a view of ready sentences and numbers; only the render methods
// know the UI library. The engine decides what is due, allowed and counted.
//
// # What the program must give
//
// [Deps] names it: clock and chance, cues, camera, tilt, the platform, the
// journal and the sender. Methods said to block are called away from the UI.
//
//  1. Journal.Append returns only when the record is durable. The screens say
//     "kept on this phone" after that and never before.
//  2. Facts is a snapshot: never changed after it was handed out.
//  3. Every call of a subscribed function means: look at Facts again.
//  4. Nothing here writes to a log.
//
// # The UI library's traps
//
// Every handler goes through tap, which carries a scope of its own, recovers,
// and never blocks; there are no style attributes; links to a number open
// outside of the library's navigation; pictures are mounted only by svg, which
// takes the output of app/figure and app/chart.
//
// # Decisions
//
//   - What can harm stands first on every page of the phone: the numb arm above the session, what to do about a
//     sign above "kept", rest and the number as the headline after a bad night. Medicine is asked for before the
//     pain score, since the score ends the page; yes, no and not said are three answers. While the timer runs "too
//     much pain" comes first of what is below it, and a phone on its side has the timer in one half
//     (phone_side.css, the last style sheet but one, since files are gathered by name).
//   - Who leaves before the last trial keeps what was measured: the arm was at its end for it, and the plan counts
//     it. A result past the limit stays 700 ms whatever is tapped. The pain scale and "why skip" let the hold at
//     hand end and then pause: what the patient says of pain decides before the next one begins.
//   - A practice before the operation is done by the arm that is not to be operated, only in exercises in which the
//     other arm does no work (table slides, else hand and wrist), and writes no record: a flag would have to be
//     honoured by every reader for ever, and the clinic gains nothing from "has practised". Pain above the cap,
//     "too much pain" and "something is wrong" are ordinary records of their kinds. Some pain before does not shut
//     it (the score becomes the cap), pain that would stop an exercise does. What the plan closes is not practised;
//     a plan that is stopped or paused stops practice and baseline.
//   - Before the hour of a session the phone offers it as soon as the schedule has it open, and says from when it
//     is planned; only the least gap holds it back.
//   - Width counts in units of the text (@container phone, phone_narrow.css): text size of the settings, of the
//     browser and a zoom lead to the same rules. A new screen needs a line there only when TestScreensInEveryLook
//     says so.
//   - Photographs are never stored: they live while they are on the screen. A full phone has none to drop before
//     its records.
//   - An odd angle of a photograph (more than 40 degrees from last time) is questioned once at the marks, where it
//     can be checked without loading the arm again. One past the limit is never questioned: the danger is said at
//     once.
//   - A limit is shown floored (92.5 shows as 92), a reading rounded.
//   - The preferences say how many pages the first run had when they were written: whoever was through an older one
//     is not asked again.
package screen

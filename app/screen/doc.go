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
package screen

// Package enginetest drives the real server and the phone's app in browser engines other than Chromium: Gecko by Firefox
// (WebDriver BiDi) and WebKit by WebKitGTK's MiniBrowser (WebDriver). It holds both to the journal's conformance suite and to
// the way of one patient from the printed code to the clinic's page.
//
// Its tests take minutes, because holds are timed by the engine's own clock, and need browsers that not every machine has; so
// they are run by "make test-engines", not by "make test".
//
// # Decisions
//
//   - Second engines are spoken to in plain WebDriver (WebKitGTK) and WebDriver BiDi (Firefox) from Go, about 500
//     lines and no dependency. Their clocks are their own: holds last what they last, so an exercise takes two
//     minutes, and what the engine's timers do is seen.
package enginetest

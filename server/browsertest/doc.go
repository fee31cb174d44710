// Package browsertest drives a real Chromium against our own server, for tests: it starts the browser without a window and
// without the network, opens pages, stops and restarts servers on the same port, takes the page offline, slows its
// processor, and replaces the page's clock and timers. It also runs the tests of a js/wasm package inside the browser.
//
// Everything is done from outside, over the browser's devtools protocol: the product has no test mode.
//
// A missing browser is a failure, not a skipped test.
//
// # Decisions
//
//   - The tests of app/screen, built for the browser and served as the program of the real shell, are a stage
//     (stage_js_test.go): the real component in the real page at any moment, with the phone faked. What is judged
//     and pictured is what runs; the rare moments cost no clicking.
package browsertest

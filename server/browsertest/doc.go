// Package browsertest drives a real Chromium against our own server, for tests: it starts the browser without a window and
// without the network, opens pages, stops and restarts servers on the same port, takes the page offline, slows its
// processor, and replaces the page's clock and timers. It also runs the tests of a js/wasm package inside the browser.
//
// Everything is done from outside, over the browser's devtools protocol: the product has no test mode.
//
// A missing browser is a failure, not a skipped test.
package browsertest

//go:build race || js

package sim

// usual is how many seeds a test plays where each takes ten times as long;
// the same seeds are played in full without the race detector.
const usual = 30

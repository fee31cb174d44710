//go:build !race && !js

package sim

// usual is how many seeds a plain test plays.
const usual = 300

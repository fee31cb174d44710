package gonio

import (
	"math"

	"unsling/engine/rom"
)

// CameraTilt returns how far a camera that is held by hand is off its due
// direction for a view: roll about its line of sight, positive when the
// phone's top leans to the right, and pitch, positive when it looks down. A
// phone held upright or on its side is level at the nearest quarter turn. From
// above roll means nothing and is 0, and pitch is what is missing to straight
// down. ok is false where the samples show no gravity; unlike Still it does not
// ask for a steady hand, since it is shown while the phone moves.
func CameraTilt(samples []Sample, v View) (roll, pitch rom.Degrees, ok bool) {
	var x, y, z float64
	for _, s := range samples {
		x, y, z = x+s.X, y+s.Y, z+s.Z
	}
	n := float64(len(samples))
	length := math.Sqrt(float64(x*x) + float64(y*y) + float64(z*z))
	if n == 0 || !(length > n*earth/2) || !(length < 2*n*earth) {
		return 0, 0, false
	}
	lying := deg(math.Asin(math.Max(-1, math.Min(1, z/length)))) // 90: the screen looks up
	if v == FromAbove {
		p, ok := rom.FromFloat(90 - lying)
		return 0, p, ok
	}
	turned := 0.0
	if math.Hypot(x, y) > length/4 { // else there is no up in the picture
		turned = deg(math.Atan2(-x, y))
		turned -= 90 * math.Round(turned/90)
	}
	roll, ok = rom.FromFloat(turned)
	pitch, ok2 := rom.FromFloat(lying)
	return roll, pitch, ok && ok2
}

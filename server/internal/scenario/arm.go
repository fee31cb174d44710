package scenario

import (
	"math"

	"unsling/engine/rom"
)

// arm is an invented joint: how its passive range comes back. Before surgery
// it has the range of before; afterwards it begins at start and nears goal
// with the time constant tau in days.
type arm struct {
	before, start, goal map[rom.Motion]float64
	tau                 float64
	falls               float64 // degrees lost a day since day 3, for a joint that stiffens again
}

var (
	sound = map[rom.Motion]float64{rom.ForwardFlexion: 168, rom.Scaption: 166, rom.Abduction: 165, rom.ERSide: 62, rom.ER20: 64, rom.ER90: 88, rom.IR90: 55, rom.IRSide: 70, rom.Extension: 55, rom.CrossBody: 110, rom.ElbowFlexion: 145, rom.ElbowExtension: 0, rom.ForearmRotation: 85}
	early = map[rom.Motion]float64{rom.ForwardFlexion: 62, rom.Scaption: 60, rom.Abduction: 50, rom.ERSide: 4, rom.ER20: 6, rom.ER90: 20, rom.IR90: 12, rom.IRSide: 40, rom.Extension: 10, rom.CrossBody: 50, rom.ElbowFlexion: 120, rom.ElbowExtension: 0, rom.ForearmRotation: 70}
)

func with(base map[rom.Motion]float64, change map[rom.Motion]float64) map[rom.Motion]float64 {
	out := map[rom.Motion]float64{}
	for m, x := range base {
		out[m] = x
	}
	for m, x := range change {
		out[m] = x
	}
	return out
}

// The invented courses.
var (
	onCourse      = arm{before: with(sound, map[rom.Motion]float64{rom.ForwardFlexion: 152, rom.ERSide: 56}), start: early, goal: with(sound, map[rom.Motion]float64{rom.ForwardFlexion: 164, rom.ERSide: 58}), tau: 46}
	stiffRotation = arm{before: with(sound, map[rom.Motion]float64{rom.ERSide: 52}), start: early, goal: with(sound, map[rom.Motion]float64{rom.ForwardFlexion: 166, rom.ERSide: 21, rom.ER20: 23, rom.ER90: 34, rom.IR90: 20}), tau: 36}
	looseER       = arm{before: sound, start: with(early, map[rom.Motion]float64{rom.ERSide: 18}), goal: with(sound, map[rom.Motion]float64{rom.ERSide: 66}), tau: 30}
	slow          = arm{before: sound, start: early, goal: with(sound, map[rom.Motion]float64{rom.ForwardFlexion: 150, rom.ERSide: 46}), tau: 75}
	quick         = arm{before: sound, start: with(early, map[rom.Motion]float64{rom.ForwardFlexion: 100, rom.ERSide: 30}), goal: sound, tau: 14}
	losing        = arm{before: with(early, map[rom.Motion]float64{rom.ForwardFlexion: 95, rom.ERSide: 15}), start: with(sound, map[rom.Motion]float64{rom.ForwardFlexion: 150, rom.ERSide: 50}), goal: with(sound, map[rom.Motion]float64{rom.ForwardFlexion: 150, rom.ERSide: 50}), tau: 20, falls: 3.4}
)

// at is the joint's passive range of m on a day after surgery.
func (a arm) at(m rom.Motion, day int) float64 {
	if day < 0 {
		return a.before[m]
	}
	x := a.start[m] + (a.goal[m]-a.start[m])*(1-math.Exp(-float64(day)/a.tau))
	if a.falls > 0 && day > 3 {
		x -= a.falls * float64(day-3)
	}
	return max(x, 0)
}

package figure

import "unsling/engine/rom"

// Angle is an angle that may be absent. The zero Angle is absent.
type Angle struct {
	At  rom.Degrees
	Set bool
}

// At returns a present angle.
func At(d rom.Degrees) Angle { return Angle{At: d, Set: true} }

// Marks are what the arc shows, in degrees of the motion that is drawn. For
// the hand behind the back they are levels: At(rom.Deg(int(level))).
//
// Aim bounds the picture too: at t = 1 the arm stands at Aim if that is set,
// else at Limit, else at the usual end range of the exercise, so that no
// picture ever shows an arm beyond what the plan permits.
type Marks struct {
	Now   Angle       // the newest reading
	Error rom.Degrees // standard error of Now, drawn as a band; 0 for none
	Last  Angle       // the reading before
	Aim   Angle       // where the hold should be: the limit less the error
	Limit Angle       // the ceiling of the plan; beyond it the arc is barred
	Other Angle       // the same motion of the other arm
}

// Words are the texts of one picture, already in the reader's language. They
// are fixed words of the catalogue, never text that somebody typed; they are
// escaped all the same. An empty mark word leaves the bare number.
type Words struct {
	Title                  string // accessible name of the picture
	Now, Aim, Limit, Other string // words beside the marks
	Last                   string
	Room                   Room // where the picture stands; the zero Room is a column
}

// Exercise returns the picture of an exercise as an SVG element. t runs from
// 0, the start, to 1, the end range; it is clamped, and NaN is the start. A
// screen that may move shows successive t, one that may not shows t = 0 and
// t = 1 side by side. The view box is the same for every t, so that nothing
// jumps. An unknown exercise gives the standing body without an arc.
func Exercise(id rom.ExerciseID, side rom.Side, t float64, m Marks, w Words) string {
	return draw(exerciseScene(id, m), side, t, m, w)
}

// Measure returns the picture of how a motion is measured, in the first
// position that package gonio offers for a photograph.
func Measure(motion rom.Motion, side rom.Side, m Marks, w Words) string {
	return MeasureIn(motion, "", side, m, w)
}

// MeasureIn returns the picture of how a motion is measured in a position,
// with the landmarks numbered in the order in which package gonio wants them
// marked, and the arm at Now, else at a usual angle. In a position in which
// the motion is not measured it shows the first one offered.
func MeasureIn(motion rom.Motion, position rom.Position, side rom.Side, m Marks, w Words) string {
	return draw(measureScene(motion, position, m), side, 1, m, w)
}

// SideChoice returns the standing body from the front with the arm of one
// side accented: the picture on which a patient confirms the operated side.
func SideChoice(side rom.Side, w Words) string {
	return draw(standScene(), side, 1, Marks{}, w)
}

// Motion returns the motion whose angle the picture of an exercise shows, or
// "" where it shows none (pendulum, wrist and hand, shoulder blade).
func Motion(id rom.ExerciseID) rom.Motion { return exerciseScene(id, Marks{}).motion }

// Range returns the angles at which the picture starts and ends with the
// given marks.
func Range(id rom.ExerciseID, m Marks) (start, end rom.Degrees) {
	s := exerciseScene(id, m)
	start, _ = rom.FromFloat(s.start)
	end, _ = rom.FromFloat(s.end)
	return start, end
}

// PoseOf returns the body of an exercise at t, with the right arm as the
// operated one.
func PoseOf(id rom.ExerciseID, t float64, m Marks) Pose {
	return exerciseScene(id, m).at(cleanT(t))
}

// Shown returns the angle at which the operated arm stands in the picture, as
// a goniometer would read it from the joint centres. ok is false where the
// picture shows no angle.
func Shown(id rom.ExerciseID, t float64, m Marks) (d rom.Degrees, ok bool) {
	s := exerciseScene(id, m)
	g, ok := s.gauge(s.at(cleanT(t)), m)
	if !ok {
		return 0, false
	}
	return rom.FromFloat(g.value())
}

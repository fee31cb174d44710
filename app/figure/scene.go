package figure

import "unsling/engine/rom"

type scene struct {
	motion     rom.Motion
	start, end rom.Degrees
}

func exerciseScene(id rom.ExerciseID, m Marks) scene { return scene{} }
func measureScene(motion rom.Motion, m Marks) scene  { return scene{} }
func standScene() scene                              { return scene{} }
func draw(s scene, side rom.Side, t float64, m Marks, w Words) string {
	return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 360 300" role="img" class="fig"></svg>`
}

package screen

import (
	"unsling/app/figure"
	"unsling/app/words"
	"unsling/engine/session"
)

// How long the figure moves, in milliseconds.
const (
	// previewTime shows the movement before a start; below the five seconds after
	// which WCAG 2.2.2 asks for a way to stop it.
	previewTime = 4600
	// repTime is one movement there and back where the patient goes at their own
	// pace; choice of this project.
	repTime = 4000
	// backTime is the way back at the start of a rest; choice of this project.
	backTime = 3000
)

// sessionFigure returns the picture of the moment: moving with the arm where
// movement is welcome, else start and end side by side.
func (a *App) sessionFigure() (figures []string, replay bool) {
	x := a.session.view
	m := figure.Marks{}
	if x.Limit != nil {
		m.Limit = figure.At(*x.Limit)
	}
	if x.Aim != nil {
		m.Aim = figure.At(*x.Aim)
	}
	w := a.figureWords(words.ExerciseName(a.lang(), x.Exercise))
	side := a.sessionSide()
	at := func(t float64) string { return figure.Exercise(x.Exercise, side, t, m, w) }
	still := a.prefs.Still || a.about.Still
	switch {
	case x.State != session.Ready:
		w.Room = figure.Strip
	case still:
		w.Room = figure.Half
	}
	switch {
	case x.State == session.Ready && still:
		return []string{at(0), at(1)}, false
	case x.State == session.Ready:
		t, moving := a.previewPose()
		return []string{at(t)}, !moving
	case x.State == session.Holding:
		return []string{at(1)}, false
	case still && x.State == session.Moving:
		return []string{at(1)}, false
	case x.State == session.Moving && x.Total > 0:
		return []string{at(step(float64(x.Elapsed) / float64(x.Total)))}, false
	case x.State == session.Moving:
		return []string{at(step(wave(int64(x.Elapsed), repTime)))}, false
	case x.State == session.Resting && !still && x.Elapsed < backTime:
		return []string{at(step(1 - float64(x.Elapsed)/backTime))}, false
	}
	return []string{at(0)}, false
}

// previewPose is where the arm of the preview stands.
func (a *App) previewPose() (t float64, moving bool) {
	since := a.d.Clock.Mono() - a.session.preview
	if a.session.preview == 0 || since < 0 || since >= previewTime {
		return 1, false
	}
	return step(wave(since, previewTime)), true
}

// wave goes from 0 to 1 and back once in each period, resting at the ends.
func wave(ms, period int64) float64 {
	x := float64(ms%period) / float64(period)
	switch {
	case x < 0.1:
		return 0
	case x < 0.45:
		return (x - 0.1) / 0.35
	case x < 0.6:
		return 1
	case x < 0.95:
		return 1 - (x-0.6)/0.35
	}
	return 0
}

// step rounds a pose, so that equal pictures are not drawn again.
func step(t float64) float64 {
	const poses = 32
	return float64(int(max(0, min(t, 1))*poses+0.5)) / poses
}

// figureWords are the words of a picture.
func (a *App) figureWords(title string) figure.Words {
	return figure.Words{Title: title, Limit: a.t(words.ChartLimit), Aim: a.t(words.AimWord), Now: a.t(words.ChartOwn), Other: a.t(words.ChartOther)}
}

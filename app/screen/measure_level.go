package screen

import (
	"unsling/app/figure"
	"unsling/app/words"
	"unsling/engine/gonio"
	"unsling/engine/rom"
)

// levelState is the spirit level while the camera's picture is shown: it looks
// on only, a phone without the sensor measures all the same.
type levelState struct {
	on     bool
	stop   func()
	buffer *sampleBuffer
}

const (
	levelSlack = rom.Degrees(50)  // off by more, and the person is told
	levelWrong = rom.Degrees(150) // the error of the angle becomes worth a warning (see package gonio)
)

// startLevel begins inside the tap that opens the camera.
func (a *App) startLevel() {
	s := &a.measure
	if s.level.on {
		return
	}
	buffer := &sampleBuffer{mono: a.d.Clock.Mono}
	var stop func()
	err := errBroken
	a.run(func() { stop, err = a.d.Tilt.Start(buffer.add) }, func() {
		switch {
		case err != nil:
		case !a.measure.photo.live:
			stop()
		default:
			a.measure.level = levelState{on: true, stop: stop, buffer: buffer}
		}
	})
}

func (a *App) stopLevel() {
	if l := a.measure.level; l.on && l.stop != nil {
		l.stop()
	}
	a.measure.level = levelState{}
}

// levelView is what the level shows.
type levelView struct {
	On, Good    bool
	Bad         bool // so far off that the angle suffers
	Roll, Pitch int  // degrees
	Text        string
}

func (a *App) viewLevel() levelView {
	l := a.measure.level
	if !l.on {
		return levelView{Text: a.t(words.LevelNone)}
	}
	view := a.measure.way.View
	roll, pitch, ok := gonio.CameraTilt(l.buffer.copy(), view)
	if !ok {
		return levelView{Text: a.t(words.LevelNone)}
	}
	v := levelView{On: true, Roll: roll.Whole(), Pitch: pitch.Whole(), Text: a.t(words.LevelGood), Good: true}
	switch worst := max(abs(roll), abs(pitch)); {
	case worst <= levelSlack:
		return v
	case view == gonio.FromAbove:
		v.Text = a.t(words.LevelAbove)
	case abs(roll) > abs(pitch):
		v.Text = a.t(words.LevelRoll)
	case pitch > 0:
		v.Text = a.t(words.LevelUp)
	default:
		v.Text = a.t(words.LevelDown)
	}
	v.Good, v.Bad = false, max(abs(roll), abs(pitch)) > levelWrong
	return v
}

// held is how the phone was held at the moment of the picture.
func (a *App) held() *gonio.Gravity {
	if l := a.measure.level; l.on {
		if g, err := gonio.Still(l.buffer.copy()); err == nil {
			return &g
		}
	}
	return nil
}

// levelWays are the ways of measuring a hand behind the back: on a picture of
// the back, and by a photograph from behind.
func levelWays(all []gonio.Way) []gonio.Way {
	out := []gonio.Way{{Method: rom.LevelMethod, Position: rom.Standing}}
	for _, w := range all {
		if len(w.Landmarks) > 0 {
			out = append(out, w)
		}
	}
	return out
}

// tapBack takes a tap on the picture of the back, in thousandths of its width.
func (a *App) tapBack(x, y int) { a.setPlace(figure.SpinePlace(x, y)) }

func (a *App) setPlace(l rom.Level) {
	a.measure.place = l
	a.aloud = a.placeSentence()
}

// movePlace goes to the next place up (+1) or down (-1); the first step begins
// at the lowest place, so that nobody starts beyond a limit.
func (a *App) movePlace(by int) {
	at := -1
	for i, l := range figure.Places {
		if l == a.measure.place {
			at = i
		}
	}
	if at < 0 {
		a.setPlace(figure.Places[0])
		return
	}
	a.setPlace(figure.Places[max(0, min(at+by, len(figure.Places)-1))])
}

func (a *App) placeSentence() string {
	if a.measure.place == 0 {
		return a.t(words.BackNone)
	}
	return a.f(words.PlaceIs, words.Level(a.lang(), a.measure.place))
}

// usePlace takes the place that was chosen.
func (a *App) usePlace() {
	if a.measure.place != 0 {
		a.chooseLevel(a.measure.place)
	}
}

// useBackPhoto takes the level that the marks of a photograph from behind show.
func (a *App) useBackPhoto() {
	s := &a.measure
	_, l, err := gonio.MeasureLevel(s.photo.marks)
	if err != nil {
		s.trouble = a.t(words.MarkBad)
		return
	}
	a.dropMarked()
	a.chooseLevel(l)
}

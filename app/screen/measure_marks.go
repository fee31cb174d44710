package screen

import (
	"errors"
	"math"

	"unsling/app/words"
	"unsling/engine/gonio"
	"unsling/engine/rom"
	"unsling/engine/verdict"
)

// markView is the picture with its marks.
type markView struct {
	Sentence string // which mark comes next or moves
	Name     string // the same in the fewest words
	Use      string // what the main button says
	Hint     string
	Angle    string // "Angle: 92 degrees"
	Value    int
	HasAngle bool
	Warnings []string
	Fine     bool
	Complete bool
	Trial    string
}

func (a *App) viewMarks() markView {
	s := &a.measure
	v := markView{Sentence: a.markSentence(), Name: a.markName(words.MarkName), Use: a.t(words.AngleUse), Hint: a.t(words.MarkMove), Fine: s.photo.fine}
	if s.doubted && s.trouble != "" {
		v.Use = a.t(words.OddUse)
	}
	if s.wanted > 1 {
		v.Trial = a.f(words.TrialOf, len(s.trials)+1, s.wanted)
	}
	v.Complete = len(s.photo.marks) == len(s.way.Landmarks)
	if s.trouble != "" {
		v.Warnings = []string{s.trouble}
	}
	if !v.Complete {
		return v
	}
	if s.motion.ByLevel() {
		if _, l, err := gonio.MeasureLevel(s.photo.marks); err == nil {
			v.HasAngle, v.Value, v.Angle = true, int(l), a.f(words.PlaceIs, words.Level(a.lang(), l))
		} else {
			v.Warnings = []string{a.t(words.MarkBad)}
		}
		return v
	}
	m, err := a.photoAngle()
	switch {
	case errors.Is(err, gonio.ErrShort):
		v.Warnings = []string{a.t(words.MarkBad)}
	case err != nil:
		v.Warnings = []string{words.Warning(a.lang(), string(gonio.WarnMirrored))}
	default:
		v.HasAngle, v.Value = true, m.Angle.Whole()
		v.Angle = a.f(words.AngleIs, v.Value)
		v.Warnings = append(v.Warnings, a.warningTexts(m.Warnings)...)
	}
	return v
}

func (a *App) warningTexts(list []gonio.Warning) []string {
	var out []string
	for _, w := range list {
		if t := words.Warning(a.lang(), string(w)); t != "" {
			out = append(out, t)
		}
	}
	return out
}

func (a *App) photoAngle() (gonio.Measure, error) {
	s := &a.measure
	return gonio.MeasurePhoto(gonio.Picture{
		Motion: s.motion, Side: s.side, Position: s.way.Position, View: s.way.View,
		Marks: s.photo.marks, Mirrored: s.photo.picture.Mirrored, Held: s.photo.held,
	})
}

func (a *App) markSentence() string { return a.markName(words.PutMark) }

// markName says in the words given which mark comes next or moves.
func (a *App) markName(how words.Text) string {
	s := &a.measure
	n := len(s.way.Landmarks)
	if n == 0 {
		return ""
	}
	at := min(s.photo.at, n-1)
	if len(s.photo.marks) < n {
		at = len(s.photo.marks)
	}
	return a.f(how, at+1, n, words.Landmark(a.lang(), string(s.way.Landmarks[at])))
}

func (a *App) angleSentence() string {
	s := &a.measure
	if len(s.photo.marks) != len(s.way.Landmarks) {
		return a.markSentence()
	}
	v := a.viewMarks()
	if !v.HasAngle && len(v.Warnings) > 0 {
		return v.Warnings[0] // what is seen is what is heard
	}
	return v.Angle
}

// useAngle takes the angle of the picture as one trial. One that differs a lot
// from last time is questioned once, while its marks can still be looked at.
func (a *App) useAngle() {
	s := &a.measure
	s.trouble = ""
	if s.motion.ByLevel() {
		a.useBackPhoto()
		return
	}
	m, err := a.photoAngle()
	if err != nil {
		s.trouble = a.t(words.MarkBad)
		return
	}
	if !s.doubted && a.odd(m.Angle) {
		s.doubted, s.trouble = true, a.t(words.OddCheck)
		a.voice(s.trouble)
		return
	}
	a.addTrial(m, append([]rom.Point(nil), s.photo.marks...))
}

// oddBy is from how many degrees on a change since last time is questioned.
const oddBy = rom.Degrees(400)

// odd reports whether an angle is surprising. One past the limit is never
// questioned: what may be dangerous is said at once.
func (a *App) odd(angle rom.Degrees) bool {
	s := &a.measure
	if limit, ok := a.limitFor(s.motion, s.side); ok && verdict.Over(rom.Reading{Angle: angle}, limit) {
		return false
	}
	last, ok := a.lastBy(s.motion, s.side, rom.Photo)
	return ok && abs(angle-last.Body.Angle) > oddBy
}

// turnBy changes the angle by whole degrees: the last mark goes round the one
// before it, which needs no drag and no fine hand.
func (a *App) turnBy(deg int) {
	s := &a.measure
	p := &s.photo
	n := len(s.way.Landmarks)
	if len(p.marks) != n || n < 3 || s.motion.ByLevel() {
		return
	}
	before, err := a.photoAngle()
	if err != nil {
		return
	}
	want := before.Angle + rom.Deg(deg)
	was := p.marks[n-1]
	best, off := was, abs(before.Angle-want)
	for _, step := range []float64{-1, 1} { // which way opens the angle depends on side and view
		for k := 0.25; k <= 3; k += 0.125 {
			p.marks[n-1] = a.clampMark(around(p.marks[n-2], was, step*k))
			if m, err := a.photoAngle(); err == nil && abs(m.Angle-want) < off {
				best, off = p.marks[n-1], abs(m.Angle-want)
			}
		}
	}
	p.marks[n-1] = best
	p.at, p.loupe = n-1, true
	a.aloud = a.angleSentence()
}

// around turns q about c by degrees.
func around(c, q rom.Point, deg float64) rom.Point {
	s, k := math.Sincos(deg * math.Pi / 180)
	dx, dy := float64(q.X-c.X), float64(q.Y-c.Y)
	return rom.Point{X: c.X + int(math.Round(dx*k-dy*s)), Y: c.Y + int(math.Round(dx*s+dy*k))}
}

package screen

import (
	"fmt"

	"unsling/engine/session"
)

// Ticking reports whether something on the screen runs by the clock, so that
// Tick must be called several times a second.
func (a *App) Ticking() bool {
	return a.session.running() || a.moving() || a.learnMoves() || a.measure.tilt.on || a.measure.level.on || a.measure.photo.due > 0 || a.tooSoon()
}

// moving reports whether the preview of the figure moves.
func (a *App) moving() bool {
	if a.place != PlaceSession || a.prefs.Still || a.about.Still || a.session.view.State != session.Ready {
		return false
	}
	_, moving := a.previewPose()
	return moving
}

// Tick lets time pass. It reports whether anything that is drawn has changed.
func (a *App) Tick() bool {
	if a.session.running() {
		a.feed(session.Event{Kind: session.Tick})
		a.beginNothingUnseen()
	}
	a.tickPhoto()
	a.tickTilt()
	now := a.pulse()
	changed := now != a.beat
	a.beat = now
	return changed
}

// beginNothingUnseen pauses the session after the hold that is being measured,
// or that a question covers, so that the next one does not begin behind it.
func (a *App) beginNothingUnseen() {
	if a.place != PlaceMeasure && a.session.sheet == noSheet {
		return
	}
	switch a.session.view.State {
	case session.Resting, session.GetReady, session.Moving:
		a.feed(session.Event{Kind: session.Pause})
	}
}

// pulse names what is drawn and changes by the clock alone.
func (a *App) pulse() string {
	v, t, p := a.session.view, a.measure.tilt, a.measure.photo
	pose := 0.0
	if a.moving() {
		pose, _ = a.previewPose()
	}
	if a.learnMoves() {
		pose = step(wave(a.d.Clock.Mono()-a.learn.begun, previewTime))
	}
	now := a.d.Clock.Mono()
	var steady, begin, due int64
	if t.steady > 0 {
		steady = (now - t.steady) / 100
	}
	if t.on && now < t.begin {
		begin = (t.begin - now + 999) / 1000
	}
	if p.due > 0 {
		due = (p.due - now + 999) / 1000
	}
	arm := int64(0) // the picture moves with the arm
	if v.State == session.Moving || v.State == session.Resting && v.Elapsed < backTime+session.Millis(quick.Milliseconds()) {
		arm = int64(v.Elapsed) // other at each tick; one more draws the arm at rest
	}
	l := a.viewLevel()
	return fmt.Sprint(a.moving(), a.learnMoves(), l.Roll, l.Pitch, l.Good, v.State, v.Item, v.Rep, (v.Left+999)/1000, v.Notice, arm, pose, steady, begin, due, t.problem, a.measure.step, a.session.state, a.aloud, a.tooSoon())
}

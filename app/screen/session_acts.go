package screen

import (
	"unsling/app/words"
	"unsling/engine/rom"
	"unsling/engine/session"
)

// sessionTap is a plain button of the session.
func (a *App) sessionTap(k session.EventKind) {
	s := &a.session
	if k == session.NoAnswer && a.justAsked() {
		return
	}
	switch k {
	case session.Start, session.Continue:
		a.d.Cues.Prepare()
		a.wake()
	case session.Stop:
		if s.running() {
			a.feed(session.Event{Kind: session.Pause})
		}
		s.sheet = stopSheet
		return
	case session.Skip:
		s.sheet = skipSheet
		return
	case session.PainNow:
		s.sheet = painSheet
		return
	}
	a.feed(session.Event{Kind: k})
}

// justAsked reports whether the last question was shown a moment ago: the tap
// that ended the last hold may come twice, and where it was made "no answer"
// stands now.
func (a *App) justAsked() bool {
	s := &a.session
	return s.view.State == session.Asking && a.d.Clock.Mono()-s.asked < readTime
}

// closeSheet goes back to the session; the patient goes on by a tap.
func (a *App) closeSheet() { a.session.sheet, a.session.stopping = noSheet, false }

// sessionPain gives a score, for the question that is open.
func (a *App) sessionPain(score int) {
	s := &a.session
	kind := session.PainNow
	switch {
	case s.view.State == session.Asking:
		kind = session.PainAfter
	case s.view.State == session.Ready && s.sheet == noSheet && has(s.view.Buttons, session.PainBefore):
		kind = session.PainBefore
		a.d.Cues.Prepare()
		if s.practice {
			a.practiceAllows(score)
		}
	}
	stopping := s.stopping
	s.sheet, s.stopping = noSheet, false
	if kind == session.PainBefore && score > s.view.PainCap && !s.practice && !stopping {
		a.tooMuchBefore(score)
		return
	}
	a.feed(session.Event{Kind: kind, Score: score})
	if stopping {
		a.feed(session.Event{Kind: session.Stop, Stop: rom.StopPain})
	}
	a.aloud = a.f(words.PainSaid, score)
	if s.view.State == session.Ready {
		s.preview = a.d.Clock.Mono() // the movement is shown when its page is
	}
}

// stopFor ends the session for a reason. The record of one stopped because
// something is wrong halts the programme until the clinic has answered.
func (a *App) stopFor(r rom.StopReason) {
	if a.stopPractice(r) {
		return
	}
	a.session.sheet = noSheet
	a.d.Cues.Hush()
	a.feed(session.Event{Kind: session.Stop, Stop: r})
}

// skipFor answers why the exercise at hand is skipped, while that is asked.
func (a *App) skipFor(r rom.SkipReason) {
	if a.session.sheet != skipSheet {
		return
	}
	a.session.sheet = noSheet
	a.feed(session.Event{Kind: session.Skip, Why: r})
}

func (a *App) toggleByTap() {
	a.prefs.ByTap = !a.session.view.ByTap
	a.feed(session.Event{Kind: session.ByTap, Flag: a.prefs.ByTap})
	a.savePrefs()
}

func (a *App) tookMedicine(yes bool) {
	if a.session.m != nil {
		a.feed(session.Event{Kind: session.Medicine, Flag: yes})
	}
}

func (a *App) toggleHelper() {
	if m := a.session.m; m != nil {
		a.feed(session.Event{Kind: session.Helper, Flag: !m.Draft().Helper})
	}
}

// replay shows the movement of the figure once more.
func (a *App) replay() { a.session.preview = a.d.Clock.Mono() }

// untouched reports whether nothing was answered or done yet, so that leaving
// is no stop.
func (s *sessionState) untouched() bool {
	return s.m != nil && s.view.State == session.Ready && s.m.Draft().Before == nil
}

// forgetSession leaves a session in which nothing was done.
func (a *App) forgetSession() {
	if a.session.untouched() {
		a.session = sessionState{}
	}
	a.goTo(PlaceNow)
}

// leaveSession goes back to the first screen after the end.
func (a *App) leaveSession() {
	if a.session.state == keptNot {
		a.keepRecord()
		return
	}
	a.session = sessionState{}
	a.goTo(PlaceNow)
}

// measureHold measures the hold at hand.
func (a *App) measureHold() {
	v := a.session.view
	a.measure = measureState{motion: v.Motion, inHold: true, session: a.session.m.Draft().Config.ID, side: a.day.Episode.Side}
	a.goTo(PlaceMeasure)
	a.chooseMotion(v.Motion)
}

// canMeasureHold reports whether this is a hold that the clinic wants measured
// today; in a rest the arm is down, and would have to go there once more.
func (a *App) canMeasureHold() bool {
	v := a.session.view
	if v.Motion == "" || v.State != session.Holding {
		return false
	}
	for _, m := range a.day.Measures {
		if m.Motion == v.Motion && m.May && m.Due {
			return true
		}
	}
	return false
}

func has(list []session.EventKind, k session.EventKind) bool {
	for _, x := range list {
		if x == k {
			return true
		}
	}
	return false
}

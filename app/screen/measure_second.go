package screen

import (
	"unsling/app/words"
	"unsling/engine/rom"
	"unsling/engine/session"
	"unsling/engine/verdict"
)

// Past the limit the screen says at once to go less far, and asks for a second
// set of the same hold, which decides with all that was measured before. Nobody
// is led to the limit again for it: a photograph was taken twice, and who has the
// phone on the arm measures again only while the arm is still there.

// limits reports whether what is measured has a limit.
func (a *App) limits() bool {
	_, ok := a.limitFor(a.measure.motion, a.measure.side)
	return ok
}

// maySecond reports whether a second set of this hold can be had.
func (a *App) maySecond() bool {
	s := &a.measure
	switch {
	case s.photo.other.URL != "":
		return true
	case s.way.Method != rom.Tilt:
		return false
	}
	return !s.inHold || a.session.view.State == session.Holding
}

// tierWord is what the patient hears of a reading past the limit. It is the
// danger alone, and no call before the second set.
func (a *App) tierWord() string {
	switch s := &a.measure; {
	case s.pending:
		return a.t(words.TierFirst)
	case s.tier == verdict.Near:
		return a.t(words.TierClose)
	case s.tier == verdict.Likely:
		return a.t(words.TierLikely)
	}
	return a.t(words.TierOver)
}

// secondSays asks for the second set.
func (a *App) secondSays() (ask, button string) {
	if a.measure.photo.other.URL != "" {
		return a.t(words.SecondAsk), a.t(words.SecondMark)
	}
	return a.t(words.SecondTilt), a.t(words.SecondNow)
}

// secondSet goes to the second set of the hold.
func (a *App) secondSet() {
	s := &a.measure
	if !s.pending || a.d.Clock.Mono()-s.shown < readTime {
		return
	}
	if !a.maySecond() { // the hold is over meanwhile
		a.decide()
		return
	}
	if s.state == keptNot {
		a.unkept = append(a.unkept, unwritten{"reading", *s.reading})
	}
	other := s.photo.other
	s.first, s.reading, s.trials, s.warnings, s.state = s.reading, nil, nil, nil, notKeeping
	s.pending, s.tier, s.wanted = false, verdict.Within, 1
	s.tilt.trunk = nil
	if other.URL == "" {
		s.step = stepSetUp
		return
	}
	held := s.photo.held
	s.photo = photoState{picture: other, held: held}
	s.step = stepPhoto
	a.aloud = a.markSentence()
}

// noSecond goes back to the first set, which then decides.
func (a *App) noSecond() {
	s := &a.measure
	a.restMeasure()
	s.reading, s.first, s.step, s.state = s.first, nil, stepResult, kept
	a.judge(*s.reading)
	a.decide()
}

// sayUnsaid tells whoever leaves before the second set what the first one means.
func (a *App) sayUnsaid() {
	s := &a.measure
	if s.first != nil && s.reading == nil {
		s.reading, s.first, s.state = s.first, nil, kept
		a.judge(*s.reading)
		s.pending = true
	}
	if !s.pending || !stops(s.tier) {
		return
	}
	s.pending = false
	a.feedTier()
	a.say(a.tierWord(), true)
	a.voice(a.tierWord())
}

// decide says what the sets that there are mean: there is no second one.
func (a *App) decide() {
	s := &a.measure
	s.pending, s.photo.due = false, 0
	a.dropPicture()
	s.shown = a.d.Clock.Mono()
	a.feedTier()
	a.voice(a.resultSpoken())
}

// feedTier tells the session what its hold came to.
func (a *App) feedTier() {
	s := &a.measure
	if !s.inHold || s.reading == nil {
		return
	}
	tier := s.tier
	if s.pending {
		tier = verdict.Near
	}
	a.feed(session.Event{
		Kind: session.Measured, Angle: s.reading.Angle, Level: s.reading.Level, Tier: tier, Hold: s.hold, Motion: s.motion,
	})
}

// holdNow is the hold of the motion being measured that goes on now, for
// session.Event.
func (a *App) holdNow() int {
	if v := a.session.view; v.State == session.Holding && v.Motion == a.measure.motion {
		return v.Hold
	}
	return session.NoHold
}

package screen

import (
	"unsling/app/words"
	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/engine/session"
)

// A practice is a session before the operation, by the same machine on the
// same pages, done by the arm that is not to be operated. It writes no session
// and keeps no draft, so that nothing can take it for one: what is left of it
// is the day, in the choices on this phone. Pain that ends it and "something
// is wrong" are reports like any other and are kept.

// startPractice begins a practice.
func (a *App) startPractice() {
	a.look()
	s := &a.session
	if s.practice && s.state == keptNot { // a report still waits to be kept
		a.goTo(PlaceSession)
		return
	}
	if a.day.Practice == nil {
		a.say(a.t(words.NothingToDo), false)
		return
	}
	m, out, err := a.practiceMachine(a.day.Practice.PainCap)
	if err != nil {
		a.say(a.t(words.CannotStart), true)
		return
	}
	a.session = sessionState{m: m, view: out.View, preview: a.d.Clock.Mono(), touched: a.d.Clock.Now(), practice: true}
	a.goTo(PlaceSession)
}

func (a *App) practiceMachine(painCap int) (*session.Machine, session.Output, error) {
	p := a.day.Practice
	return session.New(session.Config{
		Episode: a.episode, ID: "practice", Due: a.day.Date, Phase: "practice", PainCap: painCap, ByTap: a.prefs.ByTap,
		Items: []session.Item{{Prescription: p.Prescription, Class: p.Class}},
	}, a.mono())
}

// practiceAllows lets who has some pain already practise with the other arm:
// the score becomes the cap, unless it is one that stops an exercise.
func (a *App) practiceAllows(score int) {
	if act, _, ok := protocol.Pain(a.session.view.PainCap, score); !ok || act != protocol.PainEase || a.day.Practice == nil {
		return
	}
	if m, out, err := a.practiceMachine(score); err == nil {
		a.session.m, a.session.view = m, out.View
	}
}

// practiceObeys ends a practice that is not permitted any more.
func (a *App) practiceObeys() {
	if s := &a.session; !s.practice || final(s.view.State) || a.day.Practice != nil {
		return
	}
	a.endPractice()
	if a.place == PlaceSession {
		a.goTo(PlaceNow)
		a.say(a.t(words.PracticeShut), true)
	}
}

// leavePractice drops a practice that was left for another page than help: it
// is not taken up again. A report that is not kept yet waits.
func (a *App) leavePractice() {
	s := &a.session
	if s.practice && a.place != PlaceSession && a.place != PlaceHelp && s.state != keptNot && s.state != beingKept {
		a.endPractice()
	}
}

// endPractice drops the practice at hand but for what was told of pain.
func (a *App) endPractice() {
	s := &a.session
	if !final(s.view.State) {
		d := s.m.Draft()
		if p, ok := a.practicePainOf(d.Worst, d.Started, d.Config.PainCap, false); ok {
			a.write("pain", p, func(rom.Ref, error) {})
		}
		a.d.Cues.Hush()
		a.endAwake()
	}
	a.session = sessionState{}
}

// practicePainOf is the report that a practice makes of its worst score: above
// the cap, or when it was stopped for pain.
func (a *App) practicePainOf(worst *int, started bool, painCap int, stopped bool) (rom.Pain, bool) {
	if worst == nil || *worst <= painCap && !stopped {
		return rom.Pain{}, false
	}
	p := rom.Pain{Episode: a.episode, Score: *worst, When: rom.PainAtRest}
	if started {
		p.When = rom.PainInMotion
	}
	return p, true
}

// keepPractice is what the end of a practice leaves behind.
func (a *App) keepPractice() {
	s := &a.session
	r := s.record
	if r == nil || s.state == beingKept || s.state == kept {
		return
	}
	a.endAwake()
	if r.Ended == rom.Finished {
		a.planned().Practised = a.day.Date
		a.savePrefs()
	}
	s.state = kept
	if !a.practiceTells(r) {
		return
	}
	kind, body := "sign", any(rom.Sign{Episode: a.episode, Sign: rom.SignOther})
	if r.Stop != rom.StopWrong {
		d := s.m.Draft()
		kind = "pain"
		body, _ = a.practicePainOf(r.Worst, d.Started, d.Config.PainCap, r.Stop == rom.StopPain)
	}
	s.state = beingKept
	m := s.m
	if kind == "sign" {
		a.halt(rom.SignOther) // a disk that hangs must not let another one begin
	}
	a.write(kind, body, func(ref rom.Ref, err error) {
		if err == nil && kind == "sign" {
			a.told = nil // the record says it
			a.look()
		}
		if a.session.m != m {
			return
		}
		if err != nil {
			s.state, s.trouble = keptNot, a.storageSays(err)
			return
		}
		s.state, s.ref = kept, ref
		a.aloud = a.t(words.KeptNow)
	})
}

// practiceTells reports whether the end of a practice is a report.
func (a *App) practiceTells(r *rom.Session) bool {
	d := a.session.m.Draft()
	_, pain := a.practicePainOf(r.Worst, d.Started, d.Config.PainCap, r.Stop == rom.StopPain)
	return pain || r.Stop == rom.StopWrong
}

// stopPractice asks for the score before a practice is stopped for pain: the
// report is what it says.
func (a *App) stopPractice(r rom.StopReason) bool {
	s := &a.session
	if !s.practice || r != rom.StopPain || s.view.State == session.Asking {
		return false
	}
	s.sheet, s.stopping = painSheet, true
	return true
}

// sessionSide is the arm that does the exercises at hand.
func (a *App) sessionSide() rom.Side {
	if a.session.practice {
		return a.day.Episode.Side.Other()
	}
	return a.day.Episode.Side
}

// practiceMark stands on every page of a practice.
func (a *App) practiceMark() (mark, arm string) {
	if !a.session.practice || a.Shown() != PlaceSession {
		return "", ""
	}
	if s := &a.session; final(s.view.State) && s.record != nil && a.practiceTells(s.record) {
		return a.t(words.PracticeTold), ""
	}
	return a.t(words.PracticeMark), a.f(words.PracticeArm, words.Side(a.lang(), a.sessionSide()))
}

// viewPracticeEnd is the last page of a practice that went well.
func (a *App) viewPracticeEnd(v *sessionView) {
	s := &a.session
	if s.state == kept && s.ref == (rom.Ref{}) {
		v.Status = a.t(words.PracticeKept)
	}
	switch r := s.record; {
	case s.call == session.CallNow:
		v.Texts = a.texts(words.PracticeWrong, words.NobodyWatch)
		return
	case r != nil && r.Stop == rom.StopPain:
		return
	case r != nil && r.Ended == rom.Finished:
		v.Title = a.t(words.PracticeEnd)
	}
	v.Did, v.Texts = nil, a.texts(words.PracticeDo)
	if s.view.Notice == session.NoticePainAfter {
		v.Texts = a.texts(words.StopRestDo)
	}
}

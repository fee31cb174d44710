package screen

import (
	"unsling/app/words"
	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/engine/schedule"
)

// morningState is the two questions of the morning after.
type morningState struct {
	score int // -1 before the answer
	step  morningStep
	sling string
}

type morningStep string

const (
	morningPain  morningStep = ""
	morningSling morningStep = "sling"
	morningEnd   morningStep = "end"
)

// asksMorning reports whether the questions are still open today: the day
// before had a session or the sling is worn, and no answer is written for
// today.
func (a *App) asksMorning() bool {
	d := a.day
	if d.State != schedule.Running || d.Number < 1 {
		return false
	}
	for _, x := range a.facts.History.Pains {
		if x.Body.Episode == a.episode && x.Body.When == rom.PainNextDay && x.Day() == d.Date {
			return false
		}
	}
	return d.Sling != rom.SlingOff || a.sessionOn(d.Date.Add(-1)) != nil
}

// sessionOn is the last session of a day, nil for none.
func (a *App) sessionOn(day rom.Date) *rom.Session {
	for i := len(a.facts.History.Sessions) - 1; i >= 0; i-- {
		if b := &a.facts.History.Sessions[i].Body; b.Episode == a.episode && b.Due == day {
			return b
		}
	}
	return nil
}

// morningScore keeps the pain of the night.
func (a *App) morningScore(score int) {
	s := &a.morning
	a.write("pain", rom.Pain{Episode: a.episode, Score: score, When: rom.PainNextDay}, func(_ rom.Ref, err error) {
		if err != nil {
			a.say(a.storageSays(err), true)
			return
		}
		s.score, s.step = score, morningSling
		if a.day.Sling == rom.SlingOff {
			s.step = morningEnd
		}
		a.aloud = a.f(words.PainSaid, score)
	})
}

// morningWorn keeps how the sling was worn the day before.
func (a *App) morningWorn(worn string) {
	s := &a.morning
	a.write("sling", rom.SlingReport{Episode: a.episode, Day: a.day.Date.Add(-1), Worn: worn}, func(_ rom.Ref, err error) {
		if err != nil {
			a.say(a.storageSays(err), true)
			return
		}
		s.sling, s.step = worn, morningEnd
	})
}

// morningView is one page of the morning.
type morningView struct {
	Step   morningStep
	Title  string
	Texts  []string
	Calls  bool
	Status string
}

func (a *App) viewMorning() morningView {
	s := &a.morning
	v := morningView{Step: s.step}
	switch s.step {
	case morningPain:
		v.Title = a.t(words.MorningPain)
	case morningSling:
		v.Title = a.t(words.MorningSling)
	case morningEnd:
		v.Title, v.Status = a.t(words.MorningThanks), a.t(words.KeptNow)
		if v.Texts, v.Calls = a.morningSays(); v.Calls { // what to do is the headline
			v.Title = a.t(words.MorningStop)
		}
		if s.sling == "not" || s.sling == "partly" {
			v.Texts = append(v.Texts, a.t(words.SlingWhy))
		}
	}
	return v
}

// morningSays answers the score of the night by the phase's pain rule. Pain
// that is worse than right after the session asks for less, whatever the cap.
// calls is that the clinic is to be called, which the headline says.
func (a *App) morningSays() (texts []string, calls bool) {
	score := a.morning.score
	act, _, ok := protocol.Pain(a.day.PainCap, score)
	if !ok {
		return nil, false
	}
	before := a.sessionOn(a.day.Date.Add(-1))
	worse := before != nil && before.After != nil && score > *before.After
	if worse {
		texts = append(texts, a.t(words.MorningMore))
	}
	switch {
	case act == protocol.PainStop:
		return texts, true
	case act == protocol.PainEase, worse:
		return append(texts, a.t(words.MorningEase)), false
	}
	return append(texts, a.t(words.MorningFine), a.t(words.FeelGood)), false
}

func (a *App) openMorning() {
	a.morning = morningState{score: -1}
	a.goTo(PlaceMorning)
}

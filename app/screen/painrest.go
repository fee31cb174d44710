package screen

import (
	"unsling/app/words"
	"unsling/engine/rom"
	"unsling/engine/schedule"
)

// restCard says that the arm rests because of pain, and when pain is asked again. Nothing can be begun meanwhile.
func (a *App) restCard(v *nowView, c *sessionCard) {
	rest := a.day.PainRest
	c.Kicker, v.Title = a.t(words.Today), a.t(words.RestForNow)
	if rest.Today() {
		v.Title = a.t(words.RestToday)
	}
	switch rest.Why {
	case schedule.AfterBadNight:
		c.When, v.Calls = a.t(words.RestNight), true
	case schedule.AfterPainStop:
		c.When = a.t(words.RestStopped)
	default:
		c.When = a.t(words.RestScore)
	}
	c.About = a.restUntil(rest)
}

// restUntil says when pain is asked again.
func (a *App) restUntil(rest *schedule.PainRest) string {
	if rest.Today() {
		return a.t(words.RestTomorrow)
	}
	return a.f(words.RestUntil, clockOf(rest.Until))
}

// tooMuchBefore ends a session before its first hold: the score was above the cap. It is kept, so that every page knows
// of it, and holds before it is kept.
func (a *App) tooMuchBefore(score int) {
	body := rom.Pain{Episode: a.episode, Score: score, When: rom.PainAtRest, Medicine: a.session.m.Draft().Medicine}
	a.pains = append(a.pains, rom.Entry[rom.Pain]{Meta: rom.Meta{At: a.d.Clock.Now()}, Body: body})
	a.d.Cues.Hush()
	a.session = sessionState{}
	a.dropDraft()
	a.aloud = a.f(words.PainSaid, score)
	a.look()
	a.goTo(PlaceNow)
	a.keepPain(body)
}

// keepPain writes a score that holds already; what finds no room is tried again later.
func (a *App) keepPain(body rom.Pain) {
	a.write("pain", body, func(_ rom.Ref, err error) {
		if err != nil {
			a.unkept = append(a.unkept, unwritten{"pain", body})
			a.say(a.storageSays(err), true)
		}
	})
}

package screen

import (
	"slices"

	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/words"
	"unsling/engine/gonio"
	"unsling/engine/rom"
)

// plannedPrefs is what was tried before the operation. It stays on this phone.
type plannedPrefs struct {
	Episode   rom.EpisodeID `json:"episode"` // of another one it says nothing
	Practised rom.Date      `json:"practised,omitempty"`
	Tried     []string      `json:"tried,omitempty"` // of words.Tries
}

// planned is what was tried for the episode at hand, to be changed.
func (a *App) planned() *plannedPrefs {
	if p := &a.prefs.Planned; p.Episode != a.episode {
		*p = plannedPrefs{Episode: a.episode}
	}
	return &a.prefs.Planned
}

// tried reports whether one of words.Tries was ticked.
func (a *App) tried(key string) bool { return slices.Contains(a.planned().Tried, key) }

// tick sets or takes off a tick.
func (a *App) tick(key string) {
	p := a.planned()
	if i := slices.Index(p.Tried, key); i >= 0 {
		p.Tried = slices.Delete(slices.Clone(p.Tried), i, i+1)
	} else if words.Try(a.lang(), key) != "" {
		p.Tried = append(slices.Clone(p.Tried), key)
	}
	a.savePrefs()
}

// baselineRow is one motion of one arm and whether it has been measured.
type baselineRow struct {
	measureRow
	done bool
}

// baselineRows lists what to measure on both arms, the good one first: it
// shows how without pain.
func (a *App) baselineRows() []baselineRow {
	var out []baselineRow
	for _, m := range a.day.BaselineMotions() {
		if !gonio.GuideFor(m).AtHome() {
			continue
		}
		for _, side := range []rom.Side{a.day.Episode.Side.Other(), a.day.Episode.Side} {
			row := a.measureRow(m, side)
			row.Name = a.f(words.OfArm, row.Name, words.Side(a.lang(), side))
			_, done := a.lastReading(m, side)
			out = append(out, baselineRow{row, done})
		}
	}
	return out
}

// baselineMeasured counts what was measured before the operation.
func (a *App) baselineMeasured() (done, of int) {
	list := a.baselineRows()
	for _, r := range list {
		if r.done {
			done++
		}
	}
	return done, len(list)
}

// prepared reports whether anything was done before the operation.
func (a *App) prepared() bool {
	for _, r := range a.facts.History.Readings {
		if r.Body.Episode == a.episode && r.Body.Baseline {
			return true
		}
	}
	return !a.planned().Practised.IsZero() || len(a.planned().Tried) > 0
}

// armTitle names the motion that is measured, and the arm where it may be
// either one.
func (a *App) armTitle() string {
	s := &a.measure
	title := words.Capital(words.Motion(a.lang(), s.motion))
	if a.day.Baseline || s.side != a.day.Episode.Side {
		return a.f(words.OfArm, title, words.Side(a.lang(), s.side))
	}
	return title
}

// dangerFirst stands above every measurement.
func (a *App) dangerFirst() string {
	if a.day.Baseline {
		return a.t(words.BaselineEasy)
	}
	return a.t(words.DangerFirst)
}

// plannedTasks are the ways to get ready, with what is done of each.
func (a *App) plannedTasks() []task {
	var out []task
	if a.day.Practice != nil {
		sub := a.t(words.PracticeSub)
		if d := a.planned().Practised; !d.IsZero() {
			sub = a.f(words.DoneOn, words.Day(a.lang(), d, a.day.Date))
		}
		out = append(out, task{ID: "to-practice", Text: a.t(words.PracticeTitle), Sub: sub, Go: a.startPractice})
	}
	if done, of := a.baselineMeasured(); of > 0 {
		sub := a.t(words.BothSub)
		if done > 0 {
			sub = a.f(words.BaselineSome, done, of)
		}
		out = append(out, task{ID: "measure-baseline", Text: a.t(words.BothArms), Sub: sub})
	}
	sub := a.t(words.DaysTrySub)
	if n := len(a.planned().Tried); n > 0 {
		sub = a.f(words.TrySome, n, len(words.Tries()))
	}
	return append(out,
		task{ID: "to-days", Text: a.t(words.DaysTry), Sub: sub, Go: func() { a.goTo(PlaceDays) }},
		task{ID: "to-learn", Text: a.t(words.LearnTitle), Sub: a.t(words.LearnSub), Go: a.openLearn})
}

// drawTries is the list to tick.
func (p *Phone) drawTries() app.UI {
	a := p.a
	var list []app.UI
	for _, key := range words.Tries() {
		list = append(list, p.choice("try-"+key, words.Try(a.lang(), key), a.tried(key), func() { a.tick(key) }))
	}
	return app.Div().Class("tries").Body(p.choices("tries", a.t(words.TryTitle), list...), para("status", a.t(words.TryOnly)))
}

// practiceBanner says on every page of a practice that it is one.
func (p *Phone) practiceBanner() app.UI {
	mark, arm := p.a.practiceMark()
	return when(mark != "", func() app.UI {
		return app.P().ID("practice").Class("practice-mark").Body(app.Strong().Text(mark), app.Text(" "), app.Span().Text(arm))
	})
}

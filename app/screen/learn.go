package screen

import (
	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/figure"
	"unsling/app/words"
	"unsling/engine/protocol"
	"unsling/engine/rom"
)

// learnState is the exercise that is looked at before the operation.
type learnState struct {
	at    int
	begun int64 // Clock.Mono at which the picture began to move, 0 for not
}

// learnable lists the exercises to look at: those of the protocol of what is
// planned that come first, in their order, for the passive weeks.
func (a *App) learnable() []rom.ExerciseID {
	var out []rom.ExerciseID
	seen := map[rom.ExerciseID]bool{}
	add := func(list []rom.Prescription) {
		for _, x := range list {
			if !seen[x.Exercise] {
				seen[x.Exercise] = true
				out = append(out, x.Exercise)
			}
		}
	}
	if p, ok := a.facts.History.Plan(a.day.Episode.ID); ok {
		for _, ph := range p.Phases {
			if ph.HighestClass() <= rom.Passive {
				add(ph.Prescriptions)
			}
		}
	}
	if len(out) == 0 {
		for _, p := range protocol.All() {
			for _, ph := range p.Phases {
				if a.day.Episode.Has(p.Procedure) && ph.HighestClass() <= rom.Passive {
					add(ph.Prescriptions)
				}
			}
		}
	}
	return out
}

func (a *App) openLearn() {
	a.learn = learnState{begun: a.d.Clock.Mono()}
	a.goTo(PlaceLearn)
}

func (a *App) learnStep(by int) {
	n := len(a.learnable())
	if n == 0 {
		return
	}
	a.learn.at = (a.learn.at + by + n) % n
	a.learn.begun = a.d.Clock.Mono()
}

// learnSound plays what a hold sounds like.
func (a *App) learnSound() {
	a.d.Cues.Prepare()
	if !a.prefs.Mute {
		a.d.Cues.Tone("begin")
	}
	a.voice(a.t(words.SoundTry))
}

// learnMoves reports whether the picture moves now; a patient who wants still
// pictures sees the start and the end.
func (a *App) learnMoves() bool {
	since := a.d.Clock.Mono() - a.learn.begun
	return a.place == PlaceLearn && !a.prefs.Still && !a.about.Still && a.learn.begun > 0 && since >= 0 && since < previewTime
}

func (p *Phone) drawLearn() app.UI {
	a := p.a
	list := a.learnable()
	if len(list) == 0 {
		return app.Div().Class("page").Body(title(a.t(words.LearnTitle)), para("text", a.t(words.LearnLead)),
			bar(p.button("back", "main-button", a.t(words.Back), func() { a.goTo(PlaceNow) })))
	}
	at := min(a.learn.at, len(list)-1)
	e := list[at]
	g := words.Exercise(e)
	name := words.ExerciseName(a.lang(), e)
	pose := func(t float64) app.UI {
		return svg(figure.Exercise(e, a.day.Episode.Side, t, figure.Marks{}, figure.Words{Title: name}), "figure")
	}
	figures := app.Div().Class("figures two").Body(pose(0), pose(1))
	if a.learnMoves() {
		figures = app.Div().Class("figures").Body(pose(step(wave(a.d.Clock.Mono()-a.learn.begun, previewTime))))
	}
	return app.Div().Class("page").Body(
		para("lead", a.f(words.LearnOf, at+1, len(list))),
		title(name),
		para("status", a.t(words.LearnLead)),
		para("danger", a.t(g.Lead)),
		figures,
		numbered(a.texts(g.Steps[:]...)),
		app.Section().Class("block").Body(app.H2().Text(a.t(words.FeelTitle)), app.P().Text(a.t(g.Feel)),
			app.H2().Text(a.t(words.AvoidTitle)), items("must-not", a.texts(g.Avoid...))),
		p.button("replay", "wide quiet", a.t(words.MoveFigure), func() { a.learn.begun = a.d.Clock.Mono() }),
		p.button("sound", "wide quiet", a.t(words.LearnSound), a.learnSound),
		bar(p.button("back", "quiet", a.t(words.Back), func() { a.goTo(PlaceNow) }),
			p.button("next", "main-button", a.t(words.LearnNext), func() { a.learnStep(1) })),
	)
}

package screen

import (
	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/words"
)

// drawResult is a trial of several, or the result, the danger first.
func (p *Phone) drawResult() app.UI {
	a := p.a
	v := a.viewResult()
	if v.More {
		return app.Div().Class("page", "result").Body(
			para("lead", v.Trial), title(v.Title),
			app.P().ID("value").Class("huge").Text(v.Value),
			paras("notice", v.Warnings),
			p.button("keep-now", "wide quiet", a.t(words.TrialKeep), a.finishReading),
			p.measureBar(p.button("more", "main-button", a.t(words.TrialMore), a.moreTrials)),
		)
	}
	return app.Div().Class("page", "result").Body(
		when(v.Alert != "", func() app.UI {
			return app.Div().Class("stop-box").Attr("role", "alert").Body(app.P().Class("danger big").Text(v.Alert), para("text", v.AlertSub))
		}),
		when(v.Calls, p.callLinks),
		title(v.Title),
		app.P().ID("value").Class("huge").Text(v.Value),
		app.P().ID("error").Class("error-of").Text(v.Error),
		paras("text", v.Sentences),
		paras("notice", v.Warnings),
		when(v.Figure != "" && !v.Calls, func() app.UI { return svg(v.Figure, "figure") }),
		app.P().ID("kept").Class(keptClass(v.Retry)).Attr("role", "status").Text(v.Status),
		when(v.Retry, func() app.UI { return p.button("retry", "wide", a.t(words.TryAgain), a.retryReading) }),
		when(v.Second != "", func() app.UI { return p.button("done", "wide quiet", a.t(words.SecondNo), a.doneReading) }),
		when(v.Second != "", func() app.UI { return bar(p.button("second", "main-button", v.Second, a.secondSet)) }),
		when(v.Second == "", func() app.UI { return bar(p.button("done", "main-button", a.t(words.Done), a.doneReading)) }),
	)
}

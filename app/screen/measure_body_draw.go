package screen

import (
	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/figure"
	"unsling/app/words"
)

func (p *Phone) drawTilt() app.UI {
	a := p.a
	v := a.viewTilt()
	return app.Div().Class("page", "run", "tilting").Body(
		para("lead", v.Trial),
		title(v.Title),
		app.P().Class("big").Text(v.Where),
		svg(a.tiltFigure(v.Title), "figure"),
		when(v.Wait != "", func() app.UI { return app.P().Class("wait").Text(v.Wait) }),
		when(v.Wait == "", func() app.UI { return app.P().Class("wait").Text(v.State) }),
		app.Progress().Class("run-bar", "steady").Max("1000").Value(itoa(v.Full)).Aria("label", a.t(words.TiltSteady)),
		para("notice", v.Problem),
		p.measureBar(p.button("take-tilt", "main-button", a.t(words.TiltTake), a.takeTilt)),
	)
}

// drawBack asks how high the thumb reaches, on a picture of the back. Buttons
// and arrow keys go from place to place; the list is its twin.
func (p *Phone) drawBack() app.UI {
	a := p.a
	s := a.measure
	tap, s1 := p.on("back-tap", func(ctx app.Context, e app.Event) { p.backTap(ctx, e) })
	keys, s2 := p.on("back-key", func(_ app.Context, e app.Event) {
		switch e.Get("key").String() {
		case "ArrowUp", "ArrowRight":
			a.movePlace(1)
		case "ArrowDown", "ArrowLeft":
			a.movePlace(-1)
		default:
			return
		}
		e.PreventDefault()
	})
	at := 0
	var rows []app.UI
	for i, l := range figure.Places {
		if l == s.place {
			at = i + 1
		}
		rows = append(rows, p.choice("level-"+itoa(int(l)), words.Capital(words.Level(a.lang(), l)), l == s.place, func() { a.setPlace(l) }))
	}
	w := figure.Words{Title: a.t(words.BackPicture)}
	return app.Div().Class("page", "marking").Body(
		app.H1().ID("title").Class("mark-title").TabIndex(-1).Text(a.t(words.ByLevelHow)),
		para("danger", a.dangerFirst()),
		app.P().ID("place").Class("angle-now").Text(a.placeSentence()),
		app.Div().ID("back-picture").Class("back-picture").TabIndex(0).Attr("role", "slider").
			Aria("label", a.t(words.BackPicture)).Aria("valuemin", "0").Aria("valuemax", itoa(len(figure.Places))).
			Aria("valuenow", itoa(at)).Aria("valuetext", a.placeSentence()).
			OnClick(tap, s1).OnKeyDown(keys, s2).Body(svg(figure.Spine(s.side, s.place, figure.Marks{}, w), "figure")),
		app.Div().Class("nudges two").Body(
			p.button("place-lower", "nudge", "↓ "+a.t(words.BackLower), func() { a.movePlace(-1) }),
			p.button("place-higher", "nudge", "↑ "+a.t(words.BackHigher), func() { a.movePlace(1) }),
		),
		p.measureBar(p.button("use-place", "main-button", a.t(words.BackUse), a.usePlace).Disabled(s.place == 0)),
		para("hint", a.t(words.BackTap)),
		app.Details().Class("twin").Body(app.Summary().Text(a.t(words.BackList)), app.Div().Class("choices").Body(rows...)),
	)
}

// backTap takes a tap on the picture of the back.
func (p *Phone) backTap(ctx app.Context, e app.Event) {
	if x, y, ok := pointerIn(ctx, e); ok {
		p.a.tapBack(x, y)
	}
}

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
		bar(p.button("done", "main-button", a.t(words.Done), a.doneReading)),
	)
}

package screen

import (
	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/words"
	"unsling/engine/rom"
	"unsling/engine/session"
)

func (p *Phone) drawSession(v sessionView) app.UI {
	switch v.Kind {
	case kindPain:
		return p.drawPain(v)
	case kindReady:
		return p.drawReady(v)
	case kindRun:
		return p.drawRun(v)
	case kindSheet:
		return p.drawSheet(v)
	case kindEnd:
		return p.drawEnd(v)
	}
	return app.Div().Class("page", "centre").Body(
		title(v.Title),
		bar(p.button("back", "main-button", p.a.t(words.EndHome), func() { p.a.goTo(PlaceNow) })))
}

// drawPain is a question with eleven large answers.
func (p *Phone) drawPain(v sessionView) app.UI {
	a := p.a
	asking := a.session.view.State == session.Asking
	return app.Div().Class("page", "pain-page").Body(
		p.sessionNotice(v),
		when(!asking, p.whose),
		title(v.Question),
		para("text", v.CapRule),
		items("plain", v.Rules),
		when(v.Options, func() app.UI { return p.drawMedicine(v) }), // before the score, which ends the page
		p.painScale(a.sessionPain),
		when(v.Options, func() app.UI {
			return app.Div().Class("ask-row").Body(p.choice("helper", a.t(words.HelperAsk), v.Helper, a.toggleHelper))
		}),
		bar(
			when(v.CanStop && !a.session.untouched(), func() app.UI { return p.stopButton() }),
			when(a.session.untouched(), func() app.UI { return p.button("back", "quiet", a.t(words.Back), a.forgetSession) }),
			when(a.session.sheet == painSheet, func() app.UI { return p.button("close-sheet", "quiet", a.t(words.Back), a.closeSheet) }),
			when(asking, func() app.UI {
				return p.button("no-answer", "quiet", a.t(words.PainSkip), func() { a.sessionTap(session.NoAnswer) })
			}),
		),
	)
}

// drawMedicine asks whether medicine was taken; no answer is an answer.
func (p *Phone) drawMedicine(v sessionView) app.UI {
	a := p.a
	return app.Div().Class("ask-row").Attr("role", "group").Aria("labelledby", "medicine-label").Body(
		app.Span().ID("medicine-label").Text(a.t(words.MedicineAsk)),
		p.choice("medicine-yes", a.t(words.YesWord), v.Med == Yes, func() { a.tookMedicine(true) }),
		p.choice("medicine-no", a.t(words.NoWord), v.Med == No, func() { a.tookMedicine(false) }))
}

// drawReady is how an exercise is done, before it starts.
func (p *Phone) drawReady(v sessionView) app.UI {
	a := p.a
	return app.Div().Class("page").Body(
		p.sessionNotice(v),
		para("lead", v.Lead),
		title(v.Title),
		para("danger", v.Danger),
		p.drawFigures(v),
		numbered(v.Steps),
		app.P().Class("facts").Body(app.Span().Text(v.Dose), when(v.Limit != "", func() app.UI { return app.Strong().Text(v.Limit) })),
		app.Section().Class("block").Body(
			app.H2().Text(a.t(words.FeelTitle)), app.P().Text(v.Feel),
			app.H2().Text(a.t(words.AvoidTitle)), items("must-not", v.Avoid)),
		when(v.Replay, func() app.UI { return p.button("replay", "wide quiet", a.t(words.MoveFigure), a.replay) }),
		p.button("by-tap", "wide quiet", a.byTapWord(v.ByTap), a.toggleByTap),
		p.skipButton(v),
		bar(p.stopButton(), p.mainButton(v)),
	)
}

func (a *App) byTapWord(on bool) string {
	if on {
		return a.t(words.ByTapOff)
	}
	return a.t(words.ByTapOn)
}

// drawRun is the timer, to be read from two metres.
func (p *Phone) drawRun(v sessionView) app.UI {
	a := p.a
	return app.Div().Class("page", "run").Body(
		p.sessionNotice(v),
		app.P().Class("run-name").Text(v.Title),
		p.drawFigures(v),
		app.H1().ID("title").Class("run-state").TabIndex(-1).Text(v.State),
		when(v.Big != "", func() app.UI {
			return app.P().ID("timer").Class("timer").Attr("role", "timer").Aria("live", "off").Body(
				app.Span().Class("timer-number").Text(v.Big), app.Span().Class("timer-unit").Text(v.Unit))
		}),
		when(v.Big != "" && v.Unit != "", func() app.UI {
			return app.Progress().Class("run-bar").Max("1000").Value(itoa(v.Done)).Aria("label", v.State)
		}),
		when(v.Caption != "", func() app.UI {
			return app.P().ID("caption").Class("caption").Aria("label", a.t(words.CaptionLabel)).Text(v.Caption)
		}),
		app.P().Class("run-count").Body(app.Span().Text(v.Count), when(v.Limit != "", func() app.UI { return app.Strong().Text(v.Limit) })),
		p.secondButtons(v),
		bar(p.stopButton(), p.pauseButton(v), p.mainButton(v)),
	)
}

// secondButtons are all but the main one, pause and stop. The way out of pain comes first, since what follows the second may
// lie below the edge of a small screen.
func (p *Phone) secondButtons(v sessionView) app.UI {
	var pain, rest []app.UI
	if v.Measure {
		rest = append(rest, p.button("measure-hold", "second", p.a.t(words.MeasureInHold), p.a.measureHold))
	}
	for _, b := range v.Buttons {
		if b.Main || b.Kind == session.Pause {
			continue
		}
		one := p.button(string(b.Kind), "quiet second", b.Text, func() { p.a.sessionTap(b.Kind) })
		if b.Kind == session.PainNow {
			pain = append(pain, one)
		} else {
			rest = append(rest, one)
		}
	}
	out := append(pain, rest...)
	return when(len(out) > 0, func() app.UI { return app.Div().Class("seconds").Body(out...) })
}

func (p *Phone) skipButton(v sessionView) app.UI {
	for _, b := range v.Buttons {
		if b.Kind == session.Skip {
			return p.button("skip", "wide quiet", b.Text, func() { p.a.sessionTap(session.Skip) })
		}
	}
	return when(false, nil)
}

func (p *Phone) pauseButton(v sessionView) app.UI {
	for _, b := range v.Buttons {
		if b.Kind == session.Pause && !b.Main {
			return p.button("pause", "quiet", b.Text, func() { p.a.sessionTap(session.Pause) })
		}
	}
	return when(false, nil)
}

func (p *Phone) mainButton(v sessionView) app.UI {
	for _, b := range v.Buttons {
		if b.Main {
			return p.button("main-"+string(b.Kind), "main-button", b.Text, func() { p.a.sessionTap(b.Kind) })
		}
	}
	return when(false, nil)
}

func (p *Phone) stopButton() app.UI {
	return p.button("stop", "stop", p.a.t(words.Stop), func() { p.a.sessionTap(session.Stop) })
}

func (p *Phone) sessionNotice(v sessionView) app.UI {
	class := "notice"
	if v.Alert {
		class = "notice alert"
	}
	return app.Div().Class("notices").Body(
		when(v.Notice != "", func() app.UI { return app.P().ID("session-notice").Class(class).Attr("role", "status").Text(v.Notice) }),
		when(v.Trouble != "" && v.Kind != kindEnd, func() app.UI { return app.P().Class("notice alert").Text(v.Trouble) }),
	)
}

func (p *Phone) drawFigures(v sessionView) app.UI {
	var out []app.UI
	for _, s := range v.Figures {
		out = append(out, svg(s, "figure"))
	}
	class := "figures"
	if len(out) > 1 {
		class = "figures two"
	}
	return app.Div().Class(class).Body(out...)
}

// drawSheet asks why, the gravest first.
func (p *Phone) drawSheet(v sessionView) app.UI {
	a := p.a
	if a.session.sheet == skipSheet {
		var rows []app.UI
		for _, r := range []rom.SkipReason{rom.SkipPain, rom.SkipTired, rom.SkipNoTime, rom.SkipNoHelper, rom.SkipAfraid, rom.SkipNoPlace} {
			rows = append(rows, p.row("skip-"+string(r), "", words.SkipReason(a.lang(), r), "", func() { a.skipFor(r) }))
		}
		return app.Div().Class("page").Body(title(v.Question), app.Div().Class("rows").Body(rows...),
			bar(p.button("close-sheet", "main-button", a.t(words.StopNot), a.closeSheet)))
	}
	rows := []app.UI{
		p.row("stop-"+string(rom.StopWrong), "sign urgent-row", a.t(words.StopWrong), a.t(words.StopWrongSub), func() { a.stopFor(rom.StopWrong) }),
		p.row("stop-"+string(rom.StopPain), "", a.t(words.StopPain), "", func() { a.stopFor(rom.StopPain) }),
	}
	for _, r := range []rom.StopReason{rom.StopTired, rom.StopNoTime, rom.StopOther} {
		rows = append(rows, p.row("stop-"+string(r), "", words.StopReason(a.lang(), r), "", func() { a.stopFor(r) }))
	}
	return app.Div().Class("page").Body(title(v.Question), app.Div().Class("rows").Body(rows...),
		bar(p.button("close-sheet", "main-button", a.t(words.StopNot), a.closeSheet)))
}

// drawEnd is the last page. The one of a stop has a number and one action.
func (p *Phone) drawEnd(v sessionView) app.UI {
	a := p.a
	class := ""
	if v.Alert {
		class = "danger"
	}
	return app.Div().Class("page", "end").Body(
		app.H1().ID("title").Class("title", class).TabIndex(-1).Text(v.Title),
		when(v.Calls, p.callLinks),
		paras("text", v.Texts),
		when(len(v.Did) > 0, func() app.UI {
			return app.Section().Class("block").Body(app.H2().Text(a.t(words.DidWhat)), items("may", v.Did))
		}),
		app.P().ID("kept").Class(keptClass(v.Retry)).Attr("role", "status").Text(v.Status),
		bar(p.button("leave", "main-button", v.MainEnd, a.leaveSession)),
	)
}

// keptClass is how the sentence about keeping looks: an alert when nothing
// was kept.
func keptClass(lost bool) string {
	if lost {
		return "notice alert"
	}
	return "status"
}

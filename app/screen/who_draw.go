package screen

import (
	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/figure"
	"unsling/app/words"
)

// whoTop is whose app this is, on top of every screen. Where several share
// the phone a tap on it leads to the others.
func (p *Phone) whoTop() app.UI {
	a := p.a
	letters := a.prefs.Letters
	switch {
	case a.asksWho(), !a.shared() && letters == "":
		return when(false, nil)
	case !a.shared():
		return app.Span().ID("letters-top").Class("letters-top").Attr("role", "img").Aria("label", a.f(words.WhoIs, letters)).Text(letters)
	case letters == "":
		return p.button("letters-top", "letters-top", a.t(words.WhoTop), a.toWho)
	}
	return p.button("letters-top", "letters-top", letters, a.toWho).Aria("label", a.f(words.WhoHas, letters))
}

// drawWho asks who it is, or explains how to share the phone.
func (p *Phone) drawWho() app.UI {
	a := p.a
	v := a.viewWho()
	head, lead, add := words.WhoShare, words.WhoOwn, words.WhoAdd
	if v.Ask {
		head, lead, add = words.WhoAsk, words.WhoTap, words.WhoNew
	} else if len(v.Text) > 0 {
		v.Text = v.Text[1:]
	}
	var rows []app.UI
	if v.Ask {
		for _, r := range v.Rows {
			rows = append(rows, p.row("who-"+r.ID, "who-row", r.Letters, r.Sub, func() { a.choosePerson(r.ID) }))
		}
		if v.New {
			rows = append(rows, p.row("who-new", "", a.t(add), a.t(words.WhoNewSub), a.addPerson))
		}
	}
	return app.Div().Class("page").Body(
		title(a.t(head)),
		problem(v.Problem),
		para("text", a.t(lead)),
		app.Div().Class("rows").Body(rows...),
		para("notice", v.Waits),
		paras("text", v.Text),
		when(v.Ask && v.Mine, func() app.UI { return p.button("change-letters", "wide quiet", a.t(words.WhoLetters), a.changeLetters) }),
		when(v.Mine, func() app.UI {
			return bar(p.button("back", "quiet", a.t(words.Back), func() { a.goTo(PlaceNow) }),
				when(!v.Ask && v.New, func() app.UI { return p.button("who-new", "main-button", a.t(add), a.addPerson).Disabled(v.Busy) }))
		}),
	)
}

// drawWhose asks for whom a code is that was opened in somebody's app.
func (p *Phone) drawWhose() app.UI {
	a := p.a
	return app.Div().Class("page").Body(
		title(a.t(words.WhoseTitle)),
		problem(a.who.problem),
		app.Div().Class("rows").Body(
			p.row("whose-mine", "", a.t(words.WhoseMine), a.t(words.WhoseMineSub), a.mineIsIt),
			p.row("whose-other", "", a.t(words.WhoseOther), a.t(words.WhoseSub), a.addPerson)),
		paras("text", a.texts(words.WhoOwn, words.WhoSees)),
		bar(p.button("back", "quiet", a.t(words.Back), func() { a.enrol = enrolState{}; a.goTo(PlaceNow) })),
	)
}

// whose says before an exercise or a measurement whose it is, with the
// operated shoulder, where a tap on the wrong app would harm a record.
func (p *Phone) whose() app.UI {
	a := p.a
	side := a.day.Episode.Side
	return when(a.shared() && a.prefs.Letters != "" && side != "", func() app.UI {
		arm := a.f(words.WhoArm, words.Side(a.lang(), side))
		return app.Div().ID("whose").Class("whose").Body(
			svg(figure.SideChoice(side, a.figureWords(arm)), "whose-figure"),
			app.P().Body(app.Strong().Class("letters-top").Text(a.prefs.Letters), app.Span().Text(" "+words.Capital(arm))))
	})
}

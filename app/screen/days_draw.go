package screen

import (
	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/words"
)

// drawDays is a list of topics, one page each: a page for everything would be
// seven screens long.
func (p *Phone) drawDays() app.UI {
	a := p.a
	v := a.viewDays()
	for i, t := range v.Topics {
		if t.ID != a.topic {
			continue
		}
		foot := bar(p.button("back", "main-button", a.t(words.Back), func() { a.openTopic("") }))
		if i+1 < len(v.Topics) {
			foot = bar(p.button("back", "quiet", a.t(words.Back), func() { a.openTopic("") }),
				p.button("next", "main-button", a.t(words.Next), func() { a.openTopic(v.Topics[i+1].ID) }))
		}
		return app.Div().Class("page").Body(
			title(t.Title), para("danger", t.Danger), p.drawTopic(t), para("status", v.Rule), foot)
	}
	var rows []app.UI
	for _, t := range v.Topics {
		class := ""
		if t.ID == "numb" {
			class = "urgent-row"
		}
		rows = append(rows, p.row("topic-"+t.ID, class, t.Title, t.Danger, func() { a.openTopic(t.ID) }))
	}
	return app.Div().Class("page").Body(
		title(v.Title),
		para("text", v.Rule),
		app.Div().Class("rows").Body(rows...),
		when(v.Tries, p.drawTries),
		p.drawWatch(v.Watch),
		bar(p.button("back", "main-button", a.t(words.Back), func() { a.goTo(PlaceNow) })),
	)
}

func (p *Phone) drawHelper() app.UI {
	a := p.a
	return app.Div().Class("page").Body(
		title(a.t(words.HelperTitle)),
		para("danger big", a.t(words.HelperNever)),
		p.drawTopics(a.viewHelper()),
		app.Div().Class("rows").Body(p.row("to-help", "", a.t(words.HelperSigns), "", func() { a.goTo(PlaceHelp) })),
		bar(p.button("back", "main-button", a.t(words.Back), func() { a.goTo(PlaceNow) })),
	)
}

// drawTopics draws topics one below the other.
func (p *Phone) drawTopics(list []topic) app.UI {
	var out []app.UI
	for _, t := range list {
		out = append(out, app.Section().ID("topic-"+t.ID).Class("card topic").Body(
			app.H2().Text(t.Title), para("danger", t.Danger), p.drawTopic(t)))
	}
	return app.Div().Class("topics").Body(out...)
}

// drawTopic draws pictures with their lines. Where there are as many pictures
// as steps, each stands beside its own.
func (p *Phone) drawTopic(t topic) app.UI {
	lines := t.Lines
	var pics app.UI = when(false, nil)
	switch n := len(t.Pictures); {
	case n > 2:
		var steps []app.UI
		for i, s := range t.Pictures {
			steps = append(steps, app.Li().Class("pictured").Body(svg(s, "figure"), app.P().Text(lines[i])))
		}
		pics, lines = app.Ol().Class("pictured-steps").Body(steps...), lines[n:]
	case n > 0:
		class := "figures"
		if n == 2 {
			class = "figures two"
		}
		var list []app.UI
		for _, s := range t.Pictures {
			list = append(list, svg(s, "figure"))
		}
		pics = app.Div().Class(class).Body(list...)
	}
	return app.Div().Class("topic-body").Body(pics, items("plain", lines))
}

// drawWatch names the signs that deserve attention these days; what to do about
// each is one tap away.
func (p *Phone) drawWatch(list []signRow) app.UI {
	return when(len(list) > 0, func() app.UI {
		var names []string
		for _, s := range list {
			names = append(names, s.Name)
		}
		return app.Section().ID("watch").Class("block").Body(
			app.H2().Text(p.a.t(words.WatchTitle)), items("watch-for", names),
			p.row("to-signs", "", p.a.t(words.WatchRow), "", func() { p.a.goTo(PlaceHelp) }))
	})
}

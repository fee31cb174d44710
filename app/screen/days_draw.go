package screen

import (
	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/words"
)

func (p *Phone) drawDays() app.UI {
	a := p.a
	v := a.viewDays()
	return app.Div().Class("page").Body(
		title(v.Title),
		para("text", v.Rule),
		p.drawTopics(v.Topics),
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

// drawTopics draws pictures with their lines. Where there are as many pictures
// as steps, each stands beside its own.
func (p *Phone) drawTopics(list []topic) app.UI {
	var out []app.UI
	for _, t := range list {
		body := []app.UI{app.H2().Text(t.Title), para("danger", t.Danger)}
		lines := t.Lines
		if len(t.Pictures) > 2 {
			var steps []app.UI
			for i, s := range t.Pictures {
				steps = append(steps, app.Li().Class("pictured").Body(svg(s, "figure"), app.P().Text(lines[i])))
			}
			body = append(body, app.Ol().Class("pictured-steps").Body(steps...))
			lines = lines[len(t.Pictures):]
		} else if len(t.Pictures) > 0 {
			class := "figures"
			if len(t.Pictures) == 2 {
				class = "figures two"
			}
			var pics []app.UI
			for _, s := range t.Pictures {
				pics = append(pics, svg(s, "figure"))
			}
			body = append(body, app.Div().Class(class).Body(pics...))
		}
		body = append(body, items("plain", lines))
		out = append(out, app.Section().ID("topic-"+t.ID).Class("card topic").Body(body...))
	}
	return app.Div().Class("topics").Body(out...)
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

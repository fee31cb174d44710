package screen

import (
	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/words"
)

func (p *Phone) drawSoFar() app.UI {
	a := p.a
	v := a.viewSoFar()
	out := []app.UI{title(a.t(words.SoFarTitle)), para("text", v.Lead), para("text", v.Empty), para("week", v.Week)}
	if len(v.Since.Lines) > 0 {
		out = append(out, app.Section().ID("since").Class("block").Body(app.H2().Text(v.Since.Title), items("", v.Since.Lines)))
	}
	for _, c := range v.Cards {
		out = append(out, app.Section().ID(c.ID).Class("card", "chart-card").Body(
			app.H2().Text(c.Title),
			para("card-about", c.Last),
			svg(c.SVG, "chart-picture"),
			para("status", c.Reads),
			p.tableTwin(c.ID, c.Table),
		))
	}
	out = append(out, para("status", a.t(words.SurgeonRule)), bar(p.button("back", "quiet", a.t(words.Back), func() { a.goTo(PlaceNow) })))
	return app.Div().Class("page").Body(out...)
}

// tableTwin is the same as a chart in rows, for those who cannot see it.
func (p *Phone) tableTwin(id string, rows [][]string) app.UI {
	return when(len(rows) > 1, func() app.UI {
		var head, body []app.UI
		for _, c := range rows[0] {
			if c == "" { // a heading without words heads nothing
				head = append(head, app.Td())
				continue
			}
			head = append(head, app.Th().Scope("col").Text(c))
		}
		for _, r := range rows[1:] {
			var cells []app.UI
			for _, c := range r {
				cells = append(cells, app.Td().Text(c))
			}
			body = append(body, app.Tr().Body(cells...))
		}
		return app.Details().ID(id+"-twin").Class("twin").Body(
			app.Summary().Text(p.a.t(words.TableTwin)),
			app.Div().Class("scroll").TabIndex(0).Body(app.Table().Body(app.THead().Body(app.Tr().Body(head...)), app.TBody().Body(body...))),
		)
	})
}

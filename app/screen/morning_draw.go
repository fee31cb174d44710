package screen

import (
	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/words"
)

func (p *Phone) drawMorning() app.UI {
	a := p.a
	v := a.viewMorning()
	later := p.button("later", "quiet", a.t(words.MorningLater), func() { a.goTo(PlaceNow) })
	switch v.Step {
	case morningPain:
		return app.Div().Class("page", "pain-page").Body(title(v.Title), p.painScale(a.morningScore), bar(later))
	case morningSling:
		var rows []app.UI
		for _, x := range []struct {
			worn string
			text words.Text
		}{{"as-asked", words.SlingYes}, {"partly", words.SlingPartly}, {"not", words.SlingNo}} {
			rows = append(rows, p.row("worn-"+x.worn, "", a.t(x.text), "", func() { a.morningWorn(x.worn) }))
		}
		return app.Div().Class("page").Body(title(v.Title), app.Div().Class("rows").Body(rows...), bar(later))
	}
	return app.Div().Class("page").Body(
		title(v.Title),
		when(v.Calls, p.callLinks),
		paras("text", v.Texts),
		app.P().ID("kept").Class("status").Attr("role", "status").Text(v.Status),
		bar(p.button("done", "main-button", a.t(words.EndHome), func() { a.goTo(PlaceNow) })),
	)
}

// painScale is eleven large answers, with words at its ends and middle.
func (p *Phone) painScale(take func(score int)) app.UI {
	a := p.a
	var list []app.UI
	for n := 0; n <= 10; n++ {
		label := ""
		switch n {
		case 0:
			label = a.t(words.PainNone)
		case 5:
			label = a.t(words.PainMiddle)
		case 10:
			label = a.t(words.PainWorst)
		}
		id := "pain-" + itoa(n)
		h, scope := p.on(id, func(app.Context, app.Event) { take(n) })
		list = append(list, app.Button().ID(id).Type("button").Class("pain").OnClick(h, scope).Body(
			app.Span().Class("pain-number").Text(itoa(n)),
			when(label != "", func() app.UI { return app.Span().Class("pain-word").Text(label) })))
	}
	return app.Div().Class("pains").Attr("role", "group").Aria("labelledby", "title").Body(list...)
}

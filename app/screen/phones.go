package screen

import (
	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/words"
)

// drawPhones says how to come to a second phone, a new one, and what to do
// when one is lost. All three begin at the clinic: a phone cannot let another
// one in.
func (p *Phone) drawPhones() app.UI {
	a := p.a
	part := func(head words.Text, texts ...words.Text) app.UI {
		body := []app.UI{app.H2().Text(a.t(head))}
		for _, t := range texts {
			body = append(body, app.P().Text(a.t(t)))
		}
		return app.Section().Class("block").Body(body...)
	}
	return app.Div().Class("page").Body(
		title(a.t(words.PhonesTitle)),
		app.P().ID("this-phone").Class("lead").Text(a.f(words.PhonesThis, a.about.Name)),
		part(words.PhonesSecond, words.PhonesHelper, words.PhonesAsk, words.PhonesSees),
		part(words.PhonesNew, words.PhonesSend, words.PhonesSwap, words.PhonesStops),
		part(words.PhonesLost, words.PhonesCall, words.PhonesRisk, words.PhonesName),
		p.callLinks(),
		bar(p.button("back", "quiet", a.t(words.Back), func() { a.goTo(PlaceSettings) })),
	)
}

package screen

import (
	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/words"
)

// drawTilt is the phone on the body: where it goes, and how still it lies.
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

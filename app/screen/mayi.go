package screen

import (
	"strings"

	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/words"
	"unsling/engine/schedule"
)

// mayIList is the clinic's answers for the phase in force, in the order of the
// catalogue. Nothing here is computed: a question without an answer is missing.
func (a *App) mayIList() []mayI {
	var out []mayI
	if a.day.State != schedule.Running {
		return nil // they were written for a programme that runs
	}
	for _, act := range words.Activities() {
		for _, m := range a.day.MayI {
			if m.Activity == act {
				out = append(out, a.mayI(m)...)
			}
		}
	}
	return out
}

// mayIShort says the first answers in one line.
func (a *App) mayIShort() string {
	var parts []string
	for _, m := range a.mayIList() {
		if len(parts) < 3 {
			parts = append(parts, m.What+": "+strings.ToLower(m.Answer))
		}
	}
	return strings.Join(parts, " · ")
}

func (p *Phone) drawMayIPage() app.UI {
	a := p.a
	list := a.mayIList()
	rule := a.t(words.MayIRule)
	if len(list) == 0 {
		rule = a.t(words.MayINone)
	}
	return app.Div().Class("page").Body(
		title(a.t(words.MayITitle)),
		para("text", rule),
		p.mayIPairs(list),
		para("status", a.t(words.MayIOther)),
		app.Div().Class("rows").Body(p.row("ask", "task", a.t(words.MayIWrite), "", func() {
			a.goTo(PlaceHelp)
			a.writeNote()
		})),
		bar(p.button("back", "main-button", a.t(words.Back), func() { a.goTo(PlaceNow) })),
	)
}

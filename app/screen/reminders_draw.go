package screen

import (
	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/words"
)

func (p *Phone) drawReminders() app.UI {
	a := p.a
	v := a.viewReminders()
	var rows []app.UI
	for _, t := range v.Times {
		id := "time-" + itoa(t.Minute)
		rows = append(rows, app.Div().ID(id).Class("time").Attr("role", "group").Aria("label", t.Hour).Body(
			app.Span().Class("time-hour").Text(t.Hour),
			p.button(id+"-early", "quiet step", "−", func() { a.moveTime(t.Minute, -reminderStep) }).Aria("label", t.Early),
			p.button(id+"-late", "quiet step", "+", func() { a.moveTime(t.Minute, reminderStep) }).Aria("label", t.Late),
			p.button(id+"-drop", "quiet step", "✕", func() { a.dropTime(t.Minute) }).Aria("label", t.Drop),
		))
	}
	return app.Div().Class("page").Body(
		title(a.t(words.RemindTitle)),
		para("text", v.Lead),
		app.P().Class("status").Text(a.t(words.RemindLock)+" "+a.t(words.RemindTravel)),
		app.Section().Class("block").Body(
			app.H2().Text(a.t(words.RemindTimes)),
			para("text", v.None),
			app.Div().Class("times").Body(rows...),
			when(v.More, func() app.UI { return p.button("time-more", "wide quiet", a.t(words.RemindMore), a.moreTime) }),
			when(v.Plan, func() app.UI { return p.button("time-plan", "wide quiet", a.t(words.RemindPlan), a.planTimes) }),
		),
		para("notice", v.Old),
		para("status", v.Ends),
		when(v.Said != "", func() app.UI { return app.P().ID("reminders-said").Class("notice").Text(v.Said) }),
		p.choices("remind-open", a.t(words.RemindOpen),
			p.choice("remind-open-on", a.t(words.On), v.Open, func() { a.setRemindOpen(true) }),
			p.choice("remind-open-off", a.t(words.Off), !v.Open, func() { a.setRemindOpen(false) })),
		when(v.Given, func() app.UI { return p.button("reminders-stop", "wide quiet", a.t(words.RemindStop), a.stopReminders) }),
		bar(p.button("back", "quiet", a.t(words.Back), func() { a.goTo(PlaceSettings) }),
			when(len(v.Times) > 0, func() app.UI {
				return p.button("reminders-save", "main-button", a.t(words.RemindSave), a.saveReminders)
			})),
	)
}

package screen

import (
	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/words"
)

func (p *Phone) drawLeave() app.UI {
	a := p.a
	v := a.viewLeave()
	lost := "text"
	if v.Unsent || v.Why != "" {
		lost = "danger"
	}
	back := PlaceSettings
	if v.Locked {
		back = PlaceNow
	}
	if v.Sure {
		return app.Div().Class("page").Body(
			title(a.t(a.leaveWord(words.LeaveTitle, words.WhoErase))),
			app.P().ID("lost").Class(lost).Text(v.Lost),
			app.P().ID("sure").Class("danger").Text(a.t(words.LeaveSure)),
			when(v.Failed != "", func() app.UI { return problem(v.Failed) }),
			when(v.Busy, func() app.UI { return app.P().Class("text").Text(a.t(words.LeaveBusy)) }),
			// Not where the button before it stood: whoever taps twice has not said yes.
			p.button("erase-now", "wide stop", a.t(a.leaveWord(words.LeaveYes, words.WhoEraseYes)), a.leaveNow).Disabled(v.Busy || v.Soon),
			bar(p.button("keep", "quiet", a.t(words.LeaveNo), func() { a.gone.sure = false }).Disabled(v.Busy)),
		)
	}
	return app.Div().Class("page").Body(
		title(a.t(a.leaveWord(words.LeaveTitle, words.WhoErase))),
		para("text", v.Why),
		app.P().ID("lost").Class(lost).Text(v.Lost),
		when(v.Unsent, func() app.UI {
			return p.button("send-now", "wide", a.t(words.SetSendNow), a.sendNow).Disabled(a.facts.Sending.Busy)
		}),
		para("text", a.t(words.LeaveWhat)),
		para("text", a.t(words.LeaveStays)),
		when(a.shared(), func() app.UI { return para("text", a.t(words.WhoEraseStay)) }),
		when(v.Why == "" && !v.Locked, func() app.UI { return p.button("export", "wide quiet", a.t(words.SetExport), a.export) }),
		para("notice", a.set.exported),
		when(v.Why != "", func() app.UI { return p.callLinks() }),
		bar(
			when(v.Why == "", func() app.UI { return p.button("back", "quiet", a.t(words.Back), func() { a.goTo(back) }) }),
			p.button("erase", "stop", a.t(a.leaveWord(words.LeaveFirst, words.WhoEraseOne)), a.askErase),
		),
	)
}

// drawLeft is the last page: what is left to do.
func (p *Phone) drawLeft() app.UI {
	a := p.a
	v := a.viewLeave()
	number := a.gone.number
	return app.Div().Class("page").Body(
		title(a.t(a.leaveWord(words.LeftTitle, words.WhoGone))),
		app.P().ID("told").Class("text").Text(v.Told),
		when(number != "", func() app.UI { return callLink("call-clinic", "call", a.t(words.CallClinic), number) }),
		para("text", a.t(a.leaveWord(words.LeftIcon, words.WhoEraseStay))),
		bar(p.button("again", "quiet", a.t(words.LeftAgain), func() { a.run(a.d.Guard.Restart, func() {}) })),
	)
}

package screen

import (
	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/words"
)

// drawLock is the choice of a lock.
func (p *Phone) drawLock() app.UI {
	a := p.a
	l := &a.lock
	is := words.LockIsOff
	switch l.kept.Kind {
	case lockByPIN:
		is = words.LockIsPIN
	case lockByOwn:
		is = words.LockIsOwn
	}
	var minutes []app.UI
	for _, n := range lockMinutes {
		minutes = append(minutes, p.choice("after-"+itoa(n), words.LockMinute.In(a.lang(), n), l.kept.Minutes == n, func() { a.setLockMinutes(n) }))
	}
	return app.Div().Class("page").Body(
		title(a.t(words.LockTitle)),
		app.P().ID("lock-is").Class("lead").Text(a.t(is)),
		problem(l.problem),
		p.button("lock-pin", "wide quiet", a.t(words.LockByPIN), func() { l.choosing, l.problem, l.pin, l.again = true, "", "", "" }),
		when(l.can, func() app.UI {
			return p.button("lock-own", "wide quiet", a.t(words.LockByOwn), a.setLockOwn).Disabled(l.busy)
		}),
		when(l.kept.Kind != lockNone, func() app.UI { return p.button("lock-off", "wide quiet", a.t(words.LockOff), a.lockOff) }),
		when(l.kept.Kind != lockNone, func() app.UI { return p.choices("after", a.t(words.LockAfter), minutes...) }),
		para("text", a.t(words.LockWhat)),
		para("text", a.t(words.LockOpen)),
		para("text", a.t(words.LockTimer)),
		para("status", a.t(words.LockLimits)),
		bar(p.button("back", "quiet", a.t(words.Back), func() { a.goTo(PlaceSettings) })),
	)
}

// drawLockPIN is the choosing of a PIN.
func (p *Phone) drawLockPIN() app.UI {
	a := p.a
	l := &a.lock
	return app.Div().Class("page").Body(
		title(a.t(words.LockNewPIN)),
		problem(l.problem),
		p.pin("pin", a.t(words.LockPIN), a.t(words.LockPINHint), l.pin, func(s string) { l.pin = s }),
		p.pin("again", a.t(words.LockAgain), "", l.again, func(s string) { l.again = s }),
		bar(
			p.button("back", "quiet", a.t(words.Back), func() { l.choosing, l.problem, l.pin, l.again = false, "", "", "" }),
			p.button("lock-set", "main-button", a.t(words.LockSet), a.setLockPIN).Disabled(l.busy),
		),
	)
}

// drawLocked stands before everything but help, and names the number to call.
func (p *Phone) drawLocked() app.UI {
	a := p.a
	l := &a.lock
	byPIN := l.kept.Kind == lockByPIN
	act := a.unlockOwn
	if byPIN {
		act = a.unlockPIN
	}
	return app.Div().Class("page").Body(
		title(a.t(words.Locked)),
		para("text", a.t(words.LockedHelp)),
		problem(l.problem),
		when(byPIN, func() app.UI { return p.pin("pin", a.t(words.LockPIN), "", l.pin, func(s string) { l.pin = s }) }),
		p.callLinks(),
		p.button("forgot", "quiet", a.t(words.LockForgot), func() { l.forgot, l.problem, l.code = true, "", "" }),
		bar(p.button("unlock", "main-button", a.t(words.LockUnlock), act).Disabled(l.busy)),
	)
}

// drawForgot are the ways for who cannot unlock.
func (p *Phone) drawForgot() app.UI {
	a := p.a
	l := &a.lock
	return app.Div().Class("page").Body(
		title(a.t(words.ForgotTitle)),
		problem(l.problem),
		para("text", a.t(words.ForgotCode)),
		p.field("code", a.t(words.EnrolCode), a.t(words.EnrolHint), l.code, func(s string) { l.code = s }),
		p.button("lock-code", "wide", a.t(words.ForgotDo), a.unlockByCode).Disabled(l.busy),
		para("text", a.t(words.ForgotErase)),
		p.button("to-leave", "wide quiet", a.t(words.LeaveTitle), func() { a.goTo(PlaceLeave) }),
		p.callLinks(),
		bar(p.button("back", "quiet", a.t(words.Back), func() { l.forgot, l.problem = false, "" })),
	)
}

// pin is a field for digits that are not shown.
func (p *Phone) pin(id, label, hint, value string, set func(string)) app.UI {
	h, scope := p.on(id+"-input", func(ctx app.Context, _ app.Event) { set(typed(ctx)) })
	return app.Div().Class("field").Body(
		app.Label().For(id).Class("label").Text(label),
		app.Input().ID(id).Type("password").AutoComplete(false).Attr("inputmode", "numeric").Value(value).OnInput(h, scope),
		para("hint", hint),
	)
}

func problem(text string) app.UI {
	return when(text != "", func() app.UI {
		return app.P().ID("problem").Class("notice alert").Attr("role", "alert").Text(text)
	})
}

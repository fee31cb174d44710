package screen

import (
	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/words"
)

// frame is what every screen shares: the way to help in the same place, the
// notice, the page, the status, and the live region.
func (p *Phone) frame() app.UI {
	a := p.a
	id, draw := p.page()
	role, aloud := "status", a.aloud
	if a.urgent {
		role = "alert"
	}
	if a.Shown() == PlaceWho && a.asksWho() { // nor what was said to somebody
		aloud = a.who.problem
	}
	return app.Div().ID("screen").Class("phone", p.hand(), "at-"+place(a.Shown())).Body(
		app.Header().Class("top").Body(
			app.Div().Class("who").Body(
				app.Span().Class("brand").Text(a.t(words.AppName)),
				p.whoTop()),
			when(a.Shown() != PlaceHelp, func() app.UI {
				return p.button("help", "help", a.t(words.Help), func() { a.goTo(PlaceHelp) })
			}),
		),
		app.Main().ID("main").Class("main").Body(
			p.notices(role),
			&page{ID: id, Draw: draw},
		),
		app.Div().ID("live").Class("unseen").Attr("role", "status").Aria("live", "polite").Text(aloud),
	)
}

// notices stand above the page in a box of their own that is always there: the
// library tells the children of an element apart by their place, and a notice
// beside the page would mount it anew, with an empty field where somebody
// writes.
func (p *Phone) notices(role string) app.UI {
	a := p.a
	if a.asksWho() { // nobody's notices are anybody's
		return app.Div().Class("notices")
	}
	return app.Div().Class("notices").Body(
		when(a.notice != "" && (a.urgent || !a.lock.locked), func() app.UI {
			class := "notice"
			if a.urgent {
				class = "notice alert"
			}
			return app.P().ID("notice").Class(class).Attr("role", role).Text(a.notice)
		}),
		when(a.troubleLine() != "", func() app.UI {
			return app.P().ID("trouble").Class("notice alert").Text(a.troubleLine())
		}),
		p.practiceBanner(),
		when(a.facts.Account.Forgotten && a.Shown() == PlaceNow, func() app.UI {
			return p.button("join-again", "plain", a.t(words.JoinAgain), func() { a.goTo(PlaceEnrol) })
		}),
	)
}

func place(p Place) string {
	if p == PlaceNow {
		return "now"
	}
	return string(p)[1:]
}

// page chooses what is drawn. The id changes with every page that is not the
// same page in another moment.
func (p *Phone) page() (id string, draw func() app.UI) {
	a := p.a
	if (!a.facts.Loaded || !a.started) && a.place != PlaceHelp && a.Shown() != PlaceWho && !a.gone.left {
		return "loading", p.drawLoading
	}
	switch at := a.Shown(); at {
	case PlaceWho:
		return "who", p.drawWho
	case PlaceEnrol:
		if a.asksWhose() {
			return "whose", p.drawEnrol
		}
		return "enrol", p.drawEnrol
	case PlaceFirst:
		return "first-" + itoa(a.firstPage()) + string(a.first.wrongSide), p.drawFirst
	case PlaceSession:
		v := a.viewSession()
		return "session-" + string(v.Kind) + "-" + itoa(a.session.view.Item) + string(a.session.sheet), func() app.UI { return p.drawSession(v) }
	case PlaceMeasure:
		s := a.measure
		return "measure-" + string(s.step) + "-" + itoa(len(s.trials)), p.drawMeasure
	case PlaceSoFar:
		return "so-far", p.drawSoFar
	case PlaceLimits:
		return "limits", p.drawLimits
	case PlaceDays:
		return "days-" + a.topic, p.drawDays
	case PlaceHelper:
		return "helper", p.drawHelper
	case PlaceMayI:
		return "may-i", p.drawMayIPage
	case PlaceMorning:
		return "morning-" + string(a.morning.step), p.drawMorning
	case PlaceLearn:
		return "learn-" + itoa(a.learn.at), p.drawLearn
	case PlaceHelp:
		h := a.help
		id = "help-" + string(h.sign) + h.was
		if h.writing {
			id += "-note"
		}
		return id, p.drawHelp
	case PlaceSettings:
		return "settings", p.drawSettings
	case PlaceLock:
		l := &a.lock
		switch {
		case !l.locked && l.choosing:
			return "lock-pin", p.drawLockPIN
		case !l.locked:
			return "lock", p.drawLock
		case l.forgot:
			return "locked-forgot", p.drawForgot
		}
		return "locked", p.drawLocked
	case PlacePhones:
		return "phones", p.drawPhones
	case PlaceReminders:
		return "reminders", p.drawReminders
	case PlaceWeekly:
		return "week-" + a.weekly.step, p.drawWeekly
	case PlaceLeave:
		if a.gone.left {
			return "left", p.drawLeft
		}
		if a.gone.sure {
			return "leave-sure", p.drawLeave
		}
		return "leave", p.drawLeave
	}
	return "now", p.drawNow
}

// drawLoading stands until the records were read. Where the browser gives no
// storage they never will be: the notice above says so.
func (p *Phone) drawLoading() app.UI {
	if p.a.facts.Trouble != TroubleNone {
		return app.Div().Class("page").Body(title(p.a.t(words.AppName)), p.callLinks())
	}
	_, number := p.a.clinic()
	return app.Div().Class("page", "centre").Body(
		title(p.a.t(words.Loading)),
		when(number != "", p.callLinks), // a disk may hang; who must call now can
	)
}

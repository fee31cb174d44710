package screen

import (
	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/words"
)

func (p *Phone) drawEnrol() app.UI {
	a := p.a
	v := a.viewEnrol()
	switch {
	case a.asksWhose():
		return p.drawWhose()
	case v.Pending != "":
		return app.Div().Class("page", "centre").Body(
			title(a.t(words.EnrolPending)),
			app.P().ID("check").Class("huge").Text(v.Pending),
			para("text", a.t(words.EnrolWait)),
		)
	case v.Tab:
		return app.Div().Class("page").Body(
			title(a.t(words.TabTitle)),
			para("danger", a.t(words.TabLead)),
			p.installSteps(v.Steps, a.installPictures()),
			para("text", a.t(words.TabType)),
			para("status", a.t(words.TabSent)),
		)
	}
	if v.Other != "" {
		return p.drawOther(v)
	}
	return app.Div().Class("page").Body(
		title(a.t(words.EnrolTitle)),
		when(v.Problem != "", func() app.UI {
			return app.P().ID("problem").Class("notice alert").Attr("role", "alert").Text(v.Problem)
		}),
		when(v.Linked, func() app.UI { return app.P().Class("text").Text(a.t(words.EnrolLink)) }),
		when(!v.Linked, func() app.UI { return app.P().Class("text").Text(a.t(words.EnrolLead)) }),
		when(!v.Linked, func() app.UI {
			return p.field("code", a.t(words.EnrolCode), a.t(words.EnrolHint), v.Code, func(s string) { a.enrol.code = s })
		}),
		when(!v.Linked, func() app.UI { return app.P().Class("status").Text(a.t(words.EnrolAgain)) }), // all that is left after an eviction
		when(v.WantPin, func() app.UI {
			return p.field("pin", a.t(words.EnrolPin), a.t(words.EnrolPinHint), v.Pin, func(s string) { a.enrol.pin = s })
		}),
		when(v.Busy, func() app.UI { return app.P().Class("text").Text(a.t(words.EnrolBusy)) }),
		when(v.Linked && !v.WantPin, func() app.UI {
			return p.button("want-pin", "quiet", a.t(words.EnrolPinAsk), func() { a.enrol.wantPin = true })
		}),
		when(v.Linked, func() app.UI {
			return p.button("type-code", "quiet", a.t(words.EnrolType), func() { a.enrol.typing = true })
		}),
		when(a.shared() && !a.here(), func() app.UI { return p.button("not-new", "quiet", a.t(words.WhoNotNew), a.toWho) }),
		bar(p.button("join", "main-button", a.t(words.EnrolJoin), a.join).Disabled(v.Busy)),
	)
}

// drawOther asks whose the records on this phone are.
func (p *Phone) drawOther(v enrolView) app.UI {
	a := p.a
	back := bar(p.button("back", "quiet", a.t(words.Back), func() { a.enrol.other = "" }))
	if v.Other == otherNot {
		return app.Div().Class("page").Body(title(a.t(words.OtherNot)), para("text", a.t(words.OtherSafe)), p.callLinks(), back)
	}
	return app.Div().Class("page").Body(
		title(a.t(words.OtherTitle)),
		problem(a.who.problem),
		para("text", a.t(words.OtherLead)),
		app.Div().Class("rows").Body(
			p.row("other-mine", "", a.t(words.OtherMine), a.t(words.OtherMineSub), func() { a.answerOther(true) }),
			p.row("other-person", "", a.t(words.WhoseOther), a.t(words.WhoseSub), a.addPerson),
			p.row("other-not-mine", "", a.t(words.OtherSome), "", func() { a.answerOther(false) }),
		),
		when(v.Busy, func() app.UI { return para("text", a.t(words.EnrolBusy)) }),
		back,
	)
}

// field is a labelled line of text with its hint.
func (p *Phone) field(id, label, hint, value string, set func(string)) app.UI {
	h, scope := p.on(id+"-input", func(ctx app.Context, _ app.Event) { set(typed(ctx)) })
	return app.Div().Class("field").Body(
		app.Label().For(id).Class("label").Text(label),
		app.Input().ID(id).Type("text").AutoComplete(false).Attr("autocapitalize", "characters").Attr("spellcheck", "false").
			Aria("describedby", id+"-hint").Value(value).OnInput(h, scope),
		app.P().ID(id+"-hint").Class("hint").Text(hint),
	)
}

package screen

import (
	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/words"
)

func (p *Phone) drawHelp() app.UI {
	a := p.a
	v := a.viewHelp()
	switch {
	case v.Status != "":
		return p.drawSent(v)
	case v.Sign != nil:
		return p.drawSign(v)
	case v.Writing:
		return p.drawWriting(v)
	}
	var groups []app.UI
	for _, g := range v.Groups {
		class := "signs"
		if g.Urgent {
			class = "signs urgent"
		}
		var rows []app.UI
		for _, s := range g.Signs {
			rows = append(rows, p.row("sign-"+string(s.ID), "sign", s.Name, "", func() { a.chooseSign(s.ID) }))
		}
		groups = append(groups, app.Section().Class(class).Body(app.H2().Text(g.Title), app.Div().Class("rows").Body(rows...)))
	}
	return app.Div().Class("page").Body(
		title(a.t(words.HelpTitle)),
		p.callLinks(),
		p.emergency(v),
		para("danger", v.Nobody),
		when(!v.Whose, func() app.UI { return app.P().Class("text").Text(a.t(words.HelpTap)) }),
		app.Div().Body(groups...),
		when(!v.Whose, func() app.UI { return p.row("write-note", "", a.t(words.NoteTitle), a.t(words.NoteLead), a.writeNote) }),
		p.drawThread(a.t(words.ReportsTitle), v.Reports),
		p.drawThread(a.t(words.NotesTitle), v.Notes),
		para("status", a.t(words.NobodyWatch)),
		para("status", a.t(words.SurgeonRule)),
		bar(p.button("back", "quiet", a.t(words.Back), a.helpBack)),
	)
}

func (p *Phone) emergency(v helpView) app.UI {
	return app.Div().Class("calls").Body(
		when(v.EmergencyTel != "", func() app.UI {
			return callLink("call-emergency", "emergency", p.a.t(words.Emergency), v.EmergencyTel)
		}),
		when(v.EmergencyTel == "", func() app.UI { return app.P().Class("danger").Text(v.Emergency) }),
		when(v.Nearby != "", func() app.UI { return app.P().ID("nearby").Class("text").Text(v.Nearby) }),
	)
}

func (p *Phone) drawSign(v helpView) app.UI {
	a := p.a
	return app.Div().Class("page").Body(
		title(v.Sign.Name),
		paras("danger big", v.Sign.Do),
		when(v.Sign.Emergency, func() app.UI { return p.emergency(v) }),
		p.callLinks(),
		para("danger", v.Nobody),
		when(!v.Whose, func() app.UI { return p.area("sign-text", a.t(words.SignText), func(s string) { a.help.text = s }) }),
		para("notice alert", v.Problem),
		bar(p.button("back", "quiet", a.t(words.Back), a.helpBack),
			when(!v.Whose, func() app.UI {
				return p.button("send-sign", "main-button", a.t(words.SignReport), func() { a.sendSign(false) })
			})),
	)
}

// drawSent is the page after something was told: of a sign first what to do about it, then that it was kept.
func (p *Phone) drawSent(v helpView) app.UI {
	a := p.a
	head := a.t(words.KeptNow)
	if v.Sign != nil {
		head = v.Sign.Name
	}
	return app.Div().Class("page").Body(
		title(head),
		when(v.Sign != nil, func() app.UI { return paras("danger big", v.Sign.Do) }),
		para("text", v.Urgent),
		when(v.Sign != nil && v.Sign.Emergency, func() app.UI { return p.emergency(v) }),
		p.callLinks(),
		app.P().ID("sent-status").Class("status").Text(v.Status),
		bar(p.button("back", "main-button", a.t(words.Done), a.helpBack)),
	)
}

func (p *Phone) drawWriting(v helpView) app.UI {
	a := p.a
	return app.Div().Class("page").Body(
		title(a.t(words.NoteTitle)),
		para("text", a.t(words.NoteLead)),
		p.area("note-text", a.t(words.NoteLabel), func(s string) { a.help.text = s }),
		para("notice alert", v.Problem),
		bar(p.button("back", "quiet", a.t(words.Back), a.helpBack),
			p.button("send-note", "main-button", a.t(words.NoteSend), a.sendNote)),
	)
}

// area is a labelled field of several lines.
func (p *Phone) area(id, label string, set func(string)) app.UI {
	h, scope := p.on(id+"-input", func(ctx app.Context, _ app.Event) { set(typed(ctx)) })
	return app.Div().Class("field").Body(
		app.Label().For(id).Class("label").Text(label),
		app.Textarea().ID(id).Rows(4).OnInput(h, scope),
	)
}

func (p *Phone) drawThread(head string, list []noteView) app.UI {
	return when(len(list) > 0, func() app.UI {
		out := []app.UI{app.H2().Text(head)}
		for _, n := range list {
			class := "note theirs"
			if n.Own {
				class = "note own"
			}
			out = append(out, app.Div().Class(class).Body(
				app.P().Class("note-head").Text(n.Head), para("note-text", n.Text), para("status", n.State)))
		}
		return app.Section().Class("block").Body(out...)
	})
}

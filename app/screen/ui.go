package screen

import (
	"strings"

	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/words"
)

// page is one page of one screen. A page with another id is mounted anew, so
// that nothing of the one before survives in it: no focus, no typed text.
type page struct {
	app.Compo
	ID   string
	Draw func() app.UI
}

// CompoID tells pages apart.
func (g *page) CompoID() string { return g.ID }

// OnMount begins at the top and puts the focus on the page's heading, so that
// a reader of the screen hears where it is.
func (g *page) OnMount(app.Context) {
	app.Window().Call("scrollTo", 0, 0)
	if h := app.Window().GetElementByID("title"); h.Truthy() {
		h.Call("focus", map[string]any{"preventScroll": true})
	}
}

// Render draws the page.
func (g *page) Render() app.UI { return g.Draw() }

// on makes an event handler with a scope of its own: the library takes
// handlers of one code address for equal, and would keep the first.
func (p *Phone) on(id string, f func(ctx app.Context, e app.Event)) (app.EventHandler, app.EventOption) {
	return func(ctx app.Context, e app.Event) { p.guard(func() { f(ctx, e) }) }, app.EventScope(id)
}

// button is the only way to make a button: its id is unique on the page and
// names what it does, and its handler is bound to it.
func (p *Phone) button(id, class, text string, f func()) app.HTMLButton {
	h, scope := p.on(id, func(app.Context, app.Event) { f() })
	return app.Button().ID(id).Type("button").Class("button", class).Text(text).OnClick(h, scope)
}

// row is a button that fills a line: a title and a line below.
func (p *Phone) row(id, class, title, sub string, f func()) app.UI {
	h, scope := p.on(id, func(app.Context, app.Event) { f() })
	return app.Button().ID(id).Type("button").Class("row", class).OnClick(h, scope).Body(
		app.Span().Class("row-title").Text(title),
		when(sub != "", func() app.UI { return app.Span().Class("row-sub").Text(sub) }),
	)
}

// choice is one of several buttons of which one holds.
func (p *Phone) choice(id, text string, holds bool, f func()) app.UI {
	pressed := "false"
	class := ""
	if holds {
		pressed, class = "true", "chosen"
	}
	return p.button(id, "choice "+class, text, f).Aria("pressed", pressed)
}

// choices are several of them under a heading.
func (p *Phone) choices(id, label string, list ...app.UI) app.UI {
	return app.Div().Class("choices").Attr("role", "group").Aria("labelledby", id+"-label").Body(
		append([]app.UI{app.P().ID(id + "-label").Class("label").Text(label)}, list...)...)
}

// title is the page's heading.
func title(text string) app.UI {
	return app.H1().ID("title").Class("title").TabIndex(-1).Text(text)
}

func para(class, text string) app.UI {
	return when(text != "", func() app.UI { return app.P().Class(class).Text(text) })
}

func paras(class string, list []string) app.UI {
	return app.IfSlice(len(list) > 0, func() []app.UI {
		var out []app.UI
		for _, s := range list {
			out = append(out, app.P().Class(class).Text(s))
		}
		return out
	})
}

func items(class string, list []string) app.UI {
	return when(len(list) > 0, func() app.UI {
		var out []app.UI
		for _, s := range list {
			out = append(out, app.Li().Text(s))
		}
		return app.Ul().Class("list", class).Body(out...)
	})
}

func numbered(list []string) app.UI {
	var out []app.UI
	for _, s := range list {
		out = append(out, app.Li().Text(s))
	}
	return app.Ol().Class("steps").Body(out...)
}

func when(yes bool, f func() app.UI) app.UI { return app.If(yes, f) }

// bar holds the buttons at the bottom, the main one at the free hand's corner.
func bar(list ...app.UI) app.UI { return app.Div().Class("bar").Body(list...) }

// callLinks are the numbers to call.
func (p *Phone) callLinks() app.UI {
	_, number := p.a.clinic()
	after := p.a.day.Plan.Contact.AfterHours
	return app.Div().Class("calls").Body(
		when(number != "", func() app.UI { return callLink("call-clinic", "call", p.a.t(words.CallClinic), number) }),
		when(after != "" && after != number, func() app.UI { return callLink("call-after", "call-second", p.a.t(words.AfterHours), after) }),
		when(number == "", func() app.UI { return app.P().Text(p.a.t(words.HelpNoNumber)) }),
	)
}

// callLink is a number to call. The target keeps the library from taking the
// tap for a change of its own address.
func callLink(id, class, text, number string) app.UI {
	return app.A().ID(id).Class("call-link", class).Href("tel:"+dialled(number)).Target("_blank").Rel("noopener").Body(
		app.Span().Class("call-text").Text(text),
		app.Span().Class("call-number").Text(number),
	)
}

// dialled keeps what a phone dials.
func dialled(number string) string {
	var b strings.Builder
	for _, r := range number {
		if r >= '0' && r <= '9' || r == '+' || r == '*' || r == '#' {
			b.WriteRune(r)
		}
	}
	return b.String()
}

// typed is what stands in the field that sent an event.
func typed(ctx app.Context) string { return ctx.JSSrc().Get("value").String() }

package screen

import (
	"strings"

	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/figure"
	"unsling/app/words"
	"unsling/engine/rom"
)

func (p *Phone) drawFirst() app.UI {
	a := p.a
	v := a.viewFirst()
	head := []app.UI{para("lead", v.Step), title(v.Title)}
	body := []app.UI{paras("text", v.Text)}
	next := p.button("next", "main-button", a.t(words.Next), a.firstNext)
	back := when(v.Back, func() app.UI { return p.button("back", "quiet", a.t(words.Back), a.firstBack) })
	foot := bar(back, next)
	switch v.Page {
	case firstWelcome:
		var list []app.UI
		for _, l := range words.Langs {
			list = append(list, p.choice("lang-"+string(l), l.Name(), a.lang() == l, func() { a.chooseLanguage(l) }))
		}
		body = append([]app.UI{p.choices("lang", a.t(words.FirstLang), list...)}, body...)
	case firstSafety:
		body = []app.UI{items("safety", v.Text)}
		foot = bar(back, p.button("next", "main-button", a.t(words.SafeOk), a.firstNext))
	case firstConsent:
		body = append([]app.UI{
			app.Section().Class("block").Body(app.H2().Text(a.t(words.ConsentGoes)), items("plain", v.Goes)),
			app.Section().Class("block").Body(app.H2().Text(a.t(words.ConsentStays)), items("plain", v.Stays)),
		}, body...)
		foot = bar(back, p.button("next", "main-button", a.t(words.ConsentYes), a.firstNext))
	case firstWho:
		next := a.t(words.WhoSkip)
		if v.Shared || strings.TrimSpace(v.Letters) != "" {
			next = a.t(words.Next)
		}
		h, scope := p.on("letters-input", func(ctx app.Context, _ app.Event) { a.first.letters, a.first.problem = typed(ctx), "" })
		body = append(body,
			app.Div().Class("field").Body(
				app.Label().For("letters").Class("label").Text(a.t(words.WhoField)),
				app.Input().ID("letters").Class("letters").Type("text").AutoComplete(false).Attr("autocapitalize", "characters").
					Attr("spellcheck", "false").Attr("maxlength", "6").Value(v.Letters).OnInput(h, scope)),
			para("notice alert", v.Problem))
		foot = bar(back, p.button("next", "main-button", next, a.firstNext))
	case firstSide:
		if v.Wrong {
			head = []app.UI{app.H1().ID("title").Class("title", "danger").TabIndex(-1).Text(v.Title)}
			body = append(body, p.callLinks())
			foot = bar(p.button("side-again", "quiet", a.t(words.SideAgain), a.sideAgain))
			break
		}
		body = append(body, app.Div().Class("sides").Body(
			p.sideButton(rom.Right, a.t(words.SideRight)), p.sideButton(rom.Left, a.t(words.SideLeft))))
		foot = bar(back)
	case firstHand:
		body = append(body, app.Div().Class("pair-buttons").Body(
			p.choice("hand-left", a.t(words.HandLeft), a.prefs.FreeHand == rom.Left, func() { a.chooseHand(rom.Left) }),
			p.choice("hand-right", a.t(words.HandRight), a.prefs.FreeHand == rom.Right, func() { a.chooseHand(rom.Right) })))
	case firstSound:
		body = append(body,
			when(v.NoVoice, func() app.UI { return app.P().Class("text").Text(a.t(words.SoundNone)) }),
			p.button("play", "wide", a.t(words.SoundPlay), a.playSound),
			when(v.Played, func() app.UI { return p.button("silent", "wide quiet", a.t(words.SoundNo), a.hearNothing) }),
			when(v.Silent, func() app.UI { return app.P().Class("notice").Text(a.t(words.SoundHint)) }))
		if v.Played && !v.Silent {
			foot = bar(back, p.button("next", "main-button", a.t(words.SoundYes), a.firstNext))
		}
	case firstInstall:
		body = append(body,
			when(len(v.Steps) > 0, func() app.UI { return p.installSteps(v.Steps, v.Pictures) }),
			when(v.CanAsk && !v.Installed, func() app.UI { return p.button("install", "wide", a.t(words.InstallButton), a.install) }))
		if !v.Installed {
			foot = bar(back, p.button("next", "main-button", a.t(words.InstallLater), a.firstNext))
		}
	case firstKeep:
		body = append(body,
			p.button("persist", "wide", a.t(words.KeepAsk), a.askPersist),
			app.P().ID("persist-answer").Class("notice").Attr("role", "status").Text(v.AnswerSay))
		foot = bar(back, p.button("next", "main-button", a.t(words.Next), a.firstNext))
	}
	return app.Div().Class("page").Body(append(append(head, body...), foot)...)
}

// installSteps are the steps with a drawn screen beside each.
func (p *Phone) installSteps(steps, pictures []string) app.UI {
	var out []app.UI
	for i, s := range steps {
		out = append(out, app.Li().Class("pictured", "install").Body(svg(pictures[i], "install-picture"), app.P().Text(itoa(i+1)+". "+s)))
	}
	return app.Ol().Class("pictured-steps").Body(out...)
}

// sideButton is one shoulder on the figure. The body faces the patient like a
// picture of another person: the words say whose side it is.
func (p *Phone) sideButton(side rom.Side, text string) app.UI {
	id := "side-" + string(side)
	h, scope := p.on(id, func(app.Context, app.Event) { p.a.tapSide(side) })
	return app.Button().ID(id).Type("button").Class("side").OnClick(h, scope).Body(
		svg(figure.SideChoice(side, p.a.figureWords(text)), "side-figure"),
		app.Span().Class("side-text").Text(text))
}

package screen

import (
	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/words"
	"unsling/engine/rom"
)

func (p *Phone) drawWeekly() app.UI {
	a := p.a
	v := a.viewWeekly()
	switch a.weekly.step {
	case "ask":
		return p.drawAskForVisit(v)
	case "night":
		return p.drawNights(v)
	}
	block := func(head string, list []string) app.UI {
		return app.Section().Class("block").Body(app.H2().Text(head), items("", list))
	}
	return app.Div().Class("page").Body(
		title(a.t(words.WeekTitle)),
		block(a.t(words.WeekWell), v.Well),
		when(v.Night, func() app.UI {
			return p.row("nights", "task", a.t(words.WeekNight), a.t(words.WeekNightSub), a.askNights)
		}),
		when(v.Told != "", func() app.UI {
			return app.Section().Class("block").Body(app.H2().Text(a.t(words.WeekNight)), app.P().Text(v.Told))
		}),
		block(a.t(words.WeekChanges), v.Changes),
		app.Section().Class("block").Body(app.H2().Text(a.t(words.WeekVisit)), app.P().Text(v.Visit)),
		app.Section().Class("block").Body(
			app.H2().Text(a.t(words.WeekTake)),
			when(len(v.Take) == 0, func() app.UI { return app.P().Text(a.t(words.WeekTakeNone)) }),
			app.Div().Class("rows").Body(p.questions(v.Take)...),
			p.button("ask-visit", "wide quiet", a.t(words.WeekAsk), a.askForVisit),
		),
		para("status", a.t(words.SurgeonRule)),
		bar(p.button("back", "quiet", a.t(words.Back), a.weeklyBack)),
	)
}

func (p *Phone) questions(list []noteView) (out []app.UI) {
	for _, n := range list {
		out = append(out, app.Div().Class("note own").Body(
			app.P().Class("note-head").Text(n.Head), app.P().Class("note-text").Text(n.Text), para("status", n.State)))
	}
	return out
}

func (p *Phone) drawAskForVisit(v weeklyView) app.UI {
	a := p.a
	return app.Div().Class("page").Body(
		title(a.t(words.WeekAsk)),
		para("text", a.t(words.WeekAskLead)),
		p.area("visit-text", a.t(words.WeekAskLabel), func(s string) { a.weekly.text = s }),
		para("notice alert", v.Problem),
		bar(p.button("back", "quiet", a.t(words.Back), a.weeklyBack),
			p.button("keep-visit", "main-button", a.t(words.WeekAskKeep), a.keepForVisit)),
	)
}

func (p *Phone) drawNights(v weeklyView) app.UI {
	a := p.a
	s := a.weekly
	var pains []app.UI
	for n := 0; n <= 10; n++ {
		id := "night-" + itoa(n)
		h, scope := p.on(id, func(app.Context, app.Event) { a.setNight(n) })
		word, class, pressed := "", "pain", "false"
		switch n {
		case 0:
			word = a.t(words.PainNone)
		case 10:
			word = a.t(words.PainWorst)
		}
		if n == s.night {
			class, pressed = "pain chosen", "true"
		}
		pains = append(pains, app.Button().ID(id).Type("button").Class(class).Aria("pressed", pressed).OnClick(h, scope).Body(
			app.Span().Class("pain-number").Text(itoa(n)),
			when(word != "", func() app.UI { return app.Span().Class("pain-word").Text(word) })))
	}
	var nights []app.UI
	for _, x := range []rom.Sleep{rom.SleptWell, rom.SleptWoke, rom.SleptBad} {
		nights = append(nights, p.choice("sleep-"+string(x), words.Sleep(a.lang(), x), s.sleep == x, func() { a.setSleep(x) }))
	}
	ready := s.night >= 0 && s.sleep != ""
	return app.Div().Class("page").Body(
		title(a.t(words.WeekNight)),
		app.Section().Class("block").Body(
			app.H2().ID("night-label").Text(a.t(words.WeekNightAsk)),
			app.Div().Class("pains").Attr("role", "group").Aria("labelledby", "night-label").Body(pains...)),
		p.choices("sleep", a.t(words.WeekSleepAsk), nights...),
		p.choices("medicine", a.t(words.WeekMedAsk),
			p.choice("medicine-yes", a.t(words.YesWord), s.med != nil && *s.med, func() { a.setMedicine(true) }),
			p.choice("medicine-no", a.t(words.NoWord), s.med != nil && !*s.med, func() { a.setMedicine(false) })),
		para("notice alert", v.Problem),
		bar(p.button("back", "quiet", a.t(words.Back), a.weeklyBack),
			p.button("keep-nights", "main-button", a.t(words.WeekAskKeep), a.keepNights).Disabled(!ready)),
	)
}

package screen

import (
	"strings"

	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/figure"
	"unsling/app/words"
	"unsling/engine/rom"
)

func (p *Phone) drawNow() app.UI {
	a := p.a
	v := a.viewNow()
	class := "lead-title"
	if v.Urgent {
		class = "lead-title danger"
	}
	return app.Div().Class("page").Body(
		app.Div().Class("day").Body(
			para("lead", v.Lead),
			when(len(v.Chips) > 0, func() app.UI {
				var out []app.UI
				for _, c := range v.Chips {
					out = append(out, app.Span().Class("chip").Text(c))
				}
				return app.P().Class("chips").Body(out...)
			}),
		),
		app.H1().ID("title").Class("title", class).TabIndex(-1).Text(v.Title),
		para("since", v.Since),
		paras("text", v.Text),
		when(v.Calls, p.callLinks),
		p.drawTasks("urgent-row", v.Danger),
		when(v.Card != nil, func() app.UI { return p.drawCard(v.Card) }),
		when(v.Note != nil, func() app.UI { return p.drawNoteCard(*v.Note) }),
		p.drawTasks("task", v.Tasks),
		when(len(v.May) > 0, func() app.UI {
			return app.Section().Class("block").Body(app.H2().Text(a.t(words.ArmMay)), items("may", v.May))
		}),
		when(len(v.MustNot) > 0, func() app.UI {
			return app.Section().Class("block").Body(app.H2().Text(a.t(words.ArmMustNot)), items("must-not", v.MustNot))
		}),
		para("sling", v.Sling),
		p.drawWatch(v.Watch),
		app.Nav().Class("rows").Body(p.taskRows("", v.Ways)...),
		when(v.Update, func() app.UI {
			return p.row("update", "task", a.t(words.UpdateReady), a.t(words.UpdateNow), a.update)
		}),
		app.P().ID("status").Class("status").Text(a.statusLine()),
		when(v.Main != "", func() app.UI {
			return app.Div().Class("bar-holder").Body(para("tip", v.Tip), bar(p.button("start", "main-button", v.Main, a.startMain)))
		}),
		when(v.Main == "" && v.Tip != "", func() app.UI { return app.P().Class("tip").Text(v.Tip) }),
	)
}

func (p *Phone) drawCard(c *sessionCard) app.UI {
	a := p.a
	return app.Section().Class("card").Body(
		app.H2().Class("kicker").Text(c.Kicker),
		app.P().Class("card-when").Text(c.When),
		para("card-about", c.About),
		when(c.First != "", func() app.UI {
			w := a.figureWords(words.ExerciseName(a.lang(), c.First))
			w.Room = figure.Half
			return svg(figure.Exercise(c.First, a.day.Episode.Side, 1, a.marksFor(c.First), w), "card-figure")
		}),
		para("names", strings.Join(c.Names, " · ")),
	)
}

// marksFor are the aim and limit of the motion that an exercise serves today,
// for the class of the exercise.
func (a *App) marksFor(e rom.ExerciseID) figure.Marks {
	var m figure.Marks
	for _, x := range a.day.Phase.Prescriptions {
		if x.Exercise != e || x.Motion == "" {
			continue
		}
		if row, aim, ok := a.day.LimitFor(x); ok {
			m.Limit, m.Aim = figure.At(row.Ceiling), figure.At(aim)
		}
	}
	return m
}

func (p *Phone) drawTasks(class string, list []task) app.UI {
	return when(len(list) > 0, func() app.UI {
		return app.Div().Class("rows").Body(p.taskRows(class, list)...)
	})
}

func (p *Phone) taskRows(class string, list []task) []app.UI {
	var out []app.UI
	for _, t := range list {
		do := t.Go
		if do == nil {
			do = func() { p.a.goTo(PlaceMeasure) }
		}
		out = append(out, p.row(t.ID, class, t.Text, t.Sub, do))
	}
	return out
}

// mayIPairs are questions with their answers.
func (p *Phone) mayIPairs(list []mayI) app.UI {
	return when(len(list) > 0, func() app.UI {
		var out []app.UI
		for _, m := range list {
			out = append(out, app.Div().Class("pair", "answer-"+m.Class).Body(app.Dt().Text(m.What), app.Dd().Text(m.Answer)))
		}
		return app.Dl().Class("pairs").Body(out...)
	})
}

func (p *Phone) drawNoteCard(n noteView) app.UI {
	return app.Section().Class("card", "note").Body(
		app.H2().Class("kicker").Text(n.Head),
		app.P().Class("note-text").Text(n.Text),
		para("status", n.State),
	)
}

func (p *Phone) drawLimits() app.UI {
	a := p.a
	v := a.viewLimits()
	list := func(rows []limitRow) app.UI {
		var out []app.UI
		for _, r := range rows {
			out = append(out, app.Div().Class("pair").Body(
				app.Dt().Body(app.Span().Class("row-title").Text(r.Name), app.Span().Class("row-sub").Text(r.Sub)),
				app.Dd().Class("number").Text(r.Value)))
		}
		return app.Dl().Class("pairs").Body(out...)
	}
	return app.Div().Class("page").Body(
		title(a.t(words.LimitsTitle)),
		para("danger", v.Lead),
		when(len(v.May) > 0, func() app.UI {
			return app.Section().Class("block").Body(app.H2().Text(a.t(words.ArmMay)), list(v.May))
		}),
		when(len(v.MustNot) > 0, func() app.UI {
			return app.Section().Class("block").Body(app.H2().Text(a.t(words.ArmMustNot)), items("must-not", v.MustNot))
		}),
		when(len(v.Locked) > 0, func() app.UI {
			return app.Section().Class("block").Body(app.H2().Text(a.t(words.MeasureLocked)), list(v.Locked))
		}),
		para("status", a.t(words.SurgeonRule)),
		bar(p.button("back", "main-button", a.t(words.Back), func() { a.goTo(PlaceNow) })),
	)
}

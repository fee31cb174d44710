package screen

import (
	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/words"
	"unsling/engine/rom"
)

func (p *Phone) drawMeasure() app.UI {
	switch p.a.measure.step {
	case stepHow:
		return p.drawHow()
	case stepSetUp:
		return p.drawSetUp()
	case stepPhoto:
		return p.drawMarks()
	case stepTilt:
		return p.drawTilt()
	case stepLevel:
		return p.drawBack()
	case stepResult:
		return p.drawResult()
	}
	return p.drawChoose()
}

func (p *Phone) measureBar(list ...app.UI) app.UI {
	return bar(append([]app.UI{p.button("back", "quiet", p.a.t(words.Back), p.a.measureBack)}, list...)...)
}

func (p *Phone) drawChoose() app.UI {
	a := p.a
	v := a.viewMeasureList()
	group := func(head string, list []measureRow) app.UI {
		return when(len(list) > 0, func() app.UI {
			out := []app.UI{}
			for _, r := range list {
				out = append(out, p.row("measure-"+string(r.Motion)+"-"+string(r.Side), "", r.Name, r.Sub, func() { a.chooseRow(r.Motion, r.Side) }))
			}
			return app.Section().Class("block").Body(app.H2().Text(head), app.Div().Class("rows").Body(out...))
		})
	}
	return app.Div().Class("page").Body(
		title(a.t(words.MeasureTitle)),
		p.whose(),
		para("danger", v.Danger),
		group(v.AskedHead, v.Asked),
		group(v.OthersHead, v.Others),
		when(len(v.Locked) > 0, func() app.UI {
			var out []app.UI
			for _, r := range v.Locked {
				out = append(out, app.Div().Class("pair").Body(app.Dt().Body(
					app.Span().Class("row-title").Text(r.Name), app.Span().Class("row-sub").Text(r.Why)), app.Dd()))
			}
			return app.Section().Class("block").Body(app.H2().Text(a.t(words.MeasureLocked)), app.Dl().Class("pairs").Body(out...))
		}),
		p.measureBar(),
	)
}

func (p *Phone) drawHow() app.UI {
	a := p.a
	var rows []app.UI
	for i, w := range a.measure.ways {
		name, sub := a.t(words.ByPhoto), a.t(words.ByPhotoSub)
		id := "way-" + string(w.Method)
		switch {
		case w.Method == rom.Tilt:
			name, sub = a.t(words.ByTilt), a.t(words.ByTiltSub)
		case w.Method == rom.LevelMethod && len(w.Landmarks) == 0:
			name, sub, id = a.t(words.ByBack), a.t(words.ByBackSub), "way-back"
		case w.Method == rom.LevelMethod:
			name, sub, id = a.t(words.ByBehind), a.t(words.ByBehindSub), "way-behind"
		}
		rows = append(rows, p.row(id, "", name, sub, func() { a.chooseWay(i) }))
	}
	return app.Div().Class("page").Body(
		title(a.t(words.HowTitle)),
		para("text", words.Capital(words.Motion(a.lang(), a.measure.motion))),
		app.Div().Class("rows").Body(rows...),
		p.measureBar(),
	)
}

func (p *Phone) drawSetUp() app.UI {
	a := p.a
	v := a.viewSetUp()
	video := app.Video().ID(videoID).Class("camera", shownIf(v.Live)).Muted(true).Attr("playsinline", "true").Aria("label", a.t(words.PhotoTake))
	if v.Live {
		return app.Div().Class("page", "live").Body(
			app.H1().ID("title").Class("mark-title").TabIndex(-1).Text(a.t(words.PhotoFrame)),
			video, // nothing that comes and goes before it: it would be made anew, and dark
			para("notice alert", v.Trouble),
			p.drawLevel(v.Level),
			when(v.Countdown != "", func() app.UI { return app.P().Class("wait").Text(v.Countdown) }),
			when(v.Countdown == "" && !v.Helper, func() app.UI {
				return p.button("self-timer", "wide quiet", a.t(words.PhotoAlone), a.selfTimer)
			}),
			p.measureBar(p.button("take", "main-button", a.t(words.PhotoHelper), a.takePhoto)))
	}
	out := []app.UI{
		para("lead", v.Trial), title(v.Title), para("danger", v.Danger), para("notice alert", v.Trouble),
		video,
		svg(v.Figure, "figure"),
		items("plain", v.Lines), items("watch", v.Watch),
		when(v.Stand != "", func() app.UI {
			return app.Section().Class("block").Body(app.H2().Text(a.t(words.HelperTitle)), svg(v.Stand, "figure"), items("plain", v.StandLines))
		}),
	}
	switch {
	case v.Photo:
		h, scope := p.on("file", func(ctx app.Context, _ app.Event) { a.fileChosen() })
		out = append(out,
			para("status", a.t(words.PhotoStays)),
			app.Label().For(fileID).Class("button wide quiet file").Text(a.t(words.PhotoChoose)),
			app.Input().ID(fileID).Class("unseen").Type("file").Accept("image/*").OnChange(h, scope),
			p.measureBar(p.button("open-camera", "main-button", a.t(words.PhotoTake), a.openCamera)))
	default:
		out = append(out, para("status", a.t(words.TiltAllow)),
			p.measureBar(p.button("start-tilt", "main-button", a.t(words.TiltStart), a.startTilt)))
	}
	return app.Div().Class("page").Body(out...)
}

// drawLevel is the spirit level under the camera's picture: a line that turns
// with the phone, and what to do in words.
func (p *Phone) drawLevel(v levelView) app.UI {
	class := "level"
	if v.Good {
		class = "level good"
	}
	if v.Bad {
		class = "level bad"
	}
	return app.Div().ID("level").Class(class).Body(
		when(v.On, func() app.UI { return svg(levelSVG(v.Roll, v.Pitch), "level-picture") }),
		app.P().Text(v.Text))
}

func shownIf(yes bool) string {
	if yes {
		return "shown"
	}
	return "gone"
}

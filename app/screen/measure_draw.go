package screen

import (
	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/figure"
	"unsling/app/words"
	"unsling/engine/gonio"
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
		return p.drawLevels()
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
		para("danger", v.Danger),
		group(a.t(words.MeasureAsked), v.Asked),
		group(a.t(words.MeasureOthers), v.Others),
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
		if w.Method == rom.Tilt {
			name, sub = a.t(words.ByTilt), a.t(words.ByTiltSub)
		}
		rows = append(rows, p.row("way-"+string(w.Method), "", name, sub, func() { a.chooseWay(i) }))
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
	s := a.measure
	w := a.figureWords(v.Title)
	w.Now = a.t(words.AimWord)
	out := []app.UI{
		para("lead", v.Trial), title(v.Title), para("danger", v.Danger), para("notice alert", v.Trouble),
		app.Video().ID(videoID).Class("camera", shownIf(v.Live)).Muted(true).Attr("playsinline", "true").Aria("label", a.t(words.PhotoTake)),
	}
	if !v.Live {
		out = append(out,
			svg(figure.MeasureIn(s.motion, s.way.Position, s.side, a.setUpMarks(), w), "figure"),
			items("plain", v.Lines), items("watch", v.Watch))
	}
	switch {
	case v.Live:
		out = append(out, para("wait", v.Countdown),
			p.button("self-timer", "wide quiet", a.t(words.PhotoSelf), a.selfTimer),
			p.measureBar(p.button("take", "main-button", a.t(words.PhotoTake), a.takePhoto)))
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

// setUpMarks show where to stop, before anything was measured.
func (a *App) setUpMarks() figure.Marks {
	limit, ok := a.limitFor(a.measure.motion, a.measure.side)
	if !ok || limit.Open {
		return figure.Marks{}
	}
	m := figure.Marks{Limit: figure.At(limit.Ceiling)}
	if aim, ok := gonio.AimLine(limit, errorOf(a.measure.motion)); ok {
		m.Now = figure.At(aim) // no picture shows an arm past the limit
	}
	return m
}

func shownIf(yes bool) string {
	if yes {
		return "shown"
	}
	return "gone"
}

// drawMarks is the photograph with its marks: drag, tap, arrow keys or buttons.
func (p *Phone) drawMarks() app.UI {
	a := p.a
	v := a.viewMarks()
	ph := a.measure.photo
	n := len(a.measure.way.Landmarks)
	pointer := func(phase string) (app.EventHandler, app.EventOption) {
		return p.on("marks-"+phase, func(ctx app.Context, e app.Event) { p.pointer(ctx, e, phase) })
	}
	down, s1 := pointer("down")
	move, s2 := pointer("move")
	up, s3 := pointer("up")
	gone, s4 := pointer("cancel")
	keys, s5 := p.on("marks-key", func(ctx app.Context, e app.Event) { p.markKey(e) })
	return app.Div().Class("page", "marking").Body(
		para("lead", v.Trial),
		app.H1().ID("title").Class("mark-title").TabIndex(-1).Text(v.Sentence),
		app.P().ID("angle").Class("angle-now").Text(v.Angle),
		app.Div().ID("photo").Class("photo").TabIndex(0).Attr("role", "slider").
			Aria("label", a.t(words.MarksOnPhoto)).Aria("valuemin", "-60").Aria("valuemax", "200").
			Aria("valuenow", itoa(v.Value)).Aria("valuetext", v.Sentence+". "+v.Angle).
			On("pointerdown", down, s1).On("pointermove", move, s2).On("pointerup", up, s3).On("pointercancel", gone, s4).
			OnKeyDown(keys, s5).Body(
			app.Img().Class("photo-image").Src(ph.picture.URL).Alt(a.t(words.MarksOnPhoto)).Attr("draggable", "false"),
			svg(marksSVG(ph.marks, n, ph.at, ph.picture.highest()), "marks-over"),
		),
		paras("notice", v.Warnings),
		para("hint", v.Hint),
		app.Div().Class("nudges").Body(
			p.button("mark-up", "nudge", "↑", func() { a.nudge(0, -1) }).Aria("label", a.t(words.MarkUp)),
			p.button("mark-left", "nudge", "←", func() { a.nudge(-1, 0) }).Aria("label", a.t(words.MarkLeft)),
			p.button("mark-down", "nudge", "↓", func() { a.nudge(0, 1) }).Aria("label", a.t(words.MarkDown)),
			p.button("mark-right", "nudge", "→", func() { a.nudge(1, 0) }).Aria("label", a.t(words.MarkRight)),
			p.choice("mark-fine", a.t(words.MarkFine), v.Fine, func() { a.measure.photo.fine = !a.measure.photo.fine }),
			p.button("mark-next", "quiet", a.t(words.MarkOther), a.nextMark),
		),
		p.measureBar(p.button("use-angle", "main-button", a.t(words.AngleUse), a.useAngle).Disabled(!v.HasAngle)),
	)
}

// pointer turns a place on the screen into thousandths of the picture's width.
func (p *Phone) pointer(ctx app.Context, e app.Event, phase string) {
	if phase == "move" && !p.a.measure.photo.drag {
		ctx.PreventUpdate()
		return
	}
	box := ctx.JSSrc().Call("getBoundingClientRect")
	if !box.Truthy() {
		return
	}
	width := box.Get("width").Float()
	if width <= 0 {
		return
	}
	x := (e.Get("clientX").Float() - box.Get("left").Float()) * 1000 / width
	y := (e.Get("clientY").Float() - box.Get("top").Float()) * 1000 / width
	if phase == "down" {
		ctx.JSSrc().Call("setPointerCapture", e.Get("pointerId"))
	}
	p.a.dragMark(phase, int(x+0.5), int(y+0.5))
}

// markKey moves marks by the arrow keys; Enter and space choose the next one.
func (p *Phone) markKey(e app.Event) {
	a := p.a
	switch e.Get("key").String() {
	case "ArrowUp":
		a.nudge(0, -1)
	case "ArrowDown":
		a.nudge(0, 1)
	case "ArrowLeft":
		a.nudge(-1, 0)
	case "ArrowRight":
		a.nudge(1, 0)
	case "Enter", " ":
		a.nextMark()
	default:
		return
	}
	e.PreventDefault()
}

func (p *Phone) drawTilt() app.UI {
	a := p.a
	v := a.viewTilt()
	return app.Div().Class("page", "run").Body(
		para("lead", v.Trial),
		title(v.Title),
		app.P().Class("big").Text(v.Where),
		when(v.Wait != "", func() app.UI { return app.P().Class("wait").Text(v.Wait) }),
		when(v.Wait == "", func() app.UI { return app.P().Class("wait").Text(v.State) }),
		app.Progress().Class("run-bar", "steady").Max("1000").Value(itoa(v.Full)).Aria("label", a.t(words.TiltSteady)),
		para("notice", v.Problem),
		p.measureBar(p.button("take-tilt", "main-button", a.t(words.TiltTake), a.takeTilt)),
	)
}

// levelsShown are the places a hand can be felt to reach, from low to high.
var levelsShown = []rom.Level{rom.LevelThigh, rom.LevelButtock, rom.LevelSacrum, rom.LevelL5, rom.LevelL3, rom.LevelT12, 10, rom.LevelT7, 5}

func (p *Phone) drawLevels() app.UI {
	a := p.a
	var rows []app.UI
	for _, l := range levelsShown {
		rows = append(rows, p.row("level-"+itoa(int(l)), "", words.Capital(words.Level(a.lang(), l)), "", func() { a.chooseLevel(l) }))
	}
	return app.Div().Class("page").Body(
		title(a.t(words.ByLevelHow)),
		para("danger", a.t(words.DangerFirst)),
		app.Div().Class("rows").Body(rows...),
		p.measureBar(),
	)
}

func (p *Phone) drawResult() app.UI {
	a := p.a
	v := a.viewResult()
	if v.More {
		return app.Div().Class("page", "result").Body(
			para("lead", v.Trial), title(v.Title),
			app.P().ID("value").Class("huge").Text(v.Value),
			paras("notice", v.Warnings),
			p.button("keep-now", "wide quiet", a.t(words.TrialKeep), a.finishReading),
			p.measureBar(p.button("more", "main-button", a.t(words.TrialMore), a.moreTrials)),
		)
	}
	done := func() { a.measureLeave() }
	return app.Div().Class("page", "result").Body(
		when(v.Alert != "", func() app.UI {
			return app.Div().Class("stop-box").Attr("role", "alert").Body(app.P().Class("danger big").Text(v.Alert), para("text", v.AlertSub))
		}),
		when(v.Calls, p.callLinks),
		title(v.Title),
		app.P().ID("value").Class("huge").Text(v.Value),
		app.P().ID("error").Class("error-of").Text(v.Error),
		paras("text", v.Sentences),
		paras("notice", v.Warnings),
		when(v.Figure != "" && !v.Calls, func() app.UI { return svg(v.Figure, "figure") }),
		app.P().ID("kept").Class(keptClass(v.Retry)).Attr("role", "status").Text(v.Status),
		when(v.Retry, func() app.UI { return p.button("retry", "wide", a.t(words.TryAgain), a.retryReading) }),
		bar(p.button("done", "main-button", a.t(words.Done), done)),
	)
}

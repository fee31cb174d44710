package screen

import (
	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/words"
)

// drawMarks is the photograph with its marks: drag, tap, arrow keys or
// buttons. Everything needed stands on one small screen, and the picture has
// all the room that the rest of it leaves.
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
	return app.Div().Class("page", "marking", "protractor").Body(
		para("lead", v.Trial),
		app.H1().ID("title").Class("mark-title").TabIndex(-1).Text(v.Name),
		app.Div().Class("photo-room").Body(app.Div().ID("photo").Class("photo").TabIndex(0).Attr("role", "slider").
			Aria("label", a.t(words.MarksOnPhoto)).Aria("valuemin", "-60").Aria("valuemax", "200").
			Aria("valuenow", itoa(v.Value)).Aria("valuetext", v.Sentence+". "+v.Angle).
			On("pointerdown", down, s1).On("pointermove", move, s2).On("pointerup", up, s3).On("pointercancel", gone, s4).
			OnKeyDown(keys, s5).Body(
			app.Img().Class("photo-image").Src(ph.picture.URL).Alt(a.t(words.MarksOnPhoto)).Attr("draggable", "false"),
			svg(marksSVG(ph.marks, n, ph.at, ph.picture.highest()), "marks-over"),
			p.drawLoupe(),
		)),
		app.Div().Class("nudges").Body(
			p.button("mark-left", "nudge", "←", func() { a.nudge(-1, 0) }).Aria("label", a.t(words.MarkLeft)),
			p.button("mark-up", "nudge", "↑", func() { a.nudge(0, -1) }).Aria("label", a.t(words.MarkUp)),
			p.button("mark-down", "nudge", "↓", func() { a.nudge(0, 1) }).Aria("label", a.t(words.MarkDown)),
			p.button("mark-right", "nudge", "→", func() { a.nudge(1, 0) }).Aria("label", a.t(words.MarkRight)),
			p.button("mark-next", "nudge word", a.t(words.MarkNextShort), a.nextMark).Aria("label", a.t(words.MarkOther)),
			p.drawAngle(v),
			p.choice("mark-fine", a.t(words.MarkFine), v.Fine, func() { a.measure.photo.fine = !a.measure.photo.fine }),
		),
		paras("notice", v.Warnings),
		p.measureBar(p.button("use-angle", "main-button", v.Use, a.useAngle).Disabled(!v.HasAngle)),
		para("hint", v.Hint),
	)
}

// drawAngle is the angle between the buttons that change it by one degree; in
// words what to do, or the place, where there is no angle.
func (p *Phone) drawAngle(v markView) app.UI {
	a := p.a
	if !v.Complete || a.measure.motion.ByLevel() {
		text := v.Angle
		if !v.Complete {
			text = a.t(words.MarkTap)
		}
		return app.Div().Class("turn").Body(app.P().ID("angle").Class("angle-now").Text(text))
	}
	return app.Div().Class("turn").Body(
		p.button("angle-less", "nudge", "−1", func() { a.turnBy(-1) }).Aria("label", a.t(words.OneLess)).Disabled(!v.HasAngle),
		app.P().ID("angle").Class("angle-now number").Body(
			app.Span().Class("unseen").Text(v.Angle),
			when(v.HasAngle, func() app.UI { return app.Span().Aria("hidden", "true").Text(itoa(v.Value) + "°") })),
		p.button("angle-more", "nudge", "+1", func() { a.turnBy(1) }).Aria("label", a.t(words.OneMore)).Disabled(!v.HasAngle),
	)
}

// svgSpace is the name space of SVG elements that the library makes itself.
const svgSpace = "http://www.w3.org/2000/svg"

// loupeReach is half the width of what the loupe shows, in thousandths of the
// picture's width: it magnifies about four times.
const loupeReach = 60

// drawLoupe shows what lies under the finger: a patch around the mark at hand,
// magnified, with a cross-hair. It stands in the upper corner away from the
// finger. Its elements are the library's own, so that the picture in it is not
// loaded again with each move.
func (p *Phone) drawLoupe() app.UI {
	ph := p.a.measure.photo
	return when(ph.loupe && ph.at < len(ph.marks), func() app.UI {
		m, high := ph.marks[ph.at], ph.picture.highest()
		corner := "loupe-left"
		if m.X < 500 {
			corner = "loupe-right"
		}
		el := func(tag string) app.HTMLElem { return app.Elem(tag).XMLNS(svgSpace) }
		cross := func(class string) app.UI {
			return el("path").Attr("class", class).Attr("d", "M"+itoa(m.X-loupeReach)+" "+itoa(m.Y)+"H"+itoa(m.X+loupeReach)+
				"M"+itoa(m.X)+" "+itoa(m.Y-loupeReach)+"V"+itoa(m.Y+loupeReach))
		}
		return el("svg").ID("loupe").Attr("class", "loupe "+corner).Aria("hidden", "true").
			Attr("viewBox", itoa(m.X-loupeReach)+" "+itoa(m.Y-loupeReach)+" "+itoa(2*loupeReach)+" "+itoa(2*loupeReach)).Body(
			el("image").Attr("href", ph.picture.URL).Attr("x", "0").Attr("y", "0").Attr("width", "1000").Attr("height", itoa(high)).
				Attr("preserveAspectRatio", "none"),
			cross("loupe-under"), cross("loupe-cross"),
		)
	})
}

// pointerIn is where in the element of a handler its pointer is, in thousandths
// of the element's width; not ok while the element has no width.
func pointerIn(ctx app.Context, e app.Event) (x, y int, ok bool) {
	box := ctx.JSSrc().Call("getBoundingClientRect")
	if !box.Truthy() {
		return 0, 0, false
	}
	width := box.Get("width").Float()
	if width <= 0 {
		return 0, 0, false
	}
	right := (e.Get("clientX").Float() - box.Get("left").Float()) * 1000 / width
	down := (e.Get("clientY").Float() - box.Get("top").Float()) * 1000 / width
	return int(right + 0.5), int(down + 0.5), true
}

// pointer begins, moves or ends the drag of a mark.
func (p *Phone) pointer(ctx app.Context, e app.Event, phase string) {
	if phase == "move" && !p.a.measure.photo.drag {
		ctx.PreventUpdate()
		return
	}
	x, y, ok := pointerIn(ctx, e)
	if !ok {
		return
	}
	if phase == "down" {
		ctx.JSSrc().Call("setPointerCapture", e.Get("pointerId"))
	}
	p.a.dragMark(phase, x, y)
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

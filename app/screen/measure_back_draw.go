package screen

import (
	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/app/figure"
	"unsling/app/words"
)

// drawBack asks how high the thumb reaches, on a picture of the back. Buttons
// and arrow keys go from place to place; the list is its twin.
func (p *Phone) drawBack() app.UI {
	a := p.a
	s := a.measure
	tap, s1 := p.on("back-tap", func(ctx app.Context, e app.Event) { p.backTap(ctx, e) })
	keys, s2 := p.on("back-key", func(_ app.Context, e app.Event) {
		switch e.Get("key").String() {
		case "ArrowUp", "ArrowRight":
			a.movePlace(1)
		case "ArrowDown", "ArrowLeft":
			a.movePlace(-1)
		default:
			return
		}
		e.PreventDefault()
	})
	at := 0
	var rows []app.UI
	for i, l := range figure.Places {
		if l == s.place {
			at = i + 1
		}
		rows = append(rows, p.choice("level-"+itoa(int(l)), words.Capital(words.Level(a.lang(), l)), l == s.place, func() { a.setPlace(l) }))
	}
	w := figure.Words{Title: a.t(words.BackPicture)}
	return app.Div().Class("page", "marking").Body(
		app.H1().ID("title").Class("mark-title").TabIndex(-1).Text(a.t(words.ByLevelHow)),
		para("danger", a.dangerFirst()),
		app.P().ID("place").Class("angle-now").Text(a.placeSentence()),
		app.Div().ID("back-picture").Class("back-picture").TabIndex(0).Attr("role", "slider").
			Aria("label", a.t(words.BackPicture)).Aria("valuemin", "0").Aria("valuemax", itoa(len(figure.Places))).
			Aria("valuenow", itoa(at)).Aria("valuetext", a.placeSentence()).
			OnClick(tap, s1).OnKeyDown(keys, s2).Body(svg(figure.Spine(s.side, s.place, figure.Marks{}, w), "figure")),
		app.Div().Class("nudges two").Body(
			p.button("place-lower", "nudge", "↓ "+a.t(words.BackLower), func() { a.movePlace(-1) }),
			p.button("place-higher", "nudge", "↑ "+a.t(words.BackHigher), func() { a.movePlace(1) }),
		),
		p.measureBar(p.button("use-place", "main-button", a.t(words.BackUse), a.usePlace).Disabled(s.place == 0)),
		para("hint", a.t(words.BackTap)),
		app.Details().Class("twin").Body(app.Summary().Text(a.t(words.BackList)), app.Div().Class("choices").Body(rows...)),
	)
}

// backTap takes a tap on the picture of the back.
func (p *Phone) backTap(ctx app.Context, e app.Event) {
	if x, y, ok := pointerIn(ctx, e); ok {
		p.a.tapBack(x, y)
	}
}

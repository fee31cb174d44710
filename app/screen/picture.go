package screen

import (
	"strings"

	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/engine/rom"
)

// svg mounts a picture that app/figure or app/chart computed, or marksSVG. It
// is the only place where markup goes into a page as it stands: such pictures
// hold numbers, closed enumerations and escaped words of the catalogue.
func svg(markup, class string) app.UI {
	if !strings.HasPrefix(markup, "<svg ") {
		markup = `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1" aria-hidden="true"></svg>`
	}
	return app.Div().Class("picture", class).Body(app.Raw(markup))
}

// marksSVG draws the marks over a photograph and the lines between them, in
// thousandths of the picture's width. It prints numbers only.
func marksSVG(marks []rom.Point, total, at, high int) string {
	var b strings.Builder
	b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" class="marks" viewBox="0 0 1000 ` + itoa(high) + `" aria-hidden="true" focusable="false">`)
	line := func(i, j int) {
		if i < len(marks) && j < len(marks) {
			p, q := marks[i], marks[j]
			d := "M" + itoa(p.X) + " " + itoa(p.Y) + "L" + itoa(q.X) + " " + itoa(q.Y)
			b.WriteString(`<path class="mark-under" d="` + d + `"/><path class="mark-line" d="` + d + `"/>`)
		}
	}
	line(0, 1)
	if total == 3 {
		line(1, 2)
	} else {
		line(2, 3)
	}
	for i, p := range marks {
		class := "mark"
		if i == at {
			class = "mark mark-at"
		}
		x, y := itoa(p.X), itoa(p.Y)
		b.WriteString(`<g class="` + class + `"><circle cx="` + x + `" cy="` + y + `" r="34"/><circle class="mark-dot" cx="` + x + `" cy="` + y + `" r="5"/>` +
			`<text x="` + itoa(p.X+42) + `" y="` + itoa(p.Y-18) + `">` + itoa(i+1) + `</text></g>`)
	}
	b.WriteString(`</svg>`)
	return b.String()
}

// levelSVG draws a spirit level: the line lies level when the phone does, and
// the bubble rises when the camera looks up. It prints numbers only.
func levelSVG(roll, pitch int) string {
	roll, pitch = max(-45, min(roll, 45)), max(-45, min(pitch, 45))
	return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 120 60" aria-hidden="true" focusable="false">` +
		`<path class="level-zero" d="M4 30H44M76 30H116"/>` +
		`<g transform="rotate(` + itoa(-roll) + ` 60 30)"><path class="level-line" d="M22 30H98"/></g>` +
		`<circle class="level-ring" cx="60" cy="30" r="13"/><circle class="level-bubble" cx="60" cy="` + itoa(30+pitch/2) + `" r="7"/></svg>`
}

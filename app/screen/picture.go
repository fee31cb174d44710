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

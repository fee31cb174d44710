package screen

import (
	"html"
	"strings"

	"unsling/app/words"
)

// installPictures draws what each step of installing looks like on this kind
// of phone: a screen with the one place that is tapped.
func (a *App) installPictures() []string {
	k := a.about.Kind
	var out []string
	for i, t := range a.installSteps() {
		out = append(out, installSVG(k, i, t, a.t(words.AppName)))
	}
	return out
}

// installSVG draws one step. It prints numbers, fixed shapes and escaped words
// of the catalogue.
func installSVG(k Kind, at int, title, name string) string {
	var b strings.Builder
	b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" class="install-svg" role="img" viewBox="0 0 120 150"><title>` + html.EscapeString(title) + `</title>`)
	shape := func(class, d string) { b.WriteString(`<path class="` + class + `" d="` + d + `"/>`) }
	ring := func(x, y int) {
		b.WriteString(`<circle class="in-ring" cx="` + itoa(x) + `" cy="` + itoa(y) + `" r="13"/>`)
	}
	line := func(x, y, w int) { shape("in-line", "M"+itoa(x)+" "+itoa(y)+"h"+itoa(w)) }
	if k == Other {
		shape("in-frame", "M4 20h112v92h-112z")
	} else {
		shape("in-frame", "M32 4h56q8 0 8 8v126q0 8 -8 8h-56q-8 0 -8 -8v-126q0 -8 8 -8z")
	}
	switch {
	case at == 2:
		shape("in-icon", "M48 58h24q6 0 6 6v24q0 6 -6 6h-24q-6 0 -6 -6v-24q0 -6 6 -6z")
		b.WriteString(`<text class="in-text" text-anchor="middle" font-size="12" x="60" y="107">` + html.EscapeString(name) + `</text>`)
		b.WriteString(`<circle class="in-ring" cx="60" cy="76" r="25"/>`)
	case k == Apple && at == 0: // the share sign in the bar below
		shape("in-bar", "M25 122h70v14h-70z")
		line(36, 30, 48)
		line(36, 44, 40)
		shape("in-sign", "M60 134v-14m-4 4l4 -4l4 4M54 127h-2v11h16v-11h-2")
		ring(60, 129)
	case k == Apple: // the row of the sheet, with a plus in a square
		shape("in-bar", "M25 62h70v74h-70z")
		line(34, 76, 40)
		shape("in-row", "M30 86h60v20h-60z")
		line(36, 96, 32)
		shape("in-sign", "M76 90h12v12h-12zM82 92.500v7M78.500 96h7")
		line(34, 118, 36)
		ring(82, 96)
	case k == Android && at == 0: // three dots at the top
		shape("in-bar", "M25 12h70v16h-70z")
		shape("in-dots", "M87 15h.1M87 20h.1M87 25h.1")
		line(32, 20, 40)
		ring(87, 20)
	case k == Android:
		shape("in-bar", "M44 14h50v86h-50z")
		line(50, 26, 30)
		shape("in-row", "M46 50h46v18h-46z")
		shape("in-sign", "M54 54v8m-3 -3l3 3l3 -3M50 65h8")
		line(62, 60, 24)
		line(50, 82, 30)
		b.WriteString(`<rect class="in-ring" x="43" y="46" width="52" height="26" rx="8"/>`)
	case at == 0:
		shape("in-bar", "M5 21h110v16h-110z")
		shape("in-dots", "M108 24h.1M108 29h.1M108 34h.1")
		line(14, 29, 70)
		ring(106, 29)
	default:
		shape("in-bar", "M60 36h54v60h-54z")
		shape("in-row", "M62 54h50v18h-50z")
		line(68, 63, 34)
		line(68, 46, 30)
		line(68, 84, 30)
		b.WriteString(`<rect class="in-ring" x="59" y="50" width="56" height="26" rx="8"/>`)
	}
	b.WriteString(`</svg>`)
	return b.String()
}

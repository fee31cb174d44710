package figure_test

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"

	"unsling/app/figure"
	"unsling/engine/gonio"
	"unsling/engine/rom"
)

var gallery = flag.String("gallery", "", "write a page with every picture to this file")

// TestGallery writes all pictures for looking at them.
func TestGallery(t *testing.T) {
	w := figure.Words{Title: "t", Now: "now", Aim: "aim", Limit: "limit", Other: "other arm"}
	var b strings.Builder
	b.WriteString(`<!doctype html><meta charset="utf-8"><style>` + figure.Stylesheet + `
body{margin:8px;font:13px sans-serif;background:#fff;color:#222}
@media(prefers-color-scheme:dark){body{background:#14191d;color:#ddd}}
.g{display:grid;grid-template-columns:repeat(4,300px);gap:8px}.c{border:1px solid #8884}</style><div class="g">`)
	n := 0
	for _, id := range rom.Exercises {
		for _, at := range []float64{0, 1} {
			fmt.Fprintf(&b, `<div class="c">%s %v%s</div>`, id, at, figure.Exercise(id, rom.Right, at, figure.Marks{}, w))
			n++
		}
	}
	for _, m := range rom.Motions {
		for _, p := range []rom.Position{rom.Supine, rom.Seated, rom.Standing, rom.Prone} {
			if _, ok := gonio.WayFor(m, rom.Photo, p); ok || m == rom.HandBehindBack && p == rom.Standing {
				fmt.Fprintf(&b, `<div class="c">%s %s%s</div>`, m, p, figure.MeasureIn(m, p, rom.Right, figure.Marks{}, w))
			}
		}
	}
	marks := figure.Marks{Now: figure.At(rom.Deg(62)), Aim: figure.At(rom.Deg(83)), Limit: figure.At(rom.Deg(90)), Other: figure.At(rom.Deg(150))}
	small := figure.Marks{Now: figure.At(rom.Deg(8)), Aim: figure.At(rom.Deg(23)), Limit: figure.At(rom.Deg(30)), Other: figure.At(rom.Deg(70))}
	level := figure.Marks{Now: figure.At(rom.Deg(18)), Aim: figure.At(rom.Deg(15)), Limit: figure.At(rom.Deg(13)), Other: figure.At(rom.Deg(8))}
	for _, id := range rom.Exercises {
		m := small
		if figure.Motion(id).Elevation() || figure.Motion(id) == rom.CrossBody || figure.Motion(id) == rom.ElbowFlexion {
			m = marks
		}
		if figure.Motion(id).ByLevel() {
			m = level
		}
		for i, side := range []rom.Side{rom.Left, rom.Right} {
			fmt.Fprintf(&b, `<div class="c">%s %s%s</div>`, id, side, figure.Exercise(id, side, float64(i), m, w))
		}
	}
	fmt.Fprintf(&b, `<div class="c">side%s</div>`, figure.SideChoice(rom.Left, w))
	b.WriteString(`</div>`)
	if n == 0 {
		t.Fatal("no pictures")
	}
	if *gallery != "" {
		if err := os.WriteFile(*gallery, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// TestNewPictures writes the pictures that are no exercise for looking at them.
func TestNewPictures(t *testing.T) {
	w := figure.Words{Title: "t", Now: "now", Aim: "stop here", Limit: "limit", Other: "other arm", Last: "last time"}
	var b strings.Builder
	b.WriteString(`<!doctype html><meta charset="utf-8"><style>` + figure.Stylesheet + `
body{margin:8px;font:13px sans-serif;background:#fff;color:#222}
@media(prefers-color-scheme:dark){body{background:#14191d;color:#ddd}}
.g{display:grid;grid-template-columns:repeat(4,300px);gap:8px}.c{border:1px solid #8884}</style><div class="g">`)
	n := 0
	for i, d := range figure.DailyPictures {
		side := []rom.Side{rom.Right, rom.Left}[i%2]
		fmt.Fprintf(&b, `<div class="c">%s %s%s</div>`, d, side, figure.DailyLife(d, side, w))
		n++
	}
	for _, l := range append([]rom.Level{0}, figure.Places...) {
		fmt.Fprintf(&b, `<div class="c">level %d%s</div>`, l, figure.Spine(rom.Right, l, figure.Marks{}, w))
		n++
	}
	for _, m := range rom.Motions {
		for _, way := range gonio.GuideFor(m).Ways {
			if way.Method != rom.Tilt {
				continue
			}
			for _, s := range []figure.Spot{figure.OnTrunk, figure.OnUpperArm, figure.OnForearm} {
				if s == figure.OnTrunk && !way.Trunk {
					continue
				}
				fmt.Fprintf(&b, `<div class="c">%s %s %s%s</div>`, m, way.Position, s, figure.Strapped(m, way.Position, s, rom.Right, figure.Marks{}, w))
				n++
			}
		}
	}
	m := figure.Marks{Now: figure.At(rom.Deg(72)), Error: rom.Deg(7), Last: figure.At(rom.Deg(60)), Aim: figure.At(rom.Deg(83)), Limit: figure.At(925), Other: figure.At(rom.Deg(150))}
	fmt.Fprintf(&b, `<div class="c">result%s</div></div>`, figure.MeasureIn(rom.ForwardFlexion, rom.Supine, rom.Right, m, w))
	if n < 30 {
		t.Fatal("few pictures")
	}
	if *gallery != "" {
		if err := os.WriteFile(strings.TrimSuffix(*gallery, ".html")+"-new.html", []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

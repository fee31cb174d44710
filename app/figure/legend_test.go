package figure

import (
	"math"
	"regexp"
	"strconv"
	"testing"
	"unicode/utf8"

	"unsling/engine/rom"
)

var keyText1 = regexp.MustCompile(`<text class="fig-text" x="([^"]*)" y="([^"]*)" font-size="([^"]*)">([^<]*)</text>`)

type wordBox struct {
	box
	size float64
}

// wordBoxes are the boxes of the words of a legend. A letter of a system font
// is 0.56 of its size wide in the mean (memory; Arial and Roboto are narrower).
func wordBoxes(t *testing.T, svg string) []wordBox {
	var out []wordBox
	for _, m := range keyText1.FindAllStringSubmatch(svg, -1) {
		var v [3]float64
		for i := range v {
			x, err := strconv.ParseFloat(m[i+1], 64)
			if err != nil {
				t.Fatal(err)
			}
			v[i] = x
		}
		wide := v[2] * 0.56 * float64(utf8.RuneCountInString(m[4]))
		out = append(out, wordBox{box{v[0], v[1] - 0.75*v[2], v[0] + wide, v[1] + 0.22*v[2]}, v[2]})
	}
	return out
}

// The words of a legend neither overlap one another nor leave the view box, in
// every place and for words of either language, long ones too; and where the
// phone of 360 pixels shows them (a column of 328, heights of phone.css) they
// are at least 14 pixels high, as is a caption (WCAG 1.4.4 asks for none; common
// practice, no source).
func TestLegendIsReadable(t *testing.T) {
	some := []Words{
		{Now: "you", Aim: "stop here", Limit: "limit", Other: "other arm", Last: "last time"},
		{Now: "usted", Aim: "pare aquí", Limit: "límite", Other: "otro brazo", Last: "la vez anterior"},
		{Now: "this time", Aim: "stop here", Limit: "limit", Other: "other arm", Last: "last time"},
		{Aim: "words that nobody would write so long here", Limit: "x"},
		{},
	}
	plan := Marks{Aim: At(rom.Deg(110)), Limit: At(rom.Deg(120))}
	full := Marks{Now: At(rom.Deg(-62)), Last: At(rom.Deg(100)), Aim: At(rom.Deg(110)), Limit: At(rom.Deg(120)), Other: At(rom.Deg(160))}
	places := []struct {
		name       string
		room       Room
		wide, high float64 // CSS pixels
		m          Marks
	}{
		{"before a start", Column, 328, 240, plan},
		{"result", Beside, 328, 216, full},
		{"result on 320", Beside, 288, 216, full},
		{"two stills", Half, 160, 240, plan},
		{"card", Half, 296, 176, plan},
		{"tilt", Half, 328, 152, plan},
		{"timer", Strip, 328, 105.6, plan},
		{"timer while practising", Strip, 328, 60.8, plan},
		{"timer on 320", Strip, 288, 105.6, plan},
	}
	n := 0
	for _, c := range places {
		for i, w := range some {
			w.Room = c.room
			k := legend(c.m, w, rom.ForwardFlexion)
			width, height := viewWidth+k.width, viewHeight+k.height
			scale := math.Min(c.wide/width, c.high/height)
			boxes := wordBoxes(t, k.svg)
			for j, b := range boxes {
				n++
				if b.x0 < 0 || b.y0 < 0 || b.x1 > width+0.5 || b.y1 > height+0.5 {
					t.Errorf("%s, words %d: %v leaves %.0f x %.0f", c.name, i, b, width, height)
				}
				if k.width == 0 && b.y0 < viewHeight || k.width > 0 && b.x0 < viewWidth {
					t.Errorf("%s, words %d: %v lies on the body", c.name, i, b)
				}
				if px := b.size * scale; px < 14 && i != 3 {
					t.Errorf("%s, words %d: letters of %.1f pixels", c.name, i, px)
				}
				for _, o := range boxes[j+1:] {
					if b.x0 < o.x1 && o.x0 < b.x1 && b.y0 < o.y1 && o.y0 < b.y1 {
						t.Errorf("%s, words %d: %v overlaps %v", c.name, i, b, o)
					}
				}
			}
		}
	}
	if n < 60 {
		t.Fatalf("only %d words", n)
	}
}

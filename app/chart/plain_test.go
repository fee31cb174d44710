package chart_test

import (
	"encoding/xml"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"unsling/app/chart"
	"unsling/engine/rom"
)

var plainWords = func() chart.Words {
	w := words
	w.Own, w.Clinic, w.Expected, w.Locked, w.Week, w.Minutes = "you", "clinic", "expected", "not yet", "week", "min"
	return w
}()

var spanish = func() chart.Words {
	w := plainWords
	w.Own, w.Clinic, w.Other, w.Limit, w.Locked = "usted", "cl\u00ednica", "otro brazo", "l\u00edmite", "todav\u00eda no"
	w.Expected, w.Today, w.Week, w.Unknown, w.Rest, w.Done = "esperado", "hoy", "semana", "sin noticias", "descanso", "hecho"
	return w
}()

func plainCourse(large int) chart.Motion {
	c := course(chart.Plain)
	c.Words, c.Large, c.Axis, c.Phases, c.Clinic = plainWords, large, chart.ByWeek, nil, nil
	c.Limit, c.Own, c.Today = c.Limit[:4], c.Own[:12], surgery.Add(73)
	return c
}

func plainBack(large int) chart.Motion {
	c := back()
	c.Size, c.Words, c.Large, c.Axis, c.Today = chart.Plain, plainWords, large, chart.ByWeek, surgery.Add(140)
	c.Words.Levels[13], c.Words.Levels[15], c.Words.Levels[8] = "above the waist", "the waist", "between the shoulder blades"
	return c
}

func plainDose(large int) chart.Dose {
	c := dose(chart.Plain, 28)
	c.Words, c.Large, c.Today = plainWords, large, surgery.Add(47)
	return c
}

// written is a text of a chart with the box in which it lies: letters of 0.68
// of their size, wider than those of the fonts that phones have (memory).
type written struct {
	text           string
	size           float64
	x0, y0, x1, y1 float64
}

// texts reads the labels of a chart as they were printed.
func texts(t interface{ Fatal(...any) }, svg string) (list []written, wide, high float64) {
	d := xml.NewDecoder(strings.NewReader(svg))
	for {
		tok, err := d.Token()
		if err == io.EOF {
			return list, wide, high
		}
		if err != nil {
			t.Fatal(err)
		}
		e, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		at := map[string]string{}
		for _, a := range e.Attr {
			at[a.Name.Local] = a.Value
		}
		number := func(k string) float64 { v, _ := strconv.ParseFloat(at[k], 64); return v }
		switch e.Name.Local {
		case "svg":
			_, _ = fmt.Sscanf(at["viewBox"], "0 0 %f %f", &wide, &high)
		case "text":
			var s string
			if err := d.DecodeElement(&s, &e); err != nil {
				t.Fatal(err)
			}
			per := 0.56
			if strings.HasPrefix(at["class"], "chart-name") {
				per = 0.68
			}
			w := written{text: s, size: number("font-size"), x0: number("x"), y1: number("y")}
			width := per * w.size * float64(utf8.RuneCountInString(s))
			switch at["text-anchor"] {
			case "end":
				w.x0 -= width
			case "middle":
				w.x0 -= width / 2
			}
			w.x1, w.y0 = w.x0+width, w.y1-0.75*w.size
			list = append(list, w)
		}
	}
}

// apart reports labels that lie over one another or out of the picture.
func apart(t interface {
	Fatal(...any)
	Errorf(string, ...any)
}, name, svg string) {
	list, wide, high := texts(t, svg)
	for i, a := range list {
		if a.x0 < -1 || a.x1 > wide+1 || a.y0 < -1 || a.y1 > high+1 {
			t.Errorf("%s: %q lies at %.0f to %.0f, %.0f in a picture of %.0f x %.0f", name, a.text, a.x0, a.x1, a.y1, wide, high)
		}
		if a.size != 16 {
			t.Errorf("%s: %q has %v units", name, a.text, a.size)
		}
		for _, b := range list[i+1:] {
			if a.x0 < b.x1-0.5 && b.x0 < a.x1-0.5 && a.y0 < b.y1-0.5 && b.y0 < a.y1-0.5 {
				t.Errorf("%s: %q and %q lie over one another", name, a.text, b.text)
			}
		}
	}
}

// An untrained eye must find each of these in words: where it is, where the
// limit is, what is not open yet, the other arm, and today.
func TestPlainChartNamesWhatItShows(t *testing.T) {
	for large := range 3 {
		for _, w := range []chart.Words{plainWords, spanish} {
			c := plainCourse(large)
			c.Words = w
			svg := c.SVG()
			apart(t, fmt.Sprint("course ", large), svg)
			list, wide, high := texts(t, svg)
			if high > 1.6*wide || wide > 1.2*high {
				t.Errorf("%d: %.0f x %.0f", large, wide, high)
			}
			var all []string
			for _, l := range list {
				all = append(all, l.text)
			}
			text := strings.Join(all, "|") + "|"
			for _, want := range []string{w.Own + " 29\u00b0|", w.Limit + " 45\u00b0|", w.Other + " 62\u00b0|", w.Today + "|", w.Week + "|"} {
				if !strings.Contains(text, want) {
					t.Errorf("size %d: %q lacks %q", large, text, want)
				}
			}
			for _, word := range strings.Fields(w.Locked) {
				if !strings.Contains(text, word) {
					t.Errorf("size %d: %q does not say what is locked", large, text)
				}
			}
			if n := len(list); n > 16 {
				t.Errorf("size %d: %d labels: %q", large, n, text)
			}
			apart(t, "back", func() chart.Motion { b := plainBack(large); b.Words.Own = w.Own; return b }().SVG())
		}
	}
}

// Whatever is measured, no label covers another or stands out of the picture.
func TestPlainLabelsNeverMeet(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		day := rapid.IntRange(1, 400)
		deg := rapid.IntRange(-20, 185)
		points := func(name string, most int) (ps []chart.Point) {
			for _, d := range rapid.SliceOfN(day, 0, most).Draw(t, name) {
				ps = append(ps, chart.Point{Day: surgery.Add(d), Value: rom.Deg(deg.Draw(t, name+" angle")), SE: rom.Deg(7)})
			}
			return ps
		}
		c := chart.Motion{Motion: rom.ForwardFlexion, Size: chart.Plain, Large: rapid.IntRange(0, 2).Draw(t, "large"), Words: spanish, Surgery: surgery,
			Axis: chart.Axis(rapid.IntRange(0, 1).Draw(t, "axis")), Own: points("own", 40), Clinic: points("clinic", 4), Other: points("other", 2)}
		c.Today = surgery.Add(day.Draw(t, "today"))
		from := 0
		for _, d := range rapid.SliceOfN(rapid.IntRange(1, 90), 0, 5).Draw(t, "steps") {
			c.Limit = append(c.Limit, chart.Step{From: surgery.Add(from), Ceiling: rom.Deg(deg.Draw(t, "limit")), Locked: rapid.Bool().Draw(t, "locked")})
			from += d
		}
		apart(t, "drawn", c.SVG())
	})
}

// A day without work is said in words, never left as a hole.
func TestPlainDoseNamesEveryDay(t *testing.T) {
	for large := range 3 {
		for _, w := range []chart.Words{plainWords, spanish} {
			c := plainDose(large)
			c.Words = w
			svg := c.SVG()
			apart(t, "dose", svg)
			list, _, _ := texts(t, svg)
			if len(list) != 28 { // 14 days, each with its word
				t.Errorf("%d labels", len(list))
			}
			for _, want := range []string{w.Rest, w.Unknown, w.Today} {
				if !strings.Contains(svg, ">"+want+"<") {
					t.Errorf("size %d: no %q", large, want)
				}
			}
			if strings.Contains(svg, "chart-limit") || strings.Contains(svg, "chart-sets") {
				t.Error("a day is marked as left undone")
			}
			if n := len(c.Table()); n != 29 {
				t.Errorf("the table has %d rows", n)
			}
		}
	}
}

// A limit that was lifted is drawn where it held, and no number of it is left to be taken for one that holds.
func TestPlainLimitThatWasLifted(t *testing.T) {
	c := plainCourse(0)
	last := c.Limit[len(c.Limit)-1]
	c.Limit = append(slices.Clone(c.Limit), chart.Step{From: last.From.Add(14), Free: true})
	list, _, _ := texts(t, c.SVG())
	named := false
	for _, l := range list {
		named = named || l.text == plainWords.Limit
		if strings.HasPrefix(l.text, plainWords.Limit+" ") {
			t.Errorf("a lifted limit is called %q", l.text)
		}
	}
	if !named {
		t.Error("the limit that held is not named")
	}
}

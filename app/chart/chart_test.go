package chart_test

import (
	"encoding/xml"
	"flag"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"unsling/app/chart"
	"unsling/engine/rom"
)

var rewrite = flag.Bool("rewrite", false, "write the golden files anew; read the difference before committing")

type drawing interface {
	SVG() string
	Table() [][]string
}

// all are the charts of this package with data, without, and with a hostile
// word, which no caller should pass.
func all() map[string]drawing {
	bad := words
	bad.Title, bad.Own, bad.Empty, bad.Desc = `<script>"`, "a & b <i>", "<b>", "'x'"
	hostile := course(chart.Narrow)
	hostile.Words = bad
	one := course(chart.Wide)
	one.Own, one.Clinic, one.Other, one.Limit = one.Own[:1], nil, nil, nil
	return map[string]drawing{
		"motion": course(chart.Narrow), "motion-wide": withBands(course(chart.Wide)), "level": back(), "one": one,
		"dose": dose(chart.Narrow, 30), "dose-long": dose(chart.Wide, 200), "pain": pain(chart.Narrow),
		"agreement": agreement(chart.Wide), "pattern": pattern(chart.Narrow),
		"spark":        chart.Spark{Words: words, Motion: rom.ERSide, Points: course(chart.Narrow).Own, Limit: rom.Deg(45)},
		"empty-motion": chart.Motion{Words: bad}, "empty-spark": chart.Spark{Words: words}, "empty-dose": chart.Dose{Words: words},
		"empty-pain": chart.Pain{Words: words}, "empty-agreement": chart.Agreement{Words: words}, "empty-pattern": chart.Pattern{Words: words},
		"hostile": hostile,
		"plain":   plainCourse(0), "plain-large": plainCourse(2), "plain-level": plainBack(0), "plain-dose": plainDose(0), "plain-dose-large": plainDose(2),
	}
}

// check reads a chart as XML and returns the text in it.
func check(t interface {
	Helper()
	Errorf(string, ...any)
	Fatalf(string, ...any)
}, name, svg string) (text string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(svg))
	titled := false
	for first := true; ; {
		tok, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatalf("%s: %v in %s", name, err, svg)
		}
		switch e := tok.(type) {
		case xml.StartElement:
			role := ""
			for _, a := range e.Attr {
				if n := a.Name.Local; n == "style" || n == "id" || strings.HasPrefix(n, "on") {
					t.Errorf("%s: attribute %s", name, n)
				}
				if a.Name.Local == "role" {
					role = a.Value
				}
				if strings.Contains(a.Value, "NaN") || strings.Contains(a.Value, "Inf") {
					t.Fatalf("%s: %s=%q", name, a.Name.Local, a.Value)
				}
			}
			if first && (e.Name.Local != "svg" || role != "img") {
				t.Errorf("%s begins with %s, role %q", name, e.Name.Local, role)
			}
			first = false
			titled = titled || e.Name.Local == "title"
			if n := e.Name.Local; n == "script" || n == "i" || n == "b" {
				t.Errorf("%s: a word became an element %s", name, n)
			}
		case xml.CharData:
			text += string(e) + "\n"
		}
	}
	if !titled {
		t.Errorf("%s has no title", name)
	}
	return text
}

func TestChartsAreCleanXML(t *testing.T) {
	for name, c := range all() {
		text := check(t, name, c.SVG())
		if strings.HasPrefix(name, "empty") && name != "empty-motion" && !strings.Contains(text, words.Empty) {
			t.Errorf("%s does not say that it is empty: %q", name, text)
		}
		if again := c.SVG(); again != c.SVG() {
			t.Errorf("%s is not deterministic", name)
		}
	}
}

// Every chart has a table of the same facts: a header and rows of its width.
func TestTablesAreTwins(t *testing.T) {
	for name, c := range all() {
		rows := c.Table()
		if len(rows) == 0 {
			t.Fatalf("%s has no header", name)
		}
		for _, r := range rows {
			if len(r) != len(rows[0]) {
				t.Errorf("%s: a row of %d cells under %d", name, len(r), len(rows[0]))
			}
		}
		if !strings.HasPrefix(name, "empty") && len(rows) < 2 {
			t.Errorf("%s: no rows", name)
		}
	}
	rows := course(chart.Narrow).Table()
	found := map[string]bool{}
	for _, r := range rows {
		for i, cell := range r {
			found[rows[0][i]+": "+cell] = true
		}
	}
	for _, want := range []string{"day: 28 Jan 2026", "your readings: 8\u00b0 \u00b1 7\u00b0", "limit: not allowed yet", "limit: 30\u00b0", "other arm: 62\u00b0 \u00b1 7\u00b0"} {
		if !found[want] {
			t.Errorf("the table lacks %q", want)
		}
	}
	for _, r := range dose(chart.Narrow, 30).Table()[8:10] {
		if r[1] != words.Unknown {
			t.Errorf("an unknown day reads %q", r)
		}
	}
}

var dots = regexp.MustCompile(`<circle class="chart-own" cx="([^"]+)" cy="([^"]+)"`)

func places(svg string) (ps [][2]float64) {
	for _, m := range dots.FindAllStringSubmatch(svg, -1) {
		x, _ := strconv.ParseFloat(m[1], 64)
		y, _ := strconv.ParseFloat(m[2], 64)
		ps = append(ps, [2]float64{x, y})
	}
	return ps
}

// Whatever the data, every mark lies inside the picture, later is farther
// right, more is higher, and impossible values are left out.
func TestMarksKeepOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := chart.Motion{Motion: rapid.SampledFrom(rom.Motions).Draw(t, "motion"), Size: chart.Size(rapid.IntRange(0, 1).Draw(t, "size"))}
		day := surgery
		n := rapid.IntRange(1, 30).Draw(t, "n")
		good := 0
		for range n {
			day = day.Add(rapid.IntRange(1, 40).Draw(t, "gap"))
			v := rom.Degrees(rapid.IntRange(-600, 2000).Draw(t, "value"))
			if c.Motion.ByLevel() {
				v = rom.Deg(rapid.IntRange(1, 20).Draw(t, "level"))
			}
			if rapid.IntRange(0, 9).Draw(t, "broken") == 0 {
				v = rom.Degrees(math.MaxInt32)
			} else {
				good++
			}
			c.Own = append(c.Own, chart.Point{Day: day, Value: v, SE: rom.Degrees(rapid.IntRange(0, 200).Draw(t, "se"))})
		}
		c.Limit = []chart.Step{{From: surgery, Ceiling: rom.Degrees(rapid.IntRange(-300, 2000).Draw(t, "limit"))}}
		svg := c.SVG()
		check(t, "motion", svg)
		if good == 0 {
			return
		}
		ps := places(svg)[0:]
		if len(ps) != good {
			t.Fatalf("%d marks for %d readings", len(ps), good)
		}
		h, _ := strconv.ParseFloat(regexp.MustCompile(`viewBox="0 0 \S+ ([0-9.]+)"`).FindStringSubmatch(svg)[1], 64)
		w := 360.0
		if c.Size == chart.Wide {
			w = 720
		}
		var values []rom.Degrees
		for _, p := range c.Own {
			if p.Value < rom.Deg(1000) {
				values = append(values, p.Value)
			}
		}
		for i, p := range ps {
			if p[0] < 0 || p[0] > w || p[1] < 0 || p[1] > h {
				t.Fatalf("a mark at %v in %v x %v", p, w, h)
			}
			if i == 0 {
				continue
			}
			if p[0] < ps[i-1][0] {
				t.Fatal("a later day is farther left")
			}
			higher := values[i] > values[i-1]
			if c.Motion.ByLevel() {
				higher = values[i] < values[i-1] // a smaller level is a higher hand
			}
			if values[i] != values[i-1] && higher && p[1] > ps[i-1][1] {
				t.Fatalf("more is lower: %v after %v", values[i], values[i-1])
			}
		}
	})
}

// Broken input never breaks a page.
func TestAbsurdNumbers(t *testing.T) {
	big := rom.Degrees(math.MaxInt32)
	for name, c := range map[string]drawing{
		"motion": chart.Motion{Own: []chart.Point{{Day: surgery, Value: big}}, Words: words},
		"no day": chart.Motion{Own: []chart.Point{{Value: rom.Deg(10)}}, Words: words},
		"swapped": chart.Motion{Own: []chart.Point{{Day: surgery, Value: rom.Deg(10)}}, From: surgery.Add(9), To: surgery.Add(-9),
			Today: rom.Date(math.MaxInt32), Words: words},
		"century": chart.Motion{Own: []chart.Point{{Day: rom.MakeDate(1901, 1, 1), Value: rom.Deg(10)}, {Day: surgery, Value: rom.Deg(20)}}, Words: words},
		"dose":    chart.Dose{Days: []chart.DoseDay{{Day: surgery, Seconds: math.MaxInt, Known: true, Due: -4}}, Words: words},
		"pain":    chart.Pain{Days: []chart.PainDay{{Day: surgery, Before: 99, After: -7}}, Words: words},
		"pairs":   chart.Agreement{Pairs: []chart.Pair{{Own: big, Clinic: -big}}, HasBounds: true, Upper: big, Words: words},
		"pattern": chart.Pattern{Points: []chart.Share{{Day: surgery, Elevation: math.MaxInt, Rotation: math.MinInt}}, Words: words},
		"spark":   chart.Spark{Points: []chart.Point{{Day: surgery, Value: big}}, Words: words, Limit: big},
	} {
		svg := c.SVG()
		check(t, name, svg)
		if len(svg) > 60000 {
			t.Errorf("%s: %d bytes", name, len(svg))
		}
		c.Table()
	}
}

// A day without news is hatched in full height and never drawn as a bar.
func TestUnknownDaysAreNotZero(t *testing.T) {
	c := chart.Dose{Words: words, Days: []chart.DoseDay{{Day: surgery, Known: true, Seconds: 600, Due: 3, Sets: 3}, {Day: surgery.Add(1)}}}
	svg := c.SVG()
	if n := strings.Count(svg, `class="chart-unknown"`); n != 2 { // the day, and its key
		t.Errorf("%d hatched areas", n)
	}
	if n := strings.Count(svg, `class="chart-bar"`); n != 2 { // the bar, and its key
		t.Errorf("%d bars", n)
	}
}

// Every class has a rule; light, dark and forced colours are known.
func TestStylesheetKnowsEveryClass(t *testing.T) {
	rules := chart.Stylesheet[strings.Index(chart.Stylesheet, "*/"):]
	for name, c := range all() {
		for _, m := range regexp.MustCompile(`class="([^"]+)"`).FindAllStringSubmatch(c.SVG(), -1) {
			for _, class := range strings.Fields(m[1]) {
				if !regexp.MustCompile(`\.` + regexp.QuoteMeta(class) + `[ ,{]`).MatchString(rules) {
					t.Errorf("%s: no rule for %s", name, class)
				}
			}
		}
	}
	for _, q := range []string{"prefers-color-scheme: dark", "forced-colors: active"} {
		if !strings.Contains(rules, q) {
			t.Errorf("no rules for %s", q)
		}
	}
}

// No label is smaller than 12 px at 328 px.
func TestTextIsLegibleOnAPhone(t *testing.T) {
	for name, c := range all() {
		svg := c.SVG()
		if !strings.Contains(svg, `viewBox="0 0 360 `) {
			continue
		}
		for _, m := range regexp.MustCompile(`font-size="([0-9.]+)"`).FindAllStringSubmatch(svg, -1) {
			if px, _ := strconv.ParseFloat(m[1], 64); px*328/360 < 12 {
				t.Errorf("%s: %v units", name, px)
			}
		}
	}
}

func TestGolden(t *testing.T) {
	for _, name := range []string{"plain", "plain-large", "plain-level", "plain-dose", "motion", "motion-wide", "level", "dose", "pain", "agreement", "pattern", "spark", "empty-pain"} {
		got := strings.ReplaceAll(all()[name].SVG(), "><", ">\n<") + "\n"
		file := filepath.Join("testdata", name+".svg")
		if *rewrite {
			if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if got != string(want) {
			t.Errorf("%s differs from its golden file; look at both, then -rewrite", name)
		}
	}
}

package figure_test

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

	"unsling/app/figure"
	"unsling/engine/rom"
)

var rewrite = flag.Bool("rewrite", false, "write the golden files anew; read the difference before committing")

var (
	words = figure.Words{Title: "a <b> & 'c'", Now: `"now"`, Aim: "aim", Limit: "<script>", Other: "other"}
	marks = figure.Marks{
		Now: figure.At(rom.Deg(20)), Aim: figure.At(rom.Deg(25)), Limit: figure.At(rom.Deg(30)), Other: figure.At(rom.Deg(55)),
	}
)

// every calls f with each picture of the package.
func every(f func(name, svg string)) {
	for _, side := range []rom.Side{rom.Left, rom.Right} {
		for _, id := range append([]rom.ExerciseID{"not-known"}, rom.Exercises...) {
			for _, at := range []float64{0, 0.4, 1} {
				f(string(id), figure.Exercise(id, side, at, marks, words))
			}
		}
		for _, d := range figure.DailyPictures {
			f(string(d), figure.DailyLife(d, side, words))
		}
		for _, l := range figure.Places {
			f("back", figure.Spine(side, l, figure.Marks{}, words))
		}
		for _, m := range append([]rom.Motion{"?"}, rom.Motions...) {
			for _, p := range []rom.Position{"", rom.Supine, rom.Seated, rom.Standing, rom.SideLying, rom.Prone} {
				f(string(m)+" "+string(p), figure.MeasureIn(m, p, side, marks, words))
			}
		}
		f("side", figure.SideChoice(side, words))
	}
}

// Every picture is well-formed, named, and holds nothing that a strict
// content policy refuses or that two pictures in one page could share.
func TestPicturesAreCleanXML(t *testing.T) {
	n := 0
	every(func(name, svg string) {
		n++
		d := xml.NewDecoder(strings.NewReader(svg))
		title, open := "", false
		for first := true; ; {
			tok, err := d.Token()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			switch e := tok.(type) {
			case xml.StartElement:
				role := ""
				for _, a := range e.Attr {
					switch a.Name.Local {
					case "style", "id", "href", "onclick":
						t.Errorf("%s: attribute %s", name, a.Name.Local)
					case "role":
						role = a.Value
					}
					if strings.Contains(a.Value, "NaN") || strings.Contains(a.Value, "Inf") {
						t.Fatalf("%s: %s=%q", name, a.Name.Local, a.Value)
					}
				}
				if first && (e.Name.Local != "svg" || role != "img") {
					t.Errorf("%s: begins with %s, role %q", name, e.Name.Local, role)
				}
				first = false
				open = e.Name.Local == "title"
			case xml.CharData:
				if open {
					title += string(e)
				}
			case xml.EndElement:
				open = false
			}
		}
		if title != words.Title {
			t.Errorf("%s: title %q", name, title)
		}
		if strings.Contains(svg, "<script>") {
			t.Errorf("%s: a word was not escaped", name)
		}
	})
	if n < 200 {
		t.Fatalf("only %d pictures", n)
	}
}

// The left arm's picture is the mirror image of the right arm's: the same
// shapes in a mirrored group, with words that are not mirrored.
func TestLeftMirrorsRight(t *testing.T) {
	group := func(svg string) (open, body string) {
		i := strings.Index(svg, "<g")
		j := strings.Index(svg[i:], ">") + i + 1
		return svg[i:j], svg[j : strings.Index(svg, "</g>")+4]
	}
	for _, id := range rom.Exercises {
		lo, l := group(figure.Exercise(id, rom.Left, 0.3, marks, words))
		ro, r := group(figure.Exercise(id, rom.Right, 0.3, marks, words))
		if l != r {
			t.Errorf("%s: the shapes differ", id)
		}
		if lo != `<g transform="translate(360 0) scale(-1 1)">` || ro != "<g>" {
			t.Errorf("%s: %s and %s", id, lo, ro)
		}
		if strings.Contains(l, "<text") {
			t.Errorf("%s: mirrored text", id)
		}
	}
}

var armPath = regexp.MustCompile(`class="fig-arm" d="([^"]*)"`)
var number = regexp.MustCompile(`-?[0-9.]+`)

// The operated arm is inside the frame at every t, and the frame itself does
// not move.
func TestArmStaysInTheFrame(t *testing.T) {
	for _, id := range rom.Exercises {
		box := ""
		for i := range 11 {
			svg := figure.Exercise(id, rom.Right, float64(i)/10, figure.Marks{}, words)
			if b := svg[strings.Index(svg, "viewBox"):strings.Index(svg, "<title")]; box == "" {
				box = b
			} else if b != box {
				t.Errorf("%s: the frame moves: %s, %s", id, box, b)
			}
			found := armPath.FindAllStringSubmatch(svg, -1)
			if len(found) == 0 {
				t.Fatalf("%s: no operated arm", id)
			}
			for _, f := range found {
				for _, cmd := range regexp.MustCompile(`[ML][^MLAz]*`).FindAllString(f[1], -1) {
					n := number.FindAllString(cmd, -1)
					x, _ := strconv.ParseFloat(n[0], 64)
					y, _ := strconv.ParseFloat(n[1], 64)
					if x < 0 || x > 360 || y < 0 || y > 300 {
						t.Errorf("%s: arm at %v %v", id, x, y)
					}
				}
			}
		}
	}
}

// A picture is small: of an exercise a phone draws up to 32 while an arm moves.
func TestPicturesAreSmall(t *testing.T) {
	most, which, sum, n := 0, "", 0, 0
	every(func(name, svg string) {
		n, sum = n+1, sum+len(svg)
		if rom.ExerciseID(name).Valid() && len(svg) > 11000 {
			t.Errorf("%s has %d bytes", name, len(svg))
		}
		if len(svg) > most {
			most, which = len(svg), name
		}
	})
	t.Logf("%d pictures: %d bytes in the mean, %d at most (%s)", n, sum/n, most, which)
	if most > 14000 { // two bodies
		t.Errorf("%s has %d bytes", which, most)
	}
}

func TestBadNumbersGiveTheStart(t *testing.T) {
	want := figure.Exercise(rom.DoorwayER, rom.Left, 0, figure.Marks{}, words)
	for _, at := range []float64{math.NaN(), math.Inf(-1), -3} {
		if figure.Exercise(rom.DoorwayER, rom.Left, at, figure.Marks{}, words) != want {
			t.Errorf("t = %v is not the start", at)
		}
	}
}

// Every class in a picture has a rule in the style sheet, and the style sheet
// knows light, dark and forced colours.
func TestStylesheetKnowsEveryClass(t *testing.T) {
	seen := map[string]bool{}
	class := regexp.MustCompile(`class="([^"]+)"`)
	every(func(_, svg string) {
		for _, m := range class.FindAllStringSubmatch(svg, -1) {
			seen[m[1]] = true
		}
	})
	rules := figure.Stylesheet[strings.Index(figure.Stylesheet, "*/"):]
	for c := range seen {
		if !regexp.MustCompile(`\.` + regexp.QuoteMeta(c) + `[ ,{:]`).MatchString(rules) {
			t.Errorf("no rule for %s", c)
		}
	}
	for _, q := range []string{"prefers-color-scheme: dark", "forced-colors: active"} {
		if !strings.Contains(rules, q) {
			t.Errorf("no rules for %s", q)
		}
	}
}

func TestGolden(t *testing.T) {
	for _, id := range []rom.ExerciseID{rom.TableSlideFlexion, rom.WallClimbAbduction, rom.DoorwayER, rom.SideLyingIR} {
		got := figure.Exercise(id, rom.Left, 1, marks, figure.Words{Title: string(id), Limit: "limit"})
		got = strings.ReplaceAll(got, "><", ">\n<") + "\n"
		file := filepath.Join("testdata", string(id)+".svg")
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
			t.Errorf("%s differs from its golden file; look at both, then -rewrite", id)
		}
	}
}

func BenchmarkExercise(b *testing.B) {
	for b.Loop() {
		figure.Exercise(rom.TableSlideFlexion, rom.Left, 0.5, marks, words)
	}
}

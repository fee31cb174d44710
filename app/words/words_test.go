package words

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
)

// literal is one Text as it stands in the source.
type literal struct {
	file   string
	line   int
	en, es string
}

// catalogue reads every Text of the package from its source, so that no text
// can hide from the tests.
func catalogue(t *testing.T) []literal {
	t.Helper()
	entries, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	var all []literal
	set := token.NewFileSet()
	for _, e := range entries {
		name := e.Name()
		if !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(set, name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(f, func(n ast.Node) bool {
			c, ok := n.(*ast.CompositeLit)
			if !ok || len(c.Elts) != 2 {
				return true
			}
			a, ok1 := c.Elts[0].(*ast.BasicLit)
			b, ok2 := c.Elts[1].(*ast.BasicLit)
			if ok1 && ok2 && a.Kind == token.STRING && b.Kind == token.STRING {
				en, _ := strconv.Unquote(a.Value)
				es, _ := strconv.Unquote(b.Value)
				all = append(all, literal{name, set.Position(c.Pos()).Line, en, es})
			}
			return true
		})
	}
	if len(all) < 300 {
		t.Fatalf("found %d texts, expected the whole catalogue", len(all))
	}
	return all
}

func TestEveryTextIsWhole(t *testing.T) {
	for _, x := range catalogue(t) {
		at := x.file + ":" + strconv.Itoa(x.line)
		switch {
		case strings.TrimSpace(x.en) == "" || strings.TrimSpace(x.es) == "":
			t.Errorf("%s: a language is missing", at)
		case strings.Join(verb.FindAllString(x.en, -1), "") != strings.Join(verb.FindAllString(x.es, -1), ""):
			t.Errorf("%s: the verbs differ: %q, %q", at, x.en, x.es)
		case strings.ContainsAny(x.en+x.es, "<>\n\t"):
			t.Errorf("%s: holds a sign that no text needs", at)
		case endMark(x.en) != endMark(x.es):
			t.Errorf("%s: one is a sentence and the other is not: %q, %q", at, x.en, x.es)
		}
	}
}

func endMark(s string) bool { return strings.HasSuffix(s, ".") }

// TestSentencesAreShort holds every sentence to 15 words (plain-language
// practice; a sentence of 15 words is readable aloud in one breath).
func TestSentencesAreShort(t *testing.T) {
	for _, x := range catalogue(t) {
		for _, text := range []string{x.en, x.es} {
			for _, s := range sentences(text) {
				if n := len(wordsOf(s)); n > 15 {
					t.Errorf("%s:%d: %d words: %q", x.file, x.line, n, s)
				}
			}
		}
	}
}

// TestReadingGrade holds each file of the catalogue, joined, to grade 6 by
// Flesch-Kincaid, and Spanish to "quite easy" by INFLESZ.
func TestReadingGrade(t *testing.T) {
	en, es := map[string]string{}, map[string]string{}
	for _, x := range catalogue(t) {
		en[x.file] += sentenceOf(x.en)
		es[x.file] += sentenceOf(x.es)
	}
	for file, text := range en {
		if len(wordsOf(text)) < 30 {
			continue
		}
		g, f := grade(text), inflesz(es[file])
		t.Logf("%s: grade %.1f, INFLESZ %.0f", file, g, f)
		if g > 6 {
			t.Errorf("%s: grade %.1f", file, g)
		}
		if f < 65 {
			t.Errorf("%s: INFLESZ %.0f", file, f)
		}
	}
	for _, x := range catalogue(t) {
		if g := grade(x.en); len(wordsOf(x.en)) >= 20 && g > 7 {
			t.Errorf("%s:%d: grade %.1f: %q", x.file, x.line, g, x.en)
		}
	}
}

func sentenceOf(s string) string {
	if !endMark(s) && !strings.HasSuffix(s, "?") {
		s += "."
	}
	return s + " "
}

// banned are words of the trade, and words that shame, frighten or praise
// past a limit. A patient reads none of them.
var banned = regexp.MustCompile(`(?i)\b(abduct\w*|adduct\w*|flexion|extension|rotation|passive|active-assist\w*|range of motion|ROM|repetition\w*|reps?|prescri\w*|adheren\w*|complian\w*|deficit\w*|plateau\w*|stiffness|post-?operative|procedure|protocol|baseline|clearance|scapula\w*|glenohumeral|supine|prone|acromion|olecranon|precaution\w*|contraindicat\w*|fail\w*|missed|lazy|should have|bad|great job|well done|excellent|push through|no pain,? no gain|sync\w*|upload\w*|server error|invalid|cache)\b`)

var bannedSpanish = regexp.MustCompile(`(?i)(abducci|aducci|flexión|extensión|rotación|pasiv|rango de movimiento|repetici|adherencia|déficit|meseta|rigidez|postoperatori|procedimiento|protocolo|escápula|supino|acromion|fracas|fallaste|falló usted|perezos|excelente|inválid|sincroniz|caché)`)

func TestNoJargonAndNoBlame(t *testing.T) {
	for _, x := range catalogue(t) {
		if w := banned.FindString(x.en); w != "" {
			t.Errorf("%s:%d: %q in %q", x.file, x.line, w, x.en)
		}
		if w := bannedSpanish.FindString(x.es); w != "" {
			t.Errorf("%s:%d: %q in %q", x.file, x.line, w, x.es)
		}
	}
}

func TestEveryNounHasWords(t *testing.T) {
	for _, l := range Langs {
		seen := map[string]rom.Motion{}
		for _, m := range rom.Motions {
			s := Motion(l, m)
			if s == "" {
				t.Errorf("%s: no words for motion %s", l, m)
			}
			if other, twice := seen[s]; twice {
				t.Errorf("%s: %s and %s read alike: %q", l, m, other, s)
			}
			seen[s] = m
		}
		for _, e := range rom.Exercises {
			g := Exercise(e)
			if g.Name.IsZero() || g.Lead.IsZero() || g.Feel.IsZero() || len(g.Avoid) == 0 {
				t.Errorf("%s: exercise %s is not told in full", l, e)
			}
			for _, s := range g.Steps {
				if s.In(l) == "" {
					t.Errorf("%s: exercise %s has an empty step", l, e)
				}
			}
		}
		for _, s := range rom.Signs {
			if s != rom.SignOther && Sign(l, s) == Sign(l, rom.SignOther) {
				t.Errorf("%s: no words for sign %s", l, s)
			}
		}
		for _, p := range rom.Procedures {
			if Procedure(l, p) == "" {
				t.Errorf("%s: no words for procedure %s", l, p)
			}
		}
		for c := rom.Locked; c <= rom.Resisted; c++ {
			if Class(l, c) == "" || Phase(l, c) == "" {
				t.Errorf("%s: no words for class %s", l, c)
			}
		}
		for _, s := range []rom.Sling{rom.SlingAlways, rom.SlingDay, rom.SlingOutdoor, rom.SlingComfort, rom.SlingOff} {
			if Sling(l, s) == "" {
				t.Errorf("%s: no words for sling %s", l, s)
			}
		}
		for v := rom.LevelT1; v <= rom.LevelThigh; v++ {
			if Level(l, v) == Level(l, 0) {
				t.Errorf("%s: no words for level %d", l, v)
			}
		}
	}
}

func TestDates(t *testing.T) {
	day := rom.MakeDate(2026, time.March, 3) // a Tuesday
	for _, c := range []struct{ got, want string }{
		{Date(English, day), "Tuesday 3 March"},
		{Date(Spanish, day), "martes 3 de marzo"},
		{Day(English, day, day), "today"},
		{Day(English, day, day.Add(1)), "yesterday"},
		{Day(Spanish, day, day.Add(-1)), "mañana"},
		{Day(English, day, day.Add(9)), "on Tuesday 3 March"},
		{Join(English, []string{"a", "b", "c"}), "a, b and c"},
		{Join(Spanish, []string{"a", "isla"}), "a e isla"},
		{KeptWaiting.In(English, 1)[:8], "1 record"},
		{KeptWaiting.In(English, 3)[:9], "3 records"},
		{Capital("árbol"), "Árbol"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

func TestChoose(t *testing.T) {
	for _, c := range []struct {
		in   []string
		want Lang
	}{{nil, English}, {[]string{"de", "es-MX", "en"}, Spanish}, {[]string{"EN-GB"}, English}, {[]string{"zz"}, English}} {
		if got := Choose(c.in); got != c.want {
			t.Errorf("Choose(%v) = %s, want %s", c.in, got, c.want)
		}
	}
	if Reviewed(Spanish) || !Reviewed(English) {
		t.Error("Spanish must be marked unreviewed")
	}
}

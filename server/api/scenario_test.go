package api

import (
	"flag"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

var rewrite = flag.Bool("rewrite", false, "write what happens into the scenario files; read the difference before you commit it")

// TestScenarios plays the stories of testdata/scenarios against the real
// server over HTTP, with the phone's own code. A line that begins with a day
// is what somebody does; "->" under it is what has to come of it. Besides, and
// whatever a file expects, every record that a phone called kept is with the
// clinic once in the end, unless the story destroyed the phone.
func TestScenarios(t *testing.T) {
	files, err := filepath.Glob("testdata/scenarios/*.txt")
	if err != nil || len(files) < 10 {
		t.Fatalf("%d stories: %v", len(files), err)
	}
	for _, path := range files {
		t.Run(strings.TrimSuffix(filepath.Base(path), ".txt"), func(t *testing.T) {
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			got, steps := play(t, string(text))
			if steps < 5 {
				t.Errorf("a story of %d steps", steps)
			}
			if got == string(text) {
				return
			}
			if *rewrite {
				if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
				return
			}
			t.Errorf("it went another way; -rewrite writes it down:\n%s", difference(string(text), got))
		})
	}
}

var stepLine = regexp.MustCompile(`^(Monday|Tuesday|Wednesday|Thursday|Friday|Saturday|Sunday) (\d\d):(\d\d)  (.+)$`)

// play tells the story again with what happened under each step.
func play(t *testing.T, text string) (told string, steps int) {
	s := newStory(t)
	defer s.end()
	var out strings.Builder
	for line := range strings.Lines(text) {
		line = strings.TrimRight(line, "\n")
		if strings.HasPrefix(line, "    ->") {
			continue // told again below
		}
		out.WriteString(line + "\n")
		m := stepLine.FindStringSubmatch(line)
		if m == nil {
			if line != "" && !strings.HasPrefix(line, "#") {
				t.Fatalf("%q is neither a step nor a remark", line)
			}
			continue
		}
		steps++
		s.clock(m[1], m[2], m[3])
		for _, said := range s.step(m[4]) {
			out.WriteString("    -> " + said + "\n")
		}
	}
	s.nothingMissing()
	return out.String(), steps
}

// difference is the lines in which two texts differ, roughly.
func difference(want, got string) string {
	var b strings.Builder
	w, g := strings.Split(want, "\n"), strings.Split(got, "\n")
	for i := range max(len(w), len(g)) {
		var x, y string
		if i < len(w) {
			x = w[i]
		}
		if i < len(g) {
			y = g[i]
		}
		if x != y {
			b.WriteString("expected: " + x + "\n     got: " + y + "\n")
			if b.Len() > 1500 {
				break
			}
		}
	}
	return b.String()
}

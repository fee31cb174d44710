package sim

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// sourceSeeds is how many seeds a mutant of the source is given, times
// mutantSeeds: the rarest need a copy, a loss and a second window together.
const sourceSeeds = 20

var onlyMutants = flag.String("only", "", "play only the mutants whose words hold this")

var mutants = flag.Bool("mutants", false, "build the product with each rule broken in its source, and play until it is noticed")

// mutant is a change of the source that breaks a rule of package replica. Where
// the rule is held twice, both places are changed.
type mutant struct {
	rule  string
	what  string
	edits []edit
}

// edit is one place. The old text must stand in the file, which lies below
// sync/, once.
type edit struct{ file, old, new string }

// TestMutants builds the simulation with one rule broken in the very code that
// the product runs, plays seeds until an invariant notices, and prints a table
// rule by rule. A mutant that survives is a failure. It takes minutes, so a
// plain run only holds the list to the source.
func TestMutants(t *testing.T) {
	root, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	rules := map[string]bool{}
	for _, m := range sourceMutants {
		rules[strings.Fields(m.rule)[0]] = true
		for _, e := range m.edits {
			text, err := os.ReadFile(filepath.Join(root, e.file))
			if err != nil {
				t.Fatal(err)
			}
			if n := strings.Count(string(text), e.old); n != 1 {
				t.Errorf("rule %s, %s: %q stands %d times in %s", m.rule, m.what, e.old, n, e.file)
			}
		}
	}
	for _, b := range Breaks {
		rules[strings.Fields(string(b))[0]] = true
	}
	for n := 1; n <= 14; n++ {
		if !rules[fmt.Sprint(n)] {
			t.Errorf("nothing breaks rule %d", n)
		}
	}
	if !*mutants || t.Failed() {
		return
	}
	fmt.Printf("%-5s %-66s %-5s %6s %6s  %s\n", "rule", "what is broken", "by", "seed", "step", "in words")
	played, survived := 0, 0
	row := func(rule, what string, f *Failure) {
		played++
		if f == nil {
			survived++
			fmt.Printf("%-5s %-66s SURVIVES\n", rule, what)
			t.Errorf("rule %s: nobody notices: %s", rule, what)
			return
		}
		fmt.Printf("%-5s %-66s %-5s %6d %6d  %.90s\n", rule, what, f.Invariant, f.Seed, f.Step, f.What)
	}
	for _, b := range Breaks {
		if *onlyMutants != "" {
			break
		}
		rule, way, _ := strings.Cut(string(b), " ")
		var f *Failure
		for s := uint64(1); s <= uint64(*mutantSeeds) && f == nil; s++ {
			errors.As(Run(Options{Seed: s, Break: b}), &f)
		}
		row(rule, "(server or disk) "+way+": "+b.what(), f)
	}
	for _, m := range sourceMutants {
		if !strings.Contains(m.what, *onlyMutants) {
			continue
		}
		f, err := m.play(root, t.TempDir())
		if err != nil {
			t.Errorf("rule %s, %s: %v", m.rule, m.what, err)
			continue
		}
		row(m.rule, m.what, f)
	}
	fmt.Printf("%d mutants, %d survive\n", played, survived)
}

var failedAt = regexp.MustCompile(`seed (\d+), step (\d+): (\w+): (.*)`)

// play builds with the mutant in place of the file and runs the seeds.
func (m mutant) play(root, dir string) (*Failure, error) {
	files := map[string]string{}
	for _, e := range m.edits {
		path := filepath.Join(root, e.file)
		if files[path] == "" {
			text, err := os.ReadFile(path)
			if err != nil {
				return nil, err
			}
			files[path] = string(text)
		}
		files[path] = strings.Replace(files[path], e.old, e.new, 1)
	}
	overlay, binary := filepath.Join(dir, "overlay.json"), filepath.Join(dir, "sim.test")
	for path, text := range files {
		changed := filepath.Join(dir, filepath.Base(path))
		if err := os.WriteFile(changed, []byte(text), 0o600); err != nil {
			return nil, err
		}
		files[path] = changed
	}
	list, err := json.Marshal(map[string]any{"Replace": files})
	if err != nil {
		return nil, err
	}
	if err := os.WriteFile(overlay, list, 0o600); err != nil {
		return nil, err
	}
	if out, err := exec.Command("go", "test", "-c", "-vet=off", "-overlay", overlay, "-o", binary, ".").CombinedOutput(); err != nil {
		return nil, fmt.Errorf("does not build: %s", out)
	}
	out, err := exec.Command(binary, "-test.run", "^TestSeeds$", "-test.timeout", "10m", "-shrink=false", "-stop",
		"-seeds", fmt.Sprint(sourceSeeds**mutantSeeds)).CombinedOutput()
	if err == nil {
		return nil, nil
	}
	found := failedAt.FindStringSubmatch(string(out))
	if found == nil { // a panic is noticed too
		return &Failure{Invariant: "panic", What: firstLine(string(out))}, nil
	}
	f := &Failure{Invariant: found[3], What: found[4]}
	_, err = fmt.Sscan(found[1]+" "+found[2], &f.Seed, &f.Step)
	return f, err
}

func firstLine(s string) string {
	for l := range strings.Lines(s) {
		if strings.HasPrefix(l, "panic") {
			return strings.TrimSpace(l)
		}
	}
	s, _, _ = strings.Cut(s, "\n")
	return s
}

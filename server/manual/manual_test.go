package manual

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

var (
	testName   = regexp.MustCompile("`((?:Test|Fuzz|Benchmark)[A-Za-z0-9_]+)`")
	testFunc   = regexp.MustCompile(`(?m)^func ((?:Test|Fuzz|Benchmark)[A-Za-z0-9_]+)\(`)
	threatRow  = regexp.MustCompile(`(?m)^\| (\d+) \|(.*)\|$`)
	promiseRow = regexp.MustCompile("(?m)^\\| (.*) ?\\| `([a-z/0-9]+)` \\| (.*) \\|$")
)

// testsOfTheTree are the folders in which each test stands, from the root of the module.
func testsOfTheTree(t *testing.T) map[string]map[string]bool {
	t.Helper()
	all := map[string]map[string]bool{}
	root := filepath.Join("..", "..")
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if n := d.Name(); n == "_library" || n == ".git" || n == "node_modules" {
				return filepath.SkipDir
			}
			return nil
		}
		// journaltest and ledgertest are suites that other packages run: their functions are tests too.
		if !strings.HasSuffix(path, ".go") {
			return nil
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		at, _ := filepath.Rel(root, filepath.Dir(path))
		for _, m := range testFunc.FindAllSubmatch(text, -1) {
			name := string(m[1])
			if all[name] == nil {
				all[name] = map[string]bool{}
			}
			all[name][filepath.ToSlash(at)] = true
		}
		return nil
	})
	if err != nil || len(all) < 100 {
		t.Fatalf("%d tests were found, %v", len(all), err)
	}
	return all
}

// TestPagesNameRealTests: every test that a page, the README or DEVELOPERS.md names exists.
func TestPagesNameRealTests(t *testing.T) {
	there := testsOfTheTree(t)
	texts := map[string]string{}
	for _, p := range Pages() {
		texts[p.Name] = p.Text
	}
	for _, f := range []string{"README.md", "DEVELOPERS.md"} {
		b, err := os.ReadFile(filepath.Join("..", "..", f))
		if err != nil {
			t.Fatal(err)
		}
		texts[f] = string(b)
	}
	for name, text := range texts {
		for _, m := range testName.FindAllStringSubmatch(text, -1) {
			if there[m[1]] == nil {
				t.Errorf("%s names %s, which is in no file", name, m[1])
			}
		}
	}
}

// TestPromisesAreHeld: each row of the promises names a package and tests of that package.
func TestPromisesAreHeld(t *testing.T) {
	there := testsOfTheTree(t)
	held, _, ok := strings.Cut(promises, "\n## Not promised")
	if !ok {
		t.Fatal("the page does not say what is not promised")
	}
	rows := promiseRow.FindAllStringSubmatch(held, -1)
	if lines := strings.Count(held, "\n| ") - 2*strings.Count(held, "\n| promise |"); len(rows) < lines || len(rows) < 80 {
		t.Errorf("%d rows were read, the page has at least %d", len(rows), lines)
	}
	for _, m := range rows {
		names := testName.FindAllStringSubmatch(m[3], -1)
		if len(names) == 0 {
			t.Errorf("%q names no test in %s", m[1], m[2])
		}
		for _, n := range names {
			if !there[n[1]][m[2]] {
				t.Errorf("%q names %s, which is not in %s", m[1], n[1], m[2])
			}
		}
	}
}

// TestThreatsNameTests: the threats are numbered without a gap, and each names a test.
func TestThreatsNameTests(t *testing.T) {
	rows := threatRow.FindAllStringSubmatch(security, -1)
	for i, m := range rows {
		if n, _ := strconv.Atoi(m[1]); n != i+1 {
			t.Errorf("row %d has the number %s", i+1, m[1])
		}
		if !testName.MatchString(m[2]) {
			t.Errorf("threat %s names no test", m[1])
		}
	}
	if len(rows) < 32 {
		t.Errorf("the page has %d threats, the list has 32", len(rows))
	}
}

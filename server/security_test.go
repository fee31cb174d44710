package main

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
	testName  = regexp.MustCompile("`((?:Test|Fuzz)[A-Za-z0-9_]+)`")
	testFunc  = regexp.MustCompile(`(?m)^func ((?:Test|Fuzz)[A-Za-z0-9_]+)\(`)
	threatRow = regexp.MustCompile(`(?m)^\| (\d+) \|(.*)\|$`)
)

// testsOfTheTree are the names of all tests.
func testsOfTheTree(t *testing.T) map[string]bool {
	t.Helper()
	all := map[string]bool{}
	err := filepath.WalkDir("..", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() && (d.Name() == "_library" || d.Name() == ".git" || d.Name() == "node_modules") {
			return filepath.SkipDir
		}
		if d.IsDir() || !strings.HasSuffix(path, "_test.go") {
			return nil
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		for _, m := range testFunc.FindAllSubmatch(text, -1) {
			all[string(m[1])] = true
		}
		return nil
	})
	if err != nil || len(all) < 100 {
		t.Fatalf("%d tests were found, %v", len(all), err)
	}
	return all
}

// TestSecurityPageNamesRealTests: every test that the security page names exists, and each of its threats names one.
func TestSecurityPageNamesRealTests(t *testing.T) {
	text, err := os.ReadFile("../DEVELOPERS.md")
	if err != nil {
		t.Fatal(err)
	}
	_, page, ok := strings.Cut(string(text), "\n## Security\n")
	if !ok {
		t.Fatal("DEVELOPERS.md has no section Security")
	}
	page, _, _ = strings.Cut(page, "\n## ")
	there := testsOfTheTree(t)
	named := testName.FindAllStringSubmatch(page, -1)
	if len(named) < 50 {
		t.Errorf("the page names %d tests", len(named))
	}
	for _, m := range named {
		if !there[m[1]] {
			t.Errorf("the page names %s, which is in no file", m[1])
		}
	}
	rows := threatRow.FindAllStringSubmatch(page, -1)
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

package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// rule is one row of testdata/imports.txt.
type rule struct {
	pattern string
	may     []string
	not     []string
}

// banned maps the groups of the table to what they forbid.
var banned = map[string][]string{
	"@pure":    {"os", "os/...", "net", "net/...", "syscall/js", "crypto/rand", "math/rand", "math/rand/...", "github.com/dgraph-io/...", "github.com/maxence-charriere/..."},
	"@nojs":    {"syscall/js"},
	"@nostore": {"github.com/dgraph-io/..."},
	"@noclock": {"crypto/rand", "math/rand", "math/rand/..."},
}

// clockGroups are the groups whose packages must not call time.Now and its kin.
var clockGroups = []string{"@pure", "@noclock"}

func readRules(t *testing.T) []rule {
	f, err := os.Open("../testdata/imports.txt")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var rules []rule
	for s := bufio.NewScanner(f); s.Scan(); {
		line := strings.TrimSpace(s.Text())
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		cells := strings.Split(line, "|")
		if len(cells) != 3 {
			t.Fatalf("row %q has %d cells, not 3", line, len(cells))
		}
		rules = append(rules, rule{strings.TrimSpace(cells[0]), strings.Fields(cells[1]), strings.Fields(cells[2])})
	}
	if len(rules) == 0 {
		t.Fatal("the table is empty")
	}
	return rules
}

func match(pattern, path string) bool {
	if rest, ok := strings.CutSuffix(pattern, "..."); ok {
		return strings.HasPrefix(path, rest) || path == strings.TrimSuffix(rest, "/")
	}
	return pattern == path
}

type listed struct {
	ImportPath, Dir string
	Imports         []string
	GoFiles         []string
}

func list(t *testing.T, goos, goarch string, patterns ...string) []listed {
	args := append([]string{"list", "-e", "-json=ImportPath,Dir,Imports,GoFiles"}, patterns...)
	cmd := exec.Command("go", args...)
	cmd.Dir = ".."
	cmd.Env = append(os.Environ(), "GOOS="+goos, "GOARCH="+goarch)
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list for %s/%s: %v", goos, goarch, err)
	}
	var all []listed
	for dec := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p listed
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			return all
		} else if err != nil {
			t.Fatal(err)
		}
		if len(p.GoFiles) > 0 {
			all = append(all, p)
		}
	}
}

// TestImports holds every package to its row of the table, on both targets.
func TestImports(t *testing.T) {
	rules := readRules(t)
	targets := []struct {
		os, arch string
		patterns []string
	}{
		{"linux", "amd64", []string{"./engine/...", "./sync/...", "./app/...", "./server/..."}},
		{"js", "wasm", []string{"./engine/...", "./sync/...", "./app/...", "./wasm/..."}},
	}
	for _, target := range targets {
		packages := list(t, target.os, target.arch, target.patterns...)
		if len(packages) < 10 {
			t.Fatalf("only %d packages found for %s", len(packages), target.os)
		}
		for _, p := range packages {
			path := strings.TrimPrefix(p.ImportPath, "unsling/")
			r, ok := find(rules, path)
			if !ok {
				t.Errorf("%s has no row in testdata/imports.txt", path)
				continue
			}
			for _, imp := range p.Imports {
				if why := forbidden(r, imp); why != "" {
					t.Errorf("%s (%s) imports %s: %s", path, target.os, imp, why)
				}
			}
			if hasAny(r.not, clockGroups) {
				for _, call := range clockCalls(t, p) {
					t.Errorf("%s reads the clock: %s", path, call)
				}
			}
		}
	}
}

func find(rules []rule, path string) (rule, bool) {
	for _, r := range rules {
		if match(r.pattern, path) {
			return r, true
		}
	}
	return rule{}, false
}

func forbidden(r rule, imp string) string {
	if own, ok := strings.CutPrefix(imp, "unsling/"); ok {
		for _, m := range r.may {
			if match(m, own) {
				return ""
			}
		}
		return "not in its row"
	}
	for _, group := range r.not {
		for _, b := range banned[group] {
			if match(b, imp) {
				return "banned by " + group
			}
		}
	}
	return ""
}

func hasAny(list, of []string) bool {
	for _, a := range list {
		for _, b := range of {
			if a == b {
				return true
			}
		}
	}
	return false
}

// clockCalls finds calls of the clock in the package's own files.
func clockCalls(t *testing.T, p listed) []string {
	var found []string
	for _, name := range p.GoFiles {
		fset := token.NewFileSet()
		f, err := parser.ParseFile(fset, filepath.Join(p.Dir, name), nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(f, func(n ast.Node) bool {
			sel, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			if id, ok := sel.X.(*ast.Ident); ok && id.Name == "time" && id.Obj == nil {
				switch sel.Sel.Name {
				case "Now", "Since", "Until", "After", "Tick", "NewTimer", "NewTicker", "AfterFunc", "Sleep":
					found = append(found, name+": time."+sel.Sel.Name)
				}
			}
			return true
		})
	}
	return found
}

// TestTableCatches shows that the check can fail.
func TestTableCatches(t *testing.T) {
	r := rule{may: []string{"engine/rom"}, not: []string{"@pure"}}
	for imp, bad := range map[string]bool{
		"unsling/engine/rom": false, "unsling/server/api": true, "os": true, "net/http": true, "syscall/js": true, "strings": false,
	} {
		if (forbidden(r, imp) != "") != bad {
			t.Errorf("import of %s: forbidden is %v", imp, !bad)
		}
	}
}

package main

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"
)

func TestMain(m *testing.M) {
	if err := os.Chdir("../../.."); err != nil {
		panic(err)
	}
	os.Exit(m.Run())
}

func here(t *testing.T) []module {
	t.Helper()
	all, err := linked(context.Background(), []platform{{runtime.GOOS, runtime.GOARCH}})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// TestBillOfMaterials: CycloneDX 1.5 (ECMA-424): the required members of the bill and of a component, a serial number that is a
// UUID, package URLs; every module with the checksum of go.sum and a licence of the SPDX list.
func TestBillOfMaterials(t *testing.T) {
	modules := here(t)
	text, err := billOfMaterials(modules)
	if err != nil {
		t.Fatal(err)
	}
	var b bill
	if err := json.Unmarshal(text, &b); err != nil {
		t.Fatal(err)
	}
	if b.Format != "CycloneDX" || b.Spec != "1.5" || b.Version != 1 || !regexp.MustCompile(`^urn:uuid:[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$`).MatchString(b.Serial) {
		t.Errorf("head of the bill: %s %s %d %s", b.Format, b.Spec, b.Version, b.Serial)
	}
	spdx := []string{"Apache-2.0", "MIT", "BSD-3-Clause", "BSD-2-Clause", "ISC", "MPL-2.0"}
	names := map[string]component{}
	for _, c := range b.Components {
		names[c.Name] = c
		if c.Type != "library" || c.Version == "" || !strings.HasPrefix(c.PURL, "pkg:golang/") || c.Ref != c.PURL || len(c.Licences) == 0 {
			t.Errorf("component %+v", c)
		}
		for _, l := range c.Licences {
			if !slices.Contains(spdx, l.License.ID) {
				t.Errorf("%s: licence %q", c.Name, l.License.ID)
			}
		}
		if c.Name != stdPath && !slices.ContainsFunc(c.Properties, func(p property) bool { return p.Name == "go:sum" && strings.HasPrefix(p.Value, "h1:") }) {
			t.Errorf("%s has no checksum", c.Name)
		}
	}
	// What the projects say of themselves on their own pages (memory).
	for name, want := range map[string]string{
		"std": "BSD-3-Clause", "github.com/dgraph-io/badger/v4": "Apache-2.0", "github.com/golang-jwt/jwt/v5": "MIT",
		"github.com/maxence-charriere/go-app/v10": "MIT", "golang.org/x/crypto": "BSD-3-Clause", "filippo.io/age": "BSD-3-Clause", "rsc.io/qr": "BSD-3-Clause",
	} {
		if c, ok := names[name]; !ok || c.Licences[0].License.ID != want {
			t.Errorf("%s: %+v, want %s", name, c.Licences, want)
		}
	}
	for _, not := range []string{"github.com/chromedp/chromedp", "pgregory.net/rapid"} {
		if _, ok := names[not]; ok {
			t.Errorf("%s is for tests and stands in the bill", not)
		}
	}
	again, _ := billOfMaterials(here(t))
	if string(again) != string(text) {
		t.Error("two bills of one source differ")
	}
}

func TestAllLicences(t *testing.T) {
	modules := here(t)
	text, err := allLicences(modules)
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range modules {
		if !strings.Contains(string(text), m.Path+" "+m.Version) {
			t.Errorf("the text has nothing of %s", m.Path)
		}
	}
	bare := t.TempDir()
	if _, err := licencesOf(module{Path: "bare", Dir: bare}); !errors.Is(err, errNoLicence) {
		t.Errorf("a module without a licence: %v", err)
	}
	if err := os.WriteFile(filepath.Join(bare, "LICENSE"), []byte("All rights reserved."), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := licencesOf(module{Path: "bare", Dir: bare}); !errors.Is(err, errNoLicence) {
		t.Errorf("a module whose licence allows nothing: %v", err)
	}
}

func TestCompare(t *testing.T) {
	a := map[string]string{"x": "1", "y": "2"}
	if d := compare(a, map[string]string{"x": "1", "y": "2"}); d != nil {
		t.Errorf("alike: %v", d)
	}
	if d := compare(a, map[string]string{"x": "1", "y": "3", "z": "4"}); !slices.Equal(d, []string{"y", "z"}) {
		t.Errorf("differ: %v", d)
	}
}

// What the checker writes on each outcome (govulncheck's own texts; the first three memory, the last seen here).
func TestVulnerabilityVerdict(t *testing.T) {
	failed := errors.New("exit status 1")
	for _, c := range []struct {
		out  string
		err  error
		said string
		bad  bool
	}{
		{"No vulnerabilities found.", nil, "none known", false},
		{"=== Symbol Results ===\nVulnerability #1: GO-2099-0001\n", failed, "found", true},
		{"govulncheck: loading database: internal error", failed, "not checked", true},
		{`govulncheck: fetching vulnerabilities: Get "https://vuln.go.dev/index/modules.json.gz": dial tcp: lookup vuln.go.dev: no such host`, failed, "not checked: no network", false},
	} {
		said, err := verdict(c.out, 1, c.err)
		if !strings.Contains(said, c.said) || (err != nil) != c.bad {
			t.Errorf("%q: said %q, %v", c.out, said, err)
		}
	}
}

func TestChecksums(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "a"), []byte("abc"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := checksums(dir); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join(dir, "SHA256SUMS"))
	// FIPS 180-4, the example of one block.
	if want := "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad  a\n"; err != nil || string(text) != want {
		t.Errorf("%q, %v", text, err)
	}
}

func TestBothBuildsNeverShareACache(t *testing.T) {
	out, err := exec.Command("go", "env", "GOCACHE").Output()
	if err != nil {
		t.Fatal(err)
	}
	err = buildTwice(t.Context(), io.Discard, t.TempDir(), strings.TrimSpace(string(out)), nil, true)
	if err == nil || !strings.Contains(err.Error(), "same cache") {
		t.Errorf("two builds with one cache compare nothing: %v", err)
	}
}

package main

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/andybalholm/brotli"
)

// project is a module with a phone's program of one line.
func project(t *testing.T) builder {
	t.Helper()
	root := t.TempDir()
	for name, text := range map[string]string{
		"go.mod":         "module example.org/phone\n\ngo 1.26.0\n",
		"wasm/main.go":   "package main\n\nfunc main() { println(1) }\n",
		"app/b/two.css":  "b {}\n",
		"app/a/one.css":  "a {}\n",
		"app/a/code.txt": "none\n",
	} {
		path := filepath.Join(root, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	b := builder{root: root, dist: filepath.Join(root, "dist"), quality: fastQuality, log: io.Discard}
	dir, err := b.cache()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.RemoveAll(dir) })
	return b
}

func files(t *testing.T, dir string) map[string]string {
	t.Helper()
	all := map[string]string{}
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		b, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		all[e.Name()] = string(b)
	}
	return all
}

func TestSameSourceSameBytesInTwoFolders(t *testing.T) {
	one, two := project(t), project(t)
	for _, b := range []builder{one, two} {
		if _, err := b.build(context.Background()); err != nil {
			t.Fatal(err)
		}
	}
	first, second := files(t, one.dist), files(t, two.dist)
	if len(first) != 5 {
		t.Errorf("files %v", first)
	}
	for name, text := range first {
		if second[name] != text {
			t.Errorf("%s differs between two folders", name)
		}
	}
	if got := first["phone.css"]; got != "/* app/a/one.css */\na {}\n/* app/b/two.css */\nb {}\n" {
		t.Errorf("style sheets: %q", got)
	}
}

func TestNothingIsCompressedAgainWithoutNeed(t *testing.T) {
	b := project(t)
	var log bytes.Buffer
	b.log = &log
	build := func() string {
		t.Helper()
		log.Reset()
		if _, err := b.build(context.Background()); err != nil {
			t.Fatal(err)
		}
		return log.String()
	}
	if first := build(); !strings.Contains(first, "compressing") {
		t.Errorf("first run: %q", first)
	}
	if again := build(); strings.Contains(again, "compressing") {
		t.Errorf("nothing changed, yet: %q", again)
	}
	b.quality = bestQuality
	if better := build(); !strings.Contains(better, "compressing") {
		t.Errorf("a better level was asked for: %q", better)
	}
	b.quality = fastQuality
	if worse := build(); strings.Contains(worse, "compressing") {
		t.Errorf("the better level is there: %q", worse)
	}
	if err := os.WriteFile(filepath.Join(b.dist, "app.wasm.br"), []byte("half"), 0o644); err != nil {
		t.Fatal(err)
	}
	if half := build(); !strings.Contains(half, "compressing") {
		t.Errorf("half a file was left in place: %q", half)
	}
	if err := os.WriteFile(filepath.Join(b.root, "wasm", "main.go"), []byte("package main\n\nfunc main() { println(22) }\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if changed := build(); !strings.Contains(changed, "compressing") {
		t.Errorf("the program changed: %q", changed)
	}
}

func TestBrokenProgramSaysWhatIsWrong(t *testing.T) {
	b := project(t)
	if err := os.WriteFile(filepath.Join(b.root, "wasm", "main.go"), []byte("package main\n\nfunc main() { undefinedName() }\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := b.build(context.Background()); err == nil || !strings.Contains(err.Error(), "undefinedName") {
		t.Errorf("error %v, want the compiler's", err)
	}
}

func TestCompressedFormsUnpackToTheSame(t *testing.T) {
	data := bytes.Repeat([]byte("shoulder "), 5000)
	gz, br, err := compress(data, bestQuality)
	if err != nil {
		t.Fatal(err)
	}
	z, err := gzip.NewReader(bytes.NewReader(gz))
	if err != nil {
		t.Fatal(err)
	}
	if !z.ModTime.IsZero() || z.Name != "" {
		t.Errorf("the gzip form names a time or file: %v %q", z.ModTime, z.Name)
	}
	for name, r := range map[string]io.Reader{"gzip": z, "brotli": brotli.NewReader(bytes.NewReader(br))} {
		if got, err := io.ReadAll(r); err != nil || !bytes.Equal(got, data) {
			t.Errorf("%s: other bytes (%v)", name, err)
		}
	}
}

func TestProgramCarriesNoServer(t *testing.T) {
	root, err := filepath.Abs("../../..")
	if err != nil {
		t.Fatal(err)
	}
	b := builder{root: root, log: io.Discard}
	flag, err := b.withoutServer(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	t.Setenv("GOOS", "js")
	t.Setenv("GOARCH", "wasm")
	t.Setenv("GOFLAGS", "-mod=mod")
	out, err := b.goCommand(context.Background(), "list", flag, "-deps", "./wasm")
	if err != nil {
		t.Fatal(err)
	}
	deps := strings.Fields(out)
	if len(deps) < 50 {
		t.Fatalf("only %d packages in the program", len(deps))
	}
	for _, dep := range deps {
		switch dep {
		case "net/http", "crypto/tls", "regexp", "math/big", "crypto/rand", "github.com/google/uuid":
			t.Errorf("the program carries %s, which it does not need in a browser", dep)
		}
	}
}

func TestLibraryThatHasChangedIsRefused(t *testing.T) {
	dir := t.TempDir()
	for _, e := range edits {
		path := filepath.Join(dir, filepath.FromSlash(e.file))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte("package other\n"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if err := remake(filepath.Join(t.TempDir(), "copy"), dir); err == nil || !strings.Contains(err.Error(), "has changed") {
		t.Errorf("error %v, want one that says the library has changed", err)
	}
}

// TestLibraryIsBroughtToAnEmptyModuleCache takes the library from a proxy made of one folder, as on a machine on which nothing
// was built before.
func TestLibraryIsBroughtToAnEmptyModuleCache(t *testing.T) {
	proxy, cache, b := t.TempDir(), t.TempDir(), project(t)
	version := "v10.0.1"
	at := filepath.Join(proxy, filepath.FromSlash(library), "@v", version)
	var pack bytes.Buffer
	z := zip.NewWriter(&pack)
	w, err := z.Create(library + "@" + version + "/go.mod")
	if err == nil {
		_, err = io.WriteString(w, "module "+library+"\n")
	}
	if err := errors.Join(err, z.Close(), os.MkdirAll(filepath.Dir(at), 0o755)); err != nil {
		t.Fatal(err)
	}
	for path, text := range map[string]string{
		at + ".info":                    `{"Version":"` + version + `"}`,
		at + ".mod":                     "module " + library + "\n",
		at + ".zip":                     pack.String(),
		filepath.Join(b.root, "go.mod"): "module example.org/phone\n\ngo 1.26.0\n\nrequire " + library + " " + version + "\n",
	} {
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	t.Setenv("GOMODCACHE", cache)
	t.Setenv("GOPROXY", "file://"+filepath.ToSlash(proxy))
	t.Setenv("GONOSUMDB", "*")
	t.Setenv("GOFLAGS", "-modcacherw") // so that the test can remove it
	got, dir, err := b.source(context.Background())
	if err != nil || got != version {
		t.Fatalf("version %q: %v", got, err)
	}
	if _, err := os.Stat(filepath.Join(dir, "go.mod")); err != nil {
		t.Error(err)
	}
}

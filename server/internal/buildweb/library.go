package main

import (
	"context"
	_ "embed"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
)

// The UI library serves pages too, and so brings net/http with its TLS into the program, where no browser can use it: a
// quarter of the compressed bytes. The program is therefore built against a copy of the library without its server half. The
// copy is made anew from the module cache for every version; an edit that no longer fits is an error, never a silent no.

const library = "github.com/maxence-charriere/go-app/v10"

// edit replaces one text of one file of the library, which must be there exactly once.
type edit struct{ file, old, new string }

var edits = []edit{
	{"pkg/app/http.go", "package app\n", "//go:build !wasm\n\npackage app\n"},
	{"pkg/app/resource.go", "import (\n\t\"net/http\"\n\t\"strings\"\n)", "import \"strings\""},
	{"pkg/app/resource.go", "\t\tHandler:   http.FileServer(http.Dir(directory)),\n", ""},
	{"pkg/app/resource.go", "\thttp.Handler\n", ""},
	{"pkg/app/wasm.go", "h *Handler", "h any"},
	// regexp brings all tables of Unicode, for one route that is a prefix
	{"pkg/app/route.go", "import (\n\t\"regexp\"\n\t\"sync\"\n)", "import \"sync\""},
	{"pkg/app/route.go", "regexp.MustCompile(pattern)", "mustPrefix(pattern)"},
	{"pkg/app/route.go", "*regexp.Regexp", "prefix"},
	// states that are kept encrypted, and ids, bring ciphers, big numbers and hashes of old; the browser has its own
	{"pkg/app/crypto.go", "package app\n", "//go:build !wasm\n\npackage app\n"},
	{"pkg/app/context.go", "\t\"github.com/google/uuid\"\n", ""},
	{"pkg/app/context.go", "uuid.NewString()", "newID()"},
	{"pkg/app/state.go", "\t\"github.com/google/uuid\"\n", ""},
	{"pkg/app/state.go", "uuid.NewString()", "newID()"},
}

// slim stands in the copy for what the edits have taken out.
//
//go:embed slim.go.txt
var slim []byte

// copyName is where the copy stands below the module, since the path becomes part of the program: it must be the same
// everywhere. The folder is ignored by git and by the go command.
const copyName = "server/web/_library"

// source is the version of the library that go.mod asks for, and the folder of it in the module cache, which is filled first
// where nothing was built before.
func (b builder) source(ctx context.Context) (version, dir string, err error) {
	for _, bring := range []bool{false, true} {
		if bring {
			if _, err := b.goCommand(ctx, "mod", "download", library); err != nil {
				return "", "", err
			}
		}
		out, err := b.goCommand(ctx, "list", "-m", "-f", "{{.Version}} {{.Dir}}", library)
		if err != nil {
			return "", "", err
		}
		if version, dir, _ = strings.Cut(strings.TrimSpace(out), " "); dir != "" {
			return version, dir, nil
		}
	}
	return "", "", fmt.Errorf("%s %s was brought, but stands nowhere", library, version)
}

// withoutServer makes the copy and a go.mod that uses it, and gives the flag that makes the go command do so.
func (b builder) withoutServer(ctx context.Context) (flag string, err error) {
	version, dir, err := b.source(ctx)
	if err != nil {
		return "", err
	}
	top := filepath.Join(b.root, filepath.FromSlash(copyName))
	mark := filepath.Join(top, "made-from")
	want := fmt.Sprintf("%s %v\n%s", version, edits, slim)
	if got, err := os.ReadFile(mark); err != nil || string(got) != want {
		if err := remake(top, dir); err != nil {
			return "", err
		}
		if err := os.WriteFile(mark, []byte(want), 0o644); err != nil {
			return "", err
		}
	}
	for _, name := range []string{"go.mod", "go.sum"} {
		text, err := os.ReadFile(filepath.Join(b.root, name))
		if err != nil {
			return "", err
		}
		if name == "go.mod" {
			text = append(text, []byte("\nreplace "+library+" => ./"+copyName+"/copy\n")...)
		}
		if err := writeIfChanged(filepath.Join(top, "build."+strings.TrimPrefix(name, "go.")), text); err != nil {
			return "", err
		}
	}
	return "-modfile=" + filepath.FromSlash(copyName+"/build.mod"), nil
}

// remake copies the library's program files and makes the edits.
func remake(top, dir string) error {
	if err := os.RemoveAll(top); err != nil {
		return err
	}
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(dir, path)
		if err != nil {
			return err
		}
		to := filepath.Join(top, "copy", rel)
		if d.IsDir() {
			return os.MkdirAll(to, 0o755)
		}
		if name := d.Name(); strings.HasSuffix(name, "_test.go") || filepath.Ext(name) != ".go" && name != "go.mod" && !strings.HasPrefix(name, "LICENSE") {
			return nil
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		return os.WriteFile(to, text, 0o644)
	})
	if err != nil {
		return fmt.Errorf("copy the UI library: %w", err)
	}
	for _, e := range edits {
		path := filepath.Join(top, "copy", filepath.FromSlash(e.file))
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		if n := strings.Count(string(text), e.old); n != 1 {
			return fmt.Errorf("the UI library has changed: %q stands %d times in %s, not once", e.old, n, e.file)
		}
		if err := os.WriteFile(path, []byte(strings.Replace(string(text), e.old, e.new, 1)), 0o644); err != nil {
			return err
		}
	}
	return os.WriteFile(filepath.Join(top, "copy", "pkg", "app", "slim_wasm.go"), slim, 0o644)
}

func (b builder) goCommand(ctx context.Context, args ...string) (string, error) {
	cmd := exec.CommandContext(ctx, "go", args...)
	cmd.Dir = b.root
	var errs strings.Builder
	cmd.Stderr = &errs
	out, err := cmd.Output()
	if err != nil {
		return "", fmt.Errorf("go %s: %w\n%s", args[0], err, strings.TrimSpace(errs.String()))
	}
	return string(out), nil
}

package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
)

// budget is the most the brotli-compressed program may weigh, in bytes (2.0 MB).
const budget = 2_000_000

// info is build.json: what the server must know of the program that it embeds. Sizes in bytes, hash in hex.
type info struct {
	Wasm    string `json:"wasm"`    // SHA-256 of the uncompressed program
	Raw     int    `json:"raw"`     // its size
	Gzip    int    `json:"gzip"`    // size of app.wasm.gz
	Brotli  int    `json:"brotli"`  // size of app.wasm.br
	Quality int    `json:"quality"` // brotli level used
}

type builder struct {
	root, dist string
	quality    int
	slim       bool // without what a browser cannot use
	log        io.Writer
}

// inlined are the packages whose small functions are called in loops (memory, maps, text, sorting, numbers, hashes). In all
// others copies of small functions would only make the download longer: 5 % of it. They cost a tenth of the time in which a
// year of records is folded.
var inlined = []string{
	"runtime", "runtime/...", "internal/runtime/...", "internal/bytealg", "internal/strconv", "internal/sync", "sync", "sync/atomic",
	"bytes", "strings", "strconv", "unicode/utf8", "slices", "sort", "math", "math/bits", "crypto/...", "hash/crc32", "compress/flate",
}

// build brings dist up to date and says what is in it.
func (b builder) build(ctx context.Context) (info, error) {
	if err := os.MkdirAll(b.dist, 0o755); err != nil {
		return info{}, err
	}
	if err := b.copyLoader(ctx); err != nil {
		return info{}, err
	}
	if err := b.gatherStyles(); err != nil {
		return info{}, err
	}
	wasm, err := b.compile(ctx)
	if err != nil {
		return info{}, err
	}
	sum := sha256.Sum256(wasm)
	hash := hex.EncodeToString(sum[:])
	if old, ok := b.upToDate(hash); ok {
		return old, nil
	}
	return b.pack(wasm, hash)
}

// compile builds ./wasm into the build folder of the system's cache, not into dist: all of dist is embedded.
func (b builder) compile(ctx context.Context) ([]byte, error) {
	dir, err := b.cache()
	if err != nil {
		return nil, err
	}
	kept := filepath.Join(dir, "app.wasm")
	args := []string{"build", "-trimpath", "-buildvcs=false", "-ldflags=-s -w"}
	if b.slim {
		flag, err := b.withoutServer(ctx)
		if err != nil {
			return nil, err
		}
		args = append(args, flag, "-gcflags=all=-l")
		for _, pattern := range inlined {
			args = append(args, "-gcflags="+pattern+"=") // the last pattern that fits a package counts
		}
	}
	done := step(b.log, "building the phone's program")
	cmd := exec.CommandContext(ctx, "go", append(args, "-o", kept, "./wasm")...)
	cmd.Dir = b.root
	cmd.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm", "CGO_ENABLED=0", "GOFLAGS=-mod=mod")
	var errs bytes.Buffer
	cmd.Stderr = &errs
	err = cmd.Run()
	done()
	if err != nil {
		return nil, fmt.Errorf("go build ./wasm: %w\n%s", err, strings.TrimSpace(errs.String()))
	}
	return os.ReadFile(kept)
}

// copyLoader copies wasm_exec.js of the tool chain that builds the program: the two must match.
func (b builder) copyLoader(ctx context.Context) error {
	out, err := b.goCommand(ctx, "env", "GOROOT")
	if err != nil {
		return err
	}
	root := strings.TrimSpace(out)
	for _, dir := range []string{"lib/wasm", "misc/wasm"} { // misc/wasm until Go 1.23
		js, err := os.ReadFile(filepath.Join(root, filepath.FromSlash(dir), "wasm_exec.js"))
		if err == nil {
			return writeIfChanged(filepath.Join(b.dist, "wasm_exec.js"), js)
		}
	}
	return fmt.Errorf("no wasm_exec.js below %s: this Go installation is not complete", root)
}

// gatherStyles writes phone.css: each package of the app brings its style sheet beside its code.
func (b builder) gatherStyles() error {
	var css bytes.Buffer
	top := filepath.Join(b.root, "app")
	err := filepath.WalkDir(top, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || filepath.Ext(path) != ".css" {
			return err
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(b.root, path)
		fmt.Fprintf(&css, "/* %s */\n%s\n", filepath.ToSlash(rel), bytes.TrimSpace(text))
		return err
	})
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("gather style sheets: %w", err)
	}
	return writeIfChanged(filepath.Join(b.dist, "phone.css"), css.Bytes())
}

// upToDate reports whether dist already holds this program at this compression or a better one.
func (b builder) upToDate(hash string) (info, bool) {
	var old info
	text, err := os.ReadFile(filepath.Join(b.dist, "build.json"))
	if err != nil || json.Unmarshal(text, &old) != nil || old.Wasm != hash || old.Quality < b.quality {
		return info{}, false
	}
	return old, fileSize(filepath.Join(b.dist, "app.wasm.br")) == old.Brotli &&
		fileSize(filepath.Join(b.dist, "app.wasm.gz")) == old.Gzip
}

// pack compresses the program and writes build.json last, so that a run that was cut short is repeated.
func (b builder) pack(wasm []byte, hash string) (info, error) {
	done := step(b.log, "compressing %.1f MB (gzip 9, brotli %d)", float64(len(wasm))/1e6, b.quality)
	gz, br, err := compress(wasm, b.quality)
	done()
	if err != nil {
		return info{}, err
	}
	i := info{Wasm: hash, Raw: len(wasm), Gzip: len(gz), Brotli: len(br), Quality: b.quality}
	text, err := json.Marshal(i)
	if err != nil {
		return info{}, err
	}
	for _, f := range []struct {
		name string
		data []byte
	}{{"app.wasm.gz", gz}, {"app.wasm.br", br}, {"build.json", append(text, '\n')}} {
		if err := writeIfChanged(filepath.Join(b.dist, f.name), f.data); err != nil {
			return info{}, err
		}
	}
	return i, nil
}

// cache is a folder that outlives the run, one per work tree: go build relinks only when its last output is still there.
func (b builder) cache() (string, error) {
	top, err := os.UserCacheDir()
	if err != nil {
		top = os.TempDir()
	}
	abs, err := filepath.Abs(b.root)
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256([]byte(abs))
	dir := filepath.Join(top, "unsling-build", hex.EncodeToString(sum[:8]))
	return dir, os.MkdirAll(dir, 0o755)
}

func fileSize(path string) int {
	st, err := os.Stat(path)
	if err != nil {
		return -1
	}
	return int(st.Size())
}

// writeIfChanged leaves an equal file alone, so that the server is not linked again, and never leaves half a file.
func writeIfChanged(path string, data []byte) error {
	if old, err := os.ReadFile(path); err == nil && bytes.Equal(old, data) {
		return nil
	}
	tmp, err := os.CreateTemp(filepath.Dir(path), ".new-*")
	if err != nil {
		return err
	}
	defer os.Remove(tmp.Name())
	if _, err := tmp.Write(data); err != nil {
		tmp.Close()
		return err
	}
	if err := tmp.Close(); err != nil {
		return err
	}
	if err := os.Chmod(tmp.Name(), 0o644); err != nil {
		return err
	}
	return os.Rename(tmp.Name(), path)
}

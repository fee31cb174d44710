package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"sort"
	"strings"
	"time"
)

// newest names the last commit, once: others may commit while this runs.
func newest(ctx context.Context) (string, error) {
	out, err := exec.CommandContext(ctx, "git", "rev-parse", "HEAD").Output()
	if err != nil {
		return "", fmt.Errorf("the last commit: %w", err)
	}
	return strings.TrimSpace(string(out)), nil
}

// tree unpacks the source of a commit into a folder: what is not committed is in no release.
func tree(ctx context.Context, commit, to string) error {
	if err := os.MkdirAll(to, 0o755); err != nil {
		return err
	}
	pack := exec.CommandContext(ctx, "git", "archive", "--format=tar", commit)
	unpack := exec.CommandContext(ctx, "tar", "-x", "-C", to)
	var err error
	if unpack.Stdin, err = pack.StdoutPipe(); err != nil {
		return err
	}
	if err := unpack.Start(); err != nil {
		return fmt.Errorf("unpack the source: %w", err)
	}
	if err := errors.Join(pack.Run(), unpack.Wait()); err != nil {
		return fmt.Errorf("take the source of %s: %w", commit, err)
	}
	return nil
}

// environment is all that a build sees besides the source.
func environment(cache string) []string {
	env := []string{"GOTOOLCHAIN=" + toolchain, "GOFLAGS=-mod=mod -trimpath", "CGO_ENABLED=0", "GOAMD64=v1", "GOARM64=v8.0", "LC_ALL=C", "TZ=UTC", "GOCACHE=" + cache}
	for _, name := range []string{"PATH", "HOME", "GOPROXY", "GOSUMDB", "GOMODCACHE", "GONOSUMDB", "GOPRIVATE", "SSL_CERT_FILE"} {
		if v, ok := os.LookupEnv(name); ok {
			env = append(env, name+"="+v)
		}
	}
	return env
}

func goCommand(ctx context.Context, dir string, env []string, args ...string) error {
	cmd := exec.CommandContext(ctx, "go", args...)
	cmd.Dir, cmd.Env = dir, env
	if text, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("go %s: %w\n%s", strings.Join(args, " "), err, strings.TrimSpace(string(text)))
	}
	return nil
}

// buildOnce builds everything from a copy of the source and gives the hash of each file by its name.
func buildOnce(ctx context.Context, commit, top, cache string, list []platform, quick bool) (map[string]string, error) {
	if err := tree(ctx, commit, top); err != nil {
		return nil, err
	}
	// buildweb keeps its own things there.
	env := append(environment(cache), "XDG_CACHE_HOME="+filepath.Join(filepath.Dir(top), "cache"))
	args := []string{"run", "./server/internal/buildweb"}
	if quick {
		args = append(args, "-fast")
	}
	if err := goCommand(ctx, top, env, args...); err != nil {
		return nil, err
	}
	sums := map[string]string{}
	for _, name := range []string{"app.wasm.br", "app.wasm.gz", "wasm_exec.js", "phone.css", "build.json"} {
		if err := sum(sums, filepath.Join(top, "server", "web", "dist", name), "dist/"+name); err != nil {
			return nil, err
		}
	}
	for _, p := range list {
		at := filepath.Join(top, p.file())
		err := goCommand(ctx, top, append(env, "GOOS="+p.os, "GOARCH="+p.arch), "build", "-trimpath", "-buildvcs=false", "-ldflags=-s -w -buildid=", "-o", at, "./server")
		if err != nil {
			return nil, err
		}
		if err := sum(sums, at, p.file()); err != nil {
			return nil, err
		}
	}
	return sums, nil
}

func sum(into map[string]string, path, name string) error {
	data, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	h := sha256.Sum256(data)
	into[name] = hex.EncodeToString(h[:])
	return nil
}

// buildTwice builds in two folders of different length, the second with the build cache given or an empty one,
// compares every file, and puts the programs into out.
func buildTwice(ctx context.Context, log io.Writer, out, second string, list []platform, quick bool) error {
	work, err := os.MkdirTemp("", "unsling-release-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(work)
	warm, err := exec.CommandContext(ctx, "go", "env", "GOCACHE").Output()
	if err != nil {
		return fmt.Errorf("the build cache: %w", err)
	}
	if second == "" {
		second = filepath.Join(work, "empty-cache")
	} else if second, err = filepath.Abs(second); err != nil {
		return err
	}
	caches := []string{strings.TrimSpace(string(warm)), second}
	if caches[0] == caches[1] {
		return errors.New("both builds would use the same cache, and so one compiler run")
	}
	commit, err := newest(ctx)
	if err != nil {
		return err
	}
	tops := []string{filepath.Join(work, "a", "source"), filepath.Join(work, "another", "place", "with", "a", "longer", "path", "source")}
	var all []map[string]string
	for i, top := range tops {
		begin := time.Now()
		sums, err := buildOnce(ctx, commit, top, caches[i], list, quick)
		if err != nil {
			return fmt.Errorf("build %d of 2: %w", i+1, err)
		}
		fmt.Fprintf(log, "build %d of 2: %d files in %.0f s\n", i+1, len(sums), time.Since(begin).Seconds())
		all = append(all, sums)
	}
	if differ := compare(all[0], all[1]); len(differ) > 0 {
		return fmt.Errorf("two builds of one source differ: %s", strings.Join(differ, ", "))
	}
	for _, p := range list {
		data, err := os.ReadFile(filepath.Join(tops[0], p.file()))
		if err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(out, p.file()), data, 0o755); err != nil {
			return err
		}
	}
	return nil
}

// compare names the files that are not alike, or only in one of the two.
func compare(a, b map[string]string) (differ []string) {
	for name, h := range a {
		if b[name] != h {
			differ = append(differ, name)
		}
	}
	for name := range b {
		if _, ok := a[name]; !ok {
			differ = append(differ, name)
		}
	}
	sort.Strings(differ)
	return differ
}

// checksums writes SHA256SUMS, as sha256sum --check reads it.
func checksums(out string) error {
	entries, err := os.ReadDir(out)
	if err != nil {
		return err
	}
	var text strings.Builder
	for _, e := range entries {
		sums := map[string]string{}
		if err := sum(sums, filepath.Join(out, e.Name()), e.Name()); err != nil {
			return err
		}
		fmt.Fprintf(&text, "%s  %s\n", sums[e.Name()], e.Name())
	}
	return os.WriteFile(filepath.Join(out, "SHA256SUMS"), []byte(text.String()), 0o644)
}

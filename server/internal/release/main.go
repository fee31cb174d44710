// Command release makes what is handed out: the server for each platform with the phone's program inside, the bill of
// materials, the licences of everything that is linked, what is known about vulnerabilities, and checksums.
//
// Everything is built twice, in two folders with two build caches, and the bytes are compared: whoever has the source and
// the tool chain named in toolchain can make the same files and need not trust ours.
//
// Usage, from the top of the module:
//
//	go run ./server/internal/release [-out bin/release] [-quick] [-cache FOLDER]
//
// -quick builds for this platform only and compresses less, as a check of each change does; nothing of it is to be handed out.
// -cache names a build cache for the second build, which others filled in another folder; without it that one begins empty.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"runtime"
)

// Fixed versions of what makes a release. Another tool chain makes other bytes.
const (
	toolchain   = "go1.26.8"
	vulnChecker = "golang.org/x/vuln/cmd/govulncheck@v1.9.0"
)

// platforms are those that a release is made for.
var platforms = []platform{{"linux", "amd64"}, {"linux", "arm64"}}

type platform struct{ os, arch string }

func (p platform) file() string { return "unsling-" + p.os + "-" + p.arch }

func main() {
	out := flag.String("out", filepath.Join("bin", "release"), "folder for the result; what is in it is removed")
	quick := flag.Bool("quick", false, "this platform only, compressed less: a check, not for handing out")
	cache := flag.String("cache", "", "build cache of the second build; empty: a new one")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx, os.Stdout, *out, *cache, *quick); err != nil {
		fmt.Fprintln(os.Stderr, "release:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, log io.Writer, out, cache string, quick bool) error {
	if _, err := os.Stat("go.mod"); err != nil {
		return errors.New("no go.mod here: run it from the top of the module")
	}
	make := platforms
	if quick {
		make = []platform{{runtime.GOOS, runtime.GOARCH}}
	}
	if err := os.RemoveAll(out); err != nil {
		return err
	}
	if err := os.MkdirAll(out, 0o755); err != nil {
		return err
	}
	if err := buildTwice(ctx, log, out, cache, make, quick); err != nil {
		return err
	}
	modules, err := linked(ctx, make)
	if err != nil {
		return err
	}
	for _, p := range make {
		if err := agrees(filepath.Join(out, p.file()), modules); err != nil {
			return err
		}
	}
	bill, err := billOfMaterials(modules)
	if err != nil {
		return err
	}
	licences, err := allLicences(modules)
	if err != nil {
		return err
	}
	for name, data := range map[string][]byte{"sbom.cdx.json": bill, "LICENCES.txt": licences} {
		if err := os.WriteFile(filepath.Join(out, name), data, 0o644); err != nil {
			return err
		}
	}
	said, err := vulnerabilities(ctx, filepath.Join(out, make[0].file()))
	fmt.Fprintln(log, said)
	if err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(out, "VULNERABILITIES.txt"), []byte(said+"\n"), 0o644); err != nil {
		return err
	}
	if err := checksums(out); err != nil {
		return err
	}
	fmt.Fprintf(log, "release: %s, %d modules, built twice, alike: %s\n", toolchain, len(modules)-1, out)
	return nil
}

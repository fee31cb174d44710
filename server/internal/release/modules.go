package main

import (
	"bufio"
	"bytes"
	"context"
	"debug/buildinfo"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"sort"
	"strings"
)

// module is something that is linked into the server or into the phone's program.
type module struct {
	Path, Version string
	Dir           string // where its files are
	Sum           string // of go.sum: "h1:..."
	In            []string
}

// stdPath is the Go standard library, which is linked like any module.
const stdPath = "std"

// linked lists the modules of all packages that end up in a program, the standard library first, then by path. What only
// tests or tools need is not among them.
func linked(ctx context.Context, list []platform) ([]module, error) {
	sums, err := readSums("go.sum")
	if err != nil {
		return nil, err
	}
	found := map[string]*module{stdPath: {Path: stdPath, Version: strings.TrimPrefix(toolchain, "go"), Dir: goRoot(ctx)}}
	targets := []struct {
		name, pkg string
		platform
	}{{"the phone's program", "./wasm", platform{"js", "wasm"}}}
	for _, p := range list {
		targets = append(targets, struct {
			name, pkg string
			platform
		}{"the server for " + p.os + "/" + p.arch, "./server", p})
	}
	for _, t := range targets {
		cmd := exec.CommandContext(ctx, "go", "list", "-deps", "-json=ImportPath,Standard,Module", t.pkg)
		cmd.Env = append(os.Environ(), "GOOS="+t.os, "GOARCH="+t.arch, "CGO_ENABLED=0", "GOFLAGS=-mod=mod")
		out, err := cmd.Output()
		if err != nil {
			return nil, fmt.Errorf("list what is linked into %s: %w", t.name, err)
		}
		seen := map[string]bool{}
		for d := json.NewDecoder(bytes.NewReader(out)); d.More(); {
			var p struct {
				ImportPath string
				Standard   bool
				Module     *struct {
					Path, Version, Dir string
					Main               bool
				}
			}
			if err := d.Decode(&p); err != nil {
				return nil, fmt.Errorf("list what is linked into %s: %w", t.name, err)
			}
			path := stdPath
			if !p.Standard {
				if p.Module == nil || p.Module.Main {
					continue
				}
				path = p.Module.Path
				if found[path] == nil {
					m := &module{Path: path, Version: p.Module.Version, Dir: p.Module.Dir, Sum: sums[path+" "+p.Module.Version]}
					if m.Sum == "" || m.Dir == "" {
						return nil, fmt.Errorf("%s %s: no checksum in go.sum or no files", path, m.Version)
					}
					found[path] = m
				}
			}
			if !seen[path] {
				seen[path] = true
				found[path].In = append(found[path].In, t.name)
			}
		}
	}
	var all []module
	for _, m := range found {
		all = append(all, *m)
	}
	sort.Slice(all, func(i, k int) bool {
		if (all[i].Path == stdPath) != (all[k].Path == stdPath) {
			return all[i].Path == stdPath
		}
		return all[i].Path < all[k].Path
	})
	return all, nil
}

// agrees checks the list against what the linker wrote into a program: a module that is in it and not on the list would be in
// no bill.
func agrees(program string, modules []module) error {
	info, err := buildinfo.ReadFile(program)
	if err != nil {
		return fmt.Errorf("what is in %s: %w", filepath.Base(program), err)
	}
	if info.GoVersion != toolchain {
		return fmt.Errorf("%s was built by %s, not by %s", filepath.Base(program), info.GoVersion, toolchain)
	}
	version := map[string]string{}
	for _, m := range modules {
		version[m.Path] = m.Version
	}
	for _, d := range info.Deps {
		if version[d.Path] != d.Version {
			return fmt.Errorf("%s holds %s %s, the list has %q", filepath.Base(program), d.Path, d.Version, version[d.Path])
		}
	}
	if len(info.Deps) == 0 {
		return fmt.Errorf("%s says nothing of its modules", filepath.Base(program))
	}
	return nil
}

func goRoot(ctx context.Context) string {
	out, err := exec.CommandContext(ctx, "go", "env", "GOROOT").Output()
	if err != nil {
		return runtime.GOROOT() //nolint:staticcheck // the go command does not answer: what the program was built with
	}
	return strings.TrimSpace(string(out))
}

// readSums reads go.sum: the checksum of each module's files, by "path version".
func readSums(name string) (map[string]string, error) {
	data, err := os.ReadFile(name)
	if err != nil {
		return nil, err
	}
	sums := map[string]string{}
	for s := bufio.NewScanner(bytes.NewReader(data)); s.Scan(); {
		if f := strings.Fields(s.Text()); len(f) == 3 && !strings.HasSuffix(f[1], "/go.mod") {
			sums[f[0]+" "+f[1]] = f[2]
		}
	}
	return sums, nil
}

// licence is one file in which a module says how it may be used.
type licence struct {
	Name, Text string
	ID         string // SPDX, "" when it is none that we know
}

var errNoLicence = errors.New("no licence file")

// licencesOf reads the licence and notice files at the top of a module.
func licencesOf(m module) ([]licence, error) {
	entries, err := os.ReadDir(m.Dir)
	if err != nil {
		return nil, err
	}
	var out []licence
	for _, e := range entries {
		upper := strings.ToUpper(e.Name())
		is := false
		for _, begin := range []string{"LICENSE", "LICENCE", "COPYING", "NOTICE", "UNLICENSE"} {
			is = is || strings.HasPrefix(upper, begin)
		}
		if !is || e.IsDir() || strings.HasSuffix(upper, ".GO") {
			continue
		}
		text, err := os.ReadFile(filepath.Join(m.Dir, e.Name()))
		if err != nil {
			return nil, err
		}
		out = append(out, licence{e.Name(), string(text), identify(string(text))})
	}
	for _, l := range out {
		if l.ID != "" {
			return out, nil
		}
	}
	return nil, fmt.Errorf("%s %s: %w that we know in %s", m.Path, m.Version, errNoLicence, m.Dir)
}

// identify names a licence text by sentences that only it has (SPDX licence list 3; the texts themselves are the source).
func identify(text string) string {
	flat := strings.Join(strings.Fields(text), " ")
	has := func(parts ...string) bool {
		for _, p := range parts {
			if !strings.Contains(flat, p) {
				return false
			}
		}
		return true
	}
	switch {
	case has("Apache License", "Version 2.0, January 2004", "Grant of Patent License"):
		return "Apache-2.0"
	case has("Mozilla Public License Version 2.0", "Covered Software"), has("Mozilla Public License, version 2.0", "Covered Software"):
		return "MPL-2.0"
	case has("Permission is hereby granted, free of charge", "The above copyright notice and this permission notice shall be included"):
		return "MIT"
	case has("Redistribution and use in source and binary forms", "Neither the name"):
		return "BSD-3-Clause"
	case has("Redistribution and use in source and binary forms"):
		return "BSD-2-Clause"
	case has("Permission to use, copy, modify, and/or distribute this software for any purpose with or without fee"):
		return "ISC"
	}
	return ""
}

// allLicences is one text with the licences of everything that is linked.
func allLicences(modules []module) ([]byte, error) {
	var out bytes.Buffer
	own, err := os.ReadFile("LICENSE")
	if err != nil {
		return nil, err
	}
	fmt.Fprintf(&out, "Unsling\n\n%s\n", own)
	for _, m := range modules {
		list, err := licencesOf(m)
		if err != nil {
			return nil, err
		}
		for _, l := range list {
			fmt.Fprintf(&out, "%s\n%s %s: %s (%s)\nlinked into %s\n\n%s\n", strings.Repeat("=", 80), m.Path, m.Version, l.Name, l.ID,
				strings.Join(m.In, ", "), strings.TrimSpace(l.Text))
		}
	}
	return out.Bytes(), nil
}

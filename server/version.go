package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"runtime"
	"runtime/debug"

	"unsling/server/web"
)

func version(_ context.Context, args []string, out, errs io.Writer) error {
	f := flags("version", "unsling version prints the versions of the program and of the phone's app inside it.", errs)
	if err := parse(f, args, os.Getenv); err != nil {
		return err
	}
	site, err := web.Load()
	if err != nil {
		return err
	}
	commit := "unknown"
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, s := range info.Settings {
			if s.Key == "vcs.revision" {
				commit = s.Value
			}
		}
	}
	app := site.Version()
	if !site.Built() {
		app = "not built in"
	}
	fmt.Fprintf(out, "unsling, commit %s, app %s, %s\n", commit, app, runtime.Version())
	return nil
}

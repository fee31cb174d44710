package main

import (
	"context"
	"fmt"
	"io"
	"os"

	"unsling/engine/protocol"
)

const checkHelp = `unsling check-protocol FILE reads a protocol file and names every fault with its
line: gaps between weeks, a limit above anatomy, a class that falls back, an
exercise that its own phase does not permit, a missing source. The protocols
that come with the program are in engine/protocol/data/protocols.`

func checkProtocol(_ context.Context, args []string, out, errs io.Writer) error {
	f := flags("check-protocol", checkHelp, errs)
	if err := parse(f, args, os.Getenv); err != nil {
		return err
	}
	if f.NArg() != 1 {
		return wrong("check-protocol needs one file")
	}
	text, err := os.ReadFile(f.Arg(0))
	if err != nil {
		return err
	}
	faults := protocol.Check(text)
	for _, x := range faults {
		fmt.Fprintf(out, "%s:%d: %s: %s\n", f.Arg(0), x.Line, x.Path, x.Reason)
	}
	if len(faults) > 0 {
		return fmt.Errorf("%s has %d faults", f.Arg(0), len(faults))
	}
	p, err := protocol.Parse(text)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "%s: %s version %d, %d phases, no faults; its weakest value is marked %s\n", f.Arg(0), p.ID, p.Version, len(p.Phases), p.Weakest())
	return nil
}

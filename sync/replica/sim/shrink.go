package sim

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// Shrink looks for a smaller run of the same seed that fails as well: fewer
// kinds of trouble, fewer steps. It returns how to play it and how it fails.
func Shrink(o Options, f *Failure) (Options, *Failure) {
	best := *f
	try := func(o Options) bool {
		o.Log = nil
		var g *Failure
		if !errors.As(Run(o), &g) {
			return false
		}
		best = *g
		return true
	}
	for _, k := range Kinds {
		less := o
		less.Off = append(slices.Clone(o.Off), k)
		if try(less) {
			o = less
		}
	}
	if o.Steps == 0 {
		o.Steps = 400
	}
	for cut := o.Steps / 2; cut > 0; {
		less := o
		less.Steps -= cut
		if less.Steps > 0 && try(less) {
			o = less
		} else {
			cut /= 2
		}
	}
	return o, &best
}

// Tell returns what happened in a failing run, one event a line with its step
// in front, and how it ended. Of a long run it tells the beginning and the end.
func Tell(o Options) string {
	const begin, end = 20, 40
	var lines []string
	o.Log = func(format string, args ...any) { lines = append(lines, fmt.Sprintf(format, args...)) }
	err := Run(o)
	var b strings.Builder
	fmt.Fprintf(&b, "seed %d, %d steps", o.Seed, o.Steps)
	if len(o.Off) > 0 {
		fmt.Fprintf(&b, ", without %v", o.Off)
	}
	b.WriteByte('\n')
	if n := len(lines) - begin - end; n > 0 {
		lines = slices.Concat(lines[:begin], []string{fmt.Sprintf("      (%d events more)", n)}, lines[len(lines)-end:])
	}
	for _, l := range lines {
		b.WriteString("  " + l + "\n")
	}
	fmt.Fprintf(&b, "  ends: %v\n", err)
	return b.String()
}

// Again is the command that plays a run again.
func Again(o Options) string {
	off := make([]string, len(o.Off))
	for i, k := range o.Off {
		off[i] = string(k)
	}
	return fmt.Sprintf("go test -v ./sync/replica/sim -run TestSeeds -args -seed %d -steps %d -off %q", o.Seed, o.Steps, strings.Join(off, ","))
}

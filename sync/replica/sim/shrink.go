package sim

import (
	"errors"
	"fmt"
	"slices"
)

// Shrink looks for a smaller run of the same seed that fails as well: fewer
// kinds of trouble, fewer steps. The failure it returns says which.
func Shrink(o Options, f *Failure) *Failure {
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
	best.What += fmt.Sprintf(" (in %d steps without %v)", o.Steps, o.Off)
	return &best
}

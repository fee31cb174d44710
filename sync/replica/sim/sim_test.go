package sim

import (
	"errors"
	"flag"
	"strings"
	"testing"
)

var (
	seed   = flag.Int64("seed", -1, "play this seed only, and tell what happens")
	less   = flag.String("off", "", "kinds of trouble to leave out, with commas between")
	steps  = flag.Int("steps", 0, "how many steps to play")
	shrink = flag.Bool("shrink", true, "look for a smaller run that fails as well")
	seeds  = flag.Int("seeds", 50, "how many seeds to play")
	first  = flag.Uint64("first", 1, "the first of them")
)

func TestSeeds(t *testing.T) {
	if *seed >= 0 {
		o := Options{Seed: uint64(*seed), Steps: *steps, Log: t.Logf}
		for k := range strings.SplitSeq(*less, ",") {
			o.Off = append(o.Off, Kind(k))
		}
		if err := Run(o); err != nil {
			t.Fatal(err)
		}
		return
	}
	if *seeds < 1 {
		t.Fatal("no seed to play")
	}
	for s := *first; s < *first+uint64(*seeds); s++ {
		if err := Run(Options{Seed: s}); err != nil {
			var f *Failure
			if errors.As(err, &f) && *shrink {
				f = Shrink(Options{Seed: s}, f)
			}
			t.Errorf("%v\nplay it again: go test ./sync/replica/sim -run TestSeeds -seed %d", f, s)
		}
	}
	t.Logf("seeds %d to %d played", *first, *first+uint64(*seeds)-1)
}

var mutantSeeds = flag.Int("mutant-seeds", 150, "how many seeds may be needed to see that a rule is broken")

// TestBreaks goes against each rule in turn; some seed has to notice.
func TestBreaks(t *testing.T) {
	for _, b := range Breaks {
		t.Run(string(b), func(t *testing.T) {
			for s := uint64(1); s <= uint64(*mutantSeeds); s++ {
				var f *Failure
				if err := Run(Options{Seed: s, Break: b}); errors.As(err, &f) {
					t.Logf("noticed with seed %d, step %d: %s", s, f.Step, f.Invariant)
					return
				}
			}
			t.Errorf("nobody notices in %d seeds", *mutantSeeds)
		})
	}
}

package sim

import (
	"errors"
	"flag"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
)

var (
	seed   = flag.Int64("seed", -1, "play this seed only, and tell what happens")
	less   = flag.String("off", "", "kinds of trouble to leave out, with commas between")
	steps  = flag.Int("steps", 0, "how many steps to play")
	shrink = flag.Bool("shrink", true, "look for a smaller run that fails as well")
	stop   = flag.Bool("stop", false, "stop at the first seed that fails")
	seeds  = flag.Int("seeds", usual, "how many seeds to play")
	first  = flag.Uint64("first", 1, "the first of them")
)

// TestSeeds plays seeds, side by side; each is a world of its own.
func TestSeeds(t *testing.T) {
	if *seed >= 0 {
		o := Options{Seed: uint64(*seed), Steps: *steps, Log: t.Logf}
		for k := range strings.SplitSeq(*less, ",") {
			if k != "" && !slices.Contains(Kinds, Kind(k)) {
				t.Fatalf("there is no kind of trouble %q: %v", k, Kinds)
			}
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
	most := int32(5) // more of them tell nothing new
	if *stop {
		most = 1
	}
	var next atomic.Uint64
	var failed atomic.Int32
	var all sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		all.Go(func() {
			for failed.Load() < most {
				n := next.Add(1) - 1
				if n >= uint64(*seeds) {
					return
				}
				o := Options{Seed: *first + n, Steps: *steps}
				err := Run(o)
				if err == nil {
					continue
				}
				failed.Add(1)
				t.Error(report(o, err))
			}
		})
	}
	all.Wait()
	t.Logf("seeds %d to %d played", *first, *first+uint64(*seeds)-1)
}

// report is what a person needs to understand a failure.
func report(o Options, err error) string {
	var f *Failure
	if !errors.As(err, &f) || !*shrink {
		return err.Error()
	}
	small, g := Shrink(o, f)
	return fmt.Sprintf("%v\nthe smallest run found: %v\n%splay it again: %s", f, g, Tell(small), Again(small))
}

// A failure is told as a short story: who did what, in order, with the same
// end every time it is played.
func TestFailureIsTold(t *testing.T) {
	o := Options{Break: "3 gap"}
	var f *Failure
	for o.Seed = 1; !errors.As(Run(o), &f); o.Seed++ {
		if o.Seed > 100 {
			t.Fatal("nobody notices")
		}
	}
	small, g := Shrink(o, f)
	if small.Steps >= 400 || len(small.Off) == 0 {
		t.Errorf("not smaller: %+v", small)
	}
	told := Tell(small)
	t.Log("\n" + told)
	if told != Tell(small) {
		t.Error("played again it is another story")
	}
	if !strings.Contains(told, "ends: "+g.Error()) || !strings.Contains(told, "phone 1") || strings.Count(told, "\n") > 70 {
		t.Errorf("not readable:\n%s", told)
	}
	if again := Again(small); !strings.Contains(again, fmt.Sprint("-seed ", o.Seed)) || !strings.Contains(again, fmt.Sprint("-steps ", small.Steps)) {
		t.Errorf("how to play it again: %s", again)
	}
}

// mutantSeeds is how many seeds may be needed to see that a rule is broken.
var mutantSeeds = flag.Int("mutant-seeds", 150, "how many seeds may be needed to see that a rule is broken")

// TestBreaks goes against each rule in turn; some seed has to notice.
func TestBreaks(t *testing.T) {
	for _, b := range Breaks {
		t.Run(string(b), func(t *testing.T) {
			t.Parallel()
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

// TestKeptSeeds plays what once failed, product or model.
func TestKeptSeeds(t *testing.T) {
	for _, c := range []struct {
		what string
		o    Options
	}{
		{"the disk flips a bit of a salt after the line was read to be moved, before the move is written: the line is moved all the same",
			Options{Seed: 3107057857, Steps: 150, Off: []Kind{"evict", "roll back", "clock", "rejoin"}}},
		{"a second window takes the cursor back, and the store loses what the first had pulled", Options{Seed: 7001906}},
		{"two copies wrote one number and one phone has moved both records: what takes one of them back takes back the same one in any order",
			Options{Seed: 9000844, Steps: 206, Off: []Kind{"rejoin"}}},
		{"and by the run of the app in which it was written, where a copy's record has the name", Options{Seed: 9000844}},
	} {
		for _, k := range c.o.Off {
			if !slices.Contains(Kinds, k) {
				t.Fatalf("there is no kind of trouble %q: %v", k, Kinds)
			}
		}
		if err := Run(c.o); err != nil {
			t.Errorf("%s: %v", c.what, err)
		}
	}
}

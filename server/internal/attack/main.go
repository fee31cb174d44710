// Command attack tries the threats of the security page (server/manual) on the real server: it builds the program, lets it
// make an invented clinic in a folder of its own, starts it as for real use on the loopback address, and attacks it from
// there. It prints threat by threat "held" or "broken" with what was tried, or why a threat does not apply, and fails when one
// is broken.
//
// Usage, from the top of the module:
//
//	go run ./server/internal/attack
package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"time"
)

func main() {
	binary := flag.String("binary", "", "the program to attack; built when not given")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx, os.Stdout, *binary); err != nil {
		fmt.Fprintln(os.Stderr, "attack:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, out io.Writer, binary string) error {
	work, err := os.MkdirTemp("", "unsling-attack-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(work)
	t, err := newTarget(ctx, work, binary, "")
	if err != nil {
		return err
	}
	defer t.kill()
	a, err := begin(ctx, t, t.base)
	if err != nil {
		return err
	}
	broken, err := a.all(out)
	if err != nil {
		return err
	}
	if broken > 0 {
		return fmt.Errorf("%d threats are broken", broken)
	}
	return nil
}

// threat is one row of the list.
type threat struct {
	n    int
	name string
	// not says why it does not apply here; try still runs, and shows that the thing is not there.
	not string
	// try attacks. tried says what was done; an error says what got through.
	try func(*assault) (tried string, err error)
}

// all tries every threat, in order, and prints how each ended.
func (a *assault) all(out io.Writer) (broken int, err error) {
	list := threats()
	if len(list) == 0 {
		return 0, fmt.Errorf("no threats to try")
	}
	begin := time.Now()
	for _, t := range list {
		tried, err := a.one(t)
		switch {
		case err != nil:
			broken++
			fmt.Fprintf(out, "threat %2d  BROKEN  %s: %v\n", t.n, t.name, err)
		case t.not != "":
			fmt.Fprintf(out, "threat %2d  does not apply  %s: %s (%s)\n", t.n, t.name, t.not, tried)
		default:
			fmt.Fprintf(out, "threat %2d  held  %s: %s\n", t.n, t.name, tried)
		}
	}
	fmt.Fprintf(out, "%d threats, %d broken, %.0f s\n", len(list), broken, time.Since(begin).Seconds())
	return broken, nil
}

// one survives an attack that itself fails in a way nobody thought of: that is no proof that the server held.
func (a *assault) one(t threat) (tried string, err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("the attack failed: %v", r)
		}
	}()
	return t.try(a)
}

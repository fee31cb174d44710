package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"

	"unsling/server/manual"
)

// command is one verb of the program.
type command struct {
	name, line string
	run        func(ctx context.Context, args []string, out, errs io.Writer) error
}

var commands = []command{
	{"serve", "run the server for real use", serve},
	{"demo", "run it with an invented clinic", demo},
	{"staff", "add people of the clinic, or end their access", staff},
	{"verify", "check a data folder: chains, checksums, facts", verify},
	{"backup", "write an encrypted backup of a data folder", backUp},
	{"verify-backup", "check a backup, or drill its restore", verifyBackup},
	{"restore", "make a data folder from a backup", restore},
	{"keys", "make, save and rotate keys", keys},
	{"migrate", "bring a data folder of an older version up to this one", migrate},
	{"audit", "check the chain of the audit log", audit},
	{"export", "write everything about a patient, for people and machines", exportPatient},
	{"erase", "erase a patient for ever; takes two people", erase},
	{"check-protocol", "check a protocol file, line by line", checkProtocol},
	{"explain", "print every rule evaluated for a patient and a date", explain},
	{"version", "print the version", version},
}

func main() {
	private()
	limitMemory(os.Getenv)
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if err := dispatch(ctx, os.Args[1:], os.Stdout, os.Stderr); err != nil {
		if !errors.Is(err, flag.ErrHelp) {
			fmt.Fprintln(os.Stderr, "unsling:", err)
		}
		os.Exit(exitCode(err))
	}
}

// exitCode is 0 for help, 2 for a wrong call, 1 for anything else.
func exitCode(err error) int {
	var wrong *usageError
	switch {
	case errors.Is(err, flag.ErrHelp):
		return 0
	case errors.As(err, &wrong):
		return 2
	}
	return 1
}

// usageError is a wrong call, in one sentence.
type usageError struct{ text string }

func (e *usageError) Error() string { return e.text }

func wrong(format string, args ...any) error { return &usageError{fmt.Sprintf(format, args...)} }

func dispatch(ctx context.Context, args []string, out, errs io.Writer) error {
	if len(args) == 0 || args[0] == "help" || args[0] == "-h" || args[0] == "--help" {
		return help(args, out)
	}
	for _, c := range commands {
		if c.name == args[0] {
			return c.run(ctx, args[1:], out, errs)
		}
	}
	return wrong("there is no command %q; try: unsling help", args[0])
}

// help prints a page of the manual, or what there is.
func help(args []string, out io.Writer) error {
	if len(args) < 2 {
		usage(out)
		return nil
	}
	page, ok := manual.Find(args[1])
	if !ok {
		return wrong("there is no page %q; try: unsling help", args[1])
	}
	_, err := io.WriteString(out, page.Text)
	return err
}

func usage(w io.Writer) {
	fmt.Fprintln(w, "Unsling: regaining passive shoulder motion after surgery, at home and in the clinic's sight.")
	fmt.Fprintln(w)
	for _, c := range commands {
		fmt.Fprintf(w, "  unsling %-15s %s\n", c.name, c.line)
	}
	fmt.Fprintln(w)
	for _, p := range manual.Pages() {
		fmt.Fprintf(w, "  unsling help %-10s %s\n", p.Name, p.Line)
	}
	fmt.Fprintln(w, "\nEach command explains itself with -h. It supports a clinic's judgement and makes no diagnosis.")
}

// flags makes the flag set of a command with its help.
func flags(name, help string, errs io.Writer) *flag.FlagSet {
	f := flag.NewFlagSet("unsling "+name, flag.ContinueOnError)
	f.SetOutput(errs)
	f.Usage = func() {
		fmt.Fprintf(errs, "%s\n\n", help)
		f.PrintDefaults()
	}
	return f
}

// parse reads flags and then the environment: a flag not given on the command
// line takes UNSLING_ and its name in capitals, such as UNSLING_DATA.
func parse(f *flag.FlagSet, args []string, getenv func(string) string) error {
	if err := f.Parse(args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			return err
		}
		return wrong("%v", err)
	}
	given := map[string]bool{}
	f.Visit(func(x *flag.Flag) { given[x.Name] = true })
	var bad error
	f.VisitAll(func(x *flag.Flag) {
		key := envName(x.Name)
		if v := getenv(key); v != "" && !given[x.Name] && bad == nil {
			if err := f.Set(x.Name, v); err != nil {
				bad = wrong("%s is set to something that --%s does not take", key, x.Name)
			}
		}
	})
	return bad
}

func envName(flag string) string {
	b := []byte("UNSLING_" + flag)
	for i, c := range b {
		switch {
		case c == '-':
			b[i] = '_'
		case c >= 'a' && c <= 'z':
			b[i] = c - 32
		}
	}
	return string(b)
}

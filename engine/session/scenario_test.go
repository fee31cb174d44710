package session

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/engine/verdict"
)

// rewrite writes what the machine says into the scenario files. Read the
// diff: it is the change of behaviour.
var rewrite = flag.Bool("rewrite", false, "rewrite the scenario files")

// TestScenarios runs every file of testdata. A line is a command; the lines
// after it that begin with "|" are what the phone does.
func TestScenarios(t *testing.T) {
	files, _ := filepath.Glob("testdata/*.txt")
	if len(files) < 10 {
		t.Fatalf("found %d scenario files", len(files))
	}
	for _, f := range files {
		t.Run(strings.TrimSuffix(filepath.Base(f), ".txt"), func(t *testing.T) {
			b, err := os.ReadFile(f)
			if err != nil {
				t.Fatal(err)
			}
			got := play(t, string(b))
			if *rewrite {
				if err := os.WriteFile(f, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
				return
			}
			if got != string(b) {
				t.Errorf("behaviour changed; run with -rewrite and read the diff.\ngot:\n%s", got)
			}
		})
	}
}

// player plays one scenario on an invented clock.
type player struct {
	t    *testing.T
	c    Config
	m    *Machine
	now  Millis
	kept []byte
	out  *strings.Builder
	last string
}

func play(t *testing.T, text string) string {
	p := &player{t: t, out: &strings.Builder{}, c: Config{
		Episode: "e1", ID: "s1", Due: 1, Slot: 1, Phase: "protect", PainCap: 3, Timing: DefaultTiming(),
	}}
	for line := range strings.Lines(text) {
		line = strings.TrimRight(line, "\n")
		if strings.HasPrefix(line, "|") {
			continue
		}
		fmt.Fprintln(p.out, line)
		w := strings.Fields(line)
		if len(w) == 0 || strings.HasPrefix(w[0], "#") {
			continue
		}
		p.command(w)
	}
	return p.out.String()
}

func (p *player) command(w []string) {
	arg := func(i int) string {
		if i >= len(w) {
			p.t.Fatalf("%q: too few words", strings.Join(w, " "))
		}
		return w[i]
	}
	num := func(i int) int {
		n, err := strconv.Atoi(arg(i))
		if err != nil {
			p.t.Fatalf("%q: %v", strings.Join(w, " "), err)
		}
		return n
	}
	span := func(i int) Millis {
		d, err := time.ParseDuration(arg(i))
		if err != nil {
			p.t.Fatalf("%q: %v", strings.Join(w, " "), err)
		}
		return Millis(d.Milliseconds())
	}
	switch w[0] {
	case "cap":
		p.c.PainCap = num(1)
	case "exercise": // exercise ID MOTION CLASS limit N|open hold N reps N rest N
		it := Item{Prescription: rom.Prescription{Exercise: rom.ExerciseID(arg(1)), Motion: rom.Motion(arg(2)), From: rom.Source{Key: "test", Mark: rom.Clinic}}}
		if it.Motion == "-" {
			it.Motion = ""
		}
		if err := it.Class.UnmarshalText([]byte(arg(3))); err != nil {
			p.t.Fatal(err)
		}
		it.Limit = rom.Limit{Motion: it.Motion, Class: rom.Passive, From: it.From}
		if it.Limit.Open = arg(5) == "open"; !it.Limit.Open && it.Motion != "" {
			it.Limit.Ceiling = rom.Deg(num(5))
		}
		it.Dose = rom.Dose{Hold: num(7), Reps: num(9), Rest: num(11), PerDay: 3}
		if it.Motion == "" {
			it.Limit = rom.Limit{}
		}
		p.c.Items = append(p.c.Items, it)
	case "open":
		m, out, err := New(p.c, p.now)
		if err != nil {
			p.t.Fatal(err)
		}
		p.m = m
		p.print(out)
	case "tap":
		p.step(Event{Kind: EventKind(arg(1))})
	case "pain":
		k := PainNow
		switch {
		case p.m.d.State == Asking:
			k = PainAfter
		case p.m.d.State == Ready && !p.m.d.Started:
			k = PainBefore
		}
		p.step(Event{Kind: k, Score: num(1)})
	case "skip":
		p.step(Event{Kind: Skip, Why: rom.SkipReason(arg(1))})
	case "stop":
		p.step(Event{Kind: Stop, Stop: rom.StopReason(arg(1))})
	case "count-by-tap":
		p.step(Event{Kind: ByTap, Flag: arg(1) == "on"})
	case "measure": // measure DEGREES [near|likely|passed]
		p.step(Event{Kind: Measured, Angle: rom.Deg(num(1)), Tier: verdict.Tier(arg(2))})
	case "wait":
		for end := p.now + span(1); p.now < end; {
			p.now += 250
			p.step(Event{Kind: Tick})
		}
	case "sleep": // the phone sleeps: no events, the clock goes on
		p.now += span(1)
		p.step(Event{Kind: Tick})
	case "clock-back":
		p.now -= span(1)
		p.step(Event{Kind: Tick})
	case "kill":
		p.m = nil
	case "resume": // resume after DURATION
		d, err := DecodeDraft(p.kept)
		if err != nil {
			p.t.Fatal(err)
		}
		p.now = 77_000 // another start of the app, another zero of its clock
		m, out, err := Resume(d, p.now, int(span(2)/1000))
		if err != nil {
			p.t.Fatal(err)
		}
		p.m, p.last = m, ""
		p.print(out)
	case "abandon":
		d, err := DecodeDraft(p.kept)
		if err != nil {
			p.t.Fatal(err)
		}
		s, err := Abandon(d)
		if err != nil {
			p.t.Fatal(err)
		}
		p.record(s)
	case "plan": // plan stop | plan limit MOTION N | plan close EXERCISE | plan lock MOTION
		p.step(Event{Kind: Changed, To: p.change(w)})
	default:
		p.t.Fatalf("unknown command %q", w[0])
	}
}

func (p *player) change(w []string) *Change {
	c := &Change{Stopped: w[1] == "stop", PainCap: p.c.PainCap}
	for _, it := range p.c.Items {
		row := it.Limit
		if w[1] == "limit" && string(it.Motion) == w[2] {
			n, _ := strconv.Atoi(w[3])
			row.Open, row.Ceiling = false, rom.Deg(n)
		}
		if w[1] == "lock" && string(it.Motion) == w[2] {
			continue
		}
		if it.Motion != "" {
			c.Limits = append(c.Limits, row)
		}
	}
	if w[1] == "close" {
		c.Closed = append(c.Closed, rom.ExerciseID(w[2]))
	}
	return c
}

func (p *player) step(e Event) {
	e.At = p.now
	out := p.m.Step(e)
	if out.Ignored {
		fmt.Fprintf(p.out, "| ignored\n")
		return
	}
	p.print(out)
}

// print shows a moment when something happened in it.
func (p *player) print(o Output) {
	var s strings.Builder
	v := o.View
	place := fmt.Sprintf("%s %s %d/%d", v.State, v.Exercise, v.Rep, v.Reps)
	if v.State == Asking || v.State == Finished || v.State == Stopped {
		place = string(v.State)
	}
	if v.Notice != "" {
		place += " [" + string(v.Notice) + "]"
	}
	if v.Aim != nil && v.State == Ready {
		place += fmt.Sprintf(" aim %s limit %s", v.Aim, v.Limit)
	}
	if place != p.last {
		s.WriteString(place)
		p.last = place
	}
	for _, x := range o.Say {
		if x.Key == SayCount { // three lines before every state would hide the rest
			continue
		}
		fmt.Fprintf(&s, " say:%s", strings.TrimPrefix(x.Key, "say."))
		if x.N != 0 {
			fmt.Fprintf(&s, ":%d", x.N)
		}
	}
	if o.Tone != "" && o.Tone != ToneTick {
		fmt.Fprintf(&s, " tone:%s", o.Tone)
	}
	if o.Tier != verdict.Within {
		fmt.Fprintf(&s, " tier:%s", o.Tier)
	}
	if o.Call != NoCall {
		fmt.Fprintf(&s, " CALL %s", map[Urgency]string{CallToday: "today", CallNow: "NOW"}[o.Call])
	}
	if o.Keep != nil {
		b, err := o.Keep.Encode()
		if err != nil {
			p.t.Fatal(err)
		}
		p.kept = b
		fmt.Fprintf(&s, " keep(%d counted)", v.Counted)
	}
	if s.Len() > 0 {
		fmt.Fprintf(p.out, "| %5.1fs %s\n", float64(p.now)/1000, strings.TrimSpace(s.String()))
	}
	if o.Record != nil {
		p.record(*o.Record)
	}
}

func (p *player) record(s rom.Session) {
	if err := s.Validate(); err != nil {
		p.t.Fatal(err)
	}
	score := func(n *int) string {
		if n == nil {
			return "-"
		}
		return strconv.Itoa(*n)
	}
	fmt.Fprintf(p.out, "|   record %s %s seconds %d resumed %d pain %s/%s/%s\n", s.Ended, s.Stop, s.Seconds, s.Resumed, score(s.Before), score(s.Worst), score(s.After))
	for _, it := range s.Items {
		fmt.Fprintf(p.out, "|   record %s", it.Exercise)
		for _, h := range it.Holds {
			fmt.Fprintf(p.out, " %.1fs", float64(h.Tenths)/10)
			if !h.Counted {
				fmt.Fprint(p.out, "(short)")
			}
			if h.Angle != nil {
				fmt.Fprintf(p.out, "@%s", h.Angle)
			}
		}
		if it.Skipped != "" {
			fmt.Fprintf(p.out, " skipped: %s", it.Skipped)
		}
		fmt.Fprintln(p.out)
	}
}

package review

import (
	"fmt"
	"math/rand"
	"strings"
	"testing"

	"unsling/engine/gonio"
	"unsling/engine/rom"
)

const marginHead = `PART 3, when is a reading clearly over a limit: the margin in standard errors
The margin is a value of the protocol (over_margin, "CHOICE derived": no source, for the
surgeon to choose; 1 until changed). Own SEM 7. Passed means the finding "limit passed": once
beyond the margin, or over twice running. Sound courses end at the aim, 7 below the
limit, judged weekly for 26 weeks. The others truly pass it on every day of weeks 2 to 6, or on
one measured day only; missed are those without the finding four weeks after the end.

`

// marginCourse is a course by how far beyond the limit of passive elevation
// the arm truly goes in weeks 2 to 6.
type marginCourse struct {
	name   string
	beyond float64
	once   bool // on one measured day only
	draw   func(*rand.Rand) person
	seed   int64
}

func marginCourses() []marginCourse {
	tuned, fresh := cohort(controlFF, controlER, false), heldOut(172.4, 58.7, false)
	return []marginCourse{
		{"sound, as in part 1", 0, false, tuned, 0},
		{"sound, held out", 0, false, fresh, heldOutSeed},
		{"5 beyond", 5, false, fresh, heldOutSeed + 1_000_000},
		{"10 beyond", 10, false, fresh, heldOutSeed + 2_000_000},
		{"15 beyond", 15, false, fresh, heldOutSeed + 3_000_000},
		{"10 beyond, one day", 10, true, fresh, heldOutSeed + 4_000_000},
		{"20 beyond, one day", 20, true, fresh, heldOutSeed + 5_000_000},
	}
}

var margins = []rom.Margin{100, 164, 200}

// marginTally counts one kind of course under one margin.
type marginTally struct {
	courses, passed int
	weeks, fired    int
	near            int
	late            []int // days from the first true pass
}

// sitMargin is sit with a true pass of the limit.
func sitMargin(r *rand.Rand, c marginCourse, m rom.Margin) *tale {
	p := c.draw(r)
	if c.beyond > 0 {
		was, day := p.ff, float64(21+7*r.Intn(3))
		limit := 120 + c.beyond
		p.ff = func(d float64) float64 {
			if d < 14 || d >= 42 || c.once && (d < day || d >= day+3) { // readings lie three and four days apart
				return min(was(d), 113)
			}
			return limit
		}
		p.reckless = c.beyond
	}
	tl := sit(r, p)
	tl.newest.Margin = m
	tl.newest.TellMargin()
	tl.h.Plans[len(tl.h.Plans)-1].Body = tl.newest
	return tl
}

func runMargin(c marginCourse, m rom.Margin, courses int) marginTally {
	var t marginTally
	for i := range courses {
		tl := sitMargin(rand.New(rand.NewSource(c.seed+int64(i))), c, m)
		last, first, near := studyWeeks*7, 0, false
		if c.beyond > 0 {
			last = 70
		}
		for day := 7; day <= last; day += 7 {
			tl.in.Phones[0].Contact, tl.in.Phones[0].Following = surgery.Add(day), tl.newest.Rev
			f, _ := gather(tl.upTo(day), "e1", surgery.Add(day), tl.in)
			fired := false
			for _, j := range evalLimits(f, limitRules[0]) {
				if j.finding == nil || c.beyond > 0 && j.finding.Motion != rom.ForwardFlexion {
					continue
				}
				fired = fired || j.finding.Class == LimitPassed
				near = near || j.finding.Class == LimitNear
			}
			t.weeks++
			if fired {
				t.fired++
				if first == 0 {
					first = day
				}
			}
		}
		t.courses++
		if near {
			t.near++
		}
		if first > 0 {
			t.passed++
			t.late = append(t.late, max(first-14, 0))
		}
	}
	return t
}

func runMargins(courses int, progress func(string)) map[string]marginTally {
	out := map[string]marginTally{}
	for _, c := range marginCourses() {
		for _, m := range margins {
			out[marginKey(c, m)] = runMargin(c, m, courses)
			progress(fmt.Sprintf("%s, %s", c.name, m))
		}
	}
	return out
}

func marginKey(c marginCourse, m rom.Margin) string { return fmt.Sprint(c.name, m) }

func printMargins(all map[string]marginTally) string {
	var b strings.Builder
	fmt.Fprintf(&b, "  %-22s %-22s %10s %10s %16s %9s %12s\n", "course", "margin", "passed", "missed", "of 100 judgings", "near", "median days")
	for _, c := range marginCourses() {
		for _, m := range margins {
			t := all[marginKey(c, m)]
			share := func(n, of int) float64 { return 100 * float64(n) / float64(max(of, 1)) }
			missed, late := "", ""
			if c.beyond > 0 {
				missed = fmt.Sprintf("%.1f %%", share(t.courses-t.passed, t.courses))
				if !c.once && len(t.late) > 0 {
					late = fmt.Sprint(quantile(t.late, .5))
				}
			}
			row := fmt.Sprintf("  %-22s %-22s %8.1f %% %10s %16.2f %7.1f %% %12s", c.name, m, share(t.passed, t.courses), missed, share(t.fired, t.weeks), share(t.near, t.courses), late)
			b.WriteString(strings.TrimRight(row, " ") + "\n")
		}
	}
	return b.String()
}

// A wider margin never finds more, never warns earlier, and leaves two in a
// row alone: whatever is over twice running is passed under every margin.
func TestMarginOrder(t *testing.T) {
	const courses = 6
	all := runMargins(courses, func(string) {})
	for _, c := range marginCourses() {
		for i := 1; i < len(margins); i++ {
			narrow, wide := all[marginKey(c, margins[i-1])], all[marginKey(c, margins[i])]
			if wide.passed > narrow.passed || wide.fired > narrow.fired {
				t.Errorf("%s: %d passed at %s, %d at %s", c.name, wide.passed, margins[i], narrow.passed, margins[i-1])
			}
		}
		if n := all[marginKey(c, 200)].passed; c.beyond == 15 && n < courses-1 {
			t.Errorf("%s: %d of %d found at two standard errors", c.name, n, courses)
		}
	}
	row := rom.Limit{Motion: rom.ForwardFlexion, Class: rom.Passive, Ceiling: rom.Deg(120), Margin: 200}
	for _, x := range []struct {
		angle, overs int
		want         gonio.Tier
	}{{120, 0, gonio.Within}, {121, 0, gonio.Close}, {134, 0, gonio.Close}, {135, 0, gonio.Over}, {121, 1, gonio.Over}} {
		if got := gonio.Judge(rom.Deg(x.angle), rom.Deg(7), row, x.overs); got != x.want {
			t.Errorf("%d of 120, error 7, margin 2, %d before: %q, want %q", x.angle, x.overs, got, x.want)
		}
	}
}

package trend

import (
	"bufio"
	"flag"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// reference is one series of testdata/reference.txt, made by statsmodels
// (UnobservedComponents and KalmanSmoother); the script stands beside it.
type reference struct {
	name   string
	q      noise
	pr     prior
	days   []int
	steps  []step
	loglik float64
	state  map[int][6]float64
	slip   map[int]float64
	jump   map[int]float64
}

func references(t *testing.T) []reference {
	t.Helper()
	file, err := os.Open("testdata/reference.txt")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	var out []reference
	in := bufio.NewScanner(file)
	for in.Scan() {
		line := in.Text()
		kind, rest, _ := strings.Cut(line, " ")
		var r *reference
		if len(out) > 0 {
			r = &out[len(out)-1]
		}
		read := func(into ...any) {
			if n, err := fmt.Sscan(rest, into...); err != nil || n != len(into) {
				t.Fatalf("line %q: %v", line, err)
			}
		}
		var day int
		var x float64
		switch kind {
		case "#":
		case "series":
			out = append(out, reference{state: map[int][6]float64{}, slip: map[int]float64{}, jump: map[int]float64{}})
			r = &out[len(out)-1]
			read(&r.name, &r.q.level, &r.q.slope, &r.pr.p[0][0], &r.pr.p[1][1], &r.pr.p[2][2])
		case "obs":
			var s step
			own := 0
			read(&day, &s.y, &s.r, &own)
			s.own = own == 1
			if n := len(r.days); n > 0 {
				s.days = day - r.days[n-1]
			} else {
				r.pr.mean = vec{s.y, 0, 0}
			}
			r.days, r.steps = append(r.days, day), append(r.steps, s)
		case "loglik":
			read(&r.loglik)
		case "state":
			var v [6]float64
			read(&day, &v[0], &v[1], &v[2], &v[3], &v[4], &v[5])
			r.state[day] = v
		case "slip":
			read(&day, &x)
			r.slip[day] = x
		case "jump":
			read(&day, &x)
			r.jump[day] = x
		default:
			t.Fatalf("unknown line %q", line)
		}
	}
	if len(out) < 4 {
		t.Fatalf("found %d reference series, want 4", len(out))
	}
	return out
}

func near(a, b, tol float64) bool { return math.Abs(a-b) <= tol*(1+math.Abs(b)) }

// Reference library: statsmodels 0.13.5.
func TestSmootherAgreesWithStatsmodels(t *testing.T) {
	checked := 0
	for _, r := range references(t) {
		if got := filter(r.steps, r.pr, r.q); !near(got, r.loglik, 1e-7) {
			t.Errorf("%s: log likelihood %.8f, statsmodels %.8f", r.name, got, r.loglik)
		}
		smooth(r.steps)
		for i, d := range r.days {
			if i+1 < len(r.days) && r.days[i+1] == d {
				continue // the state of a day is that after its last reading
			}
			s, want := r.steps[i], r.state[d]
			got := [6]float64{s.s[0], s.s[1], s.s[2], s.sp[0][0], s.sp[1][1], s.sp[2][2]}
			for j := range got {
				checked++
				if !near(got[j], want[j], 1e-7) {
					t.Errorf("%s day %d, part %d: %.9f, statsmodels %.9f", r.name, d, j, got[j], want[j])
				}
			}
			if want, ok := r.slip[d]; ok && !near(s.slip, want, 1e-5) {
				t.Errorf("%s day %d: slip %.7f, statsmodels %.7f", r.name, d, s.slip, want)
			}
			if want, ok := r.jump[d]; ok && !near(s.jump, want, 1e-4) {
				t.Errorf("%s day %d: jump %.6f, statsmodels %.6f", r.name, d, s.jump, want)
			}
		}
	}
	if checked < 200 {
		t.Fatalf("only %d values were compared", checked)
	}
}

// A gap of n days equals n steps of one day: the slow twin of forward.
func TestForwardEqualsDailySteps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := vec{rapid.Float64Range(-50, 200).Draw(t, "level"), rapid.Float64Range(-3, 3).Draw(t, "slope"), 1}
		p := mat{{20, 1, 0.5}, {1, 0.4, 0.1}, {0.5, 0.1, 3}}
		q := noise{rapid.Float64Range(0, 1).Draw(t, "ql"), rapid.Float64Range(0, 0.1).Draw(t, "qs")}
		n := rapid.IntRange(0, 400).Draw(t, "days")
		ga, gp := forward(a, p, n, 0, q)
		for range n {
			a, p = forward(a, p, 1, 0, q)
		}
		for i := range ga {
			if !near(ga[i], a[i], 1e-9) {
				t.Fatalf("state %d: %v, day by day %v", i, ga[i], a[i])
			}
			for j := range gp[i] {
				if !near(gp[i][j], p[i][j], 1e-9) {
					t.Fatalf("variance %d %d: %v, day by day %v", i, j, gp[i][j], p[i][j])
				}
			}
		}
	})
}

// A reading that is skipped changes nothing: smoothing without it gives the
// same states everywhere else.
func TestSkippedReadingChangesNothing(t *testing.T) {
	for _, r := range references(t) {
		k := len(r.steps) / 2
		if r.steps[k].days == 0 || r.steps[k+1].days == 0 {
			k--
		}
		r.steps[k].skip = true
		filter(r.steps, r.pr, r.q)
		smooth(r.steps)
		short := append([]step{}, r.steps[:k]...)
		next := r.steps[k+1]
		next.days += r.steps[k].days
		short = append(append(short, next), r.steps[k+2:]...)
		filter(short, r.pr, r.q)
		smooth(short)
		for i, s := range short {
			full := r.steps[i]
			if i >= k {
				full = r.steps[i+1]
			}
			if !near(s.s[0], full.s[0], 1e-8) || !near(s.sp[0][0], full.sp[0][0], 1e-7) {
				t.Errorf("%s step %d: %v with the reading left out, %v without it", r.name, i, full.s, s.s)
			}
		}
	}
}

// The same bits natively and under js/wasm: testdata/bits.txt was written
// natively (go test -run SameBits -rewrite) and both targets read it.
var rewrite = flag.Bool("rewrite", false, "write testdata/bits.txt from this run")

func TestSameBitsOnBothTargets(t *testing.T) {
	var b strings.Builder
	for _, r := range references(t) {
		l := filter(r.steps, r.pr, r.q)
		smooth(r.steps)
		fmt.Fprintf(&b, "%s %016x", r.name, math.Float64bits(l))
		for _, s := range r.steps {
			fmt.Fprintf(&b, " %016x %016x", math.Float64bits(s.s[0]), math.Float64bits(s.sp[0][0]))
		}
		b.WriteString("\n")
	}
	if *rewrite {
		if err := os.WriteFile("testdata/bits.txt", []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile("testdata/bits.txt")
	if err != nil {
		t.Fatal(err)
	}
	if b.String() != string(want) {
		t.Errorf("bits differ from those of the committed run:\n%s", b.String())
	}
}

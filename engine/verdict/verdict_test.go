package verdict

import (
	"math"
	"math/rand"
	"testing"
	"time"

	"unsling/engine/rom"
)

// The people of these tests are invented.

var (
	surgery = rom.MakeDate(2026, time.March, 2)
	source  = rom.Source{Key: "test", Mark: rom.Practice}
)

// told is a history with one phase from the day of surgery on.
func told(limits ...rom.Limit) rom.History {
	e := rom.Episode{ID: "e", Version: 1, State: rom.Ongoing, Side: rom.Right, Procedures: []rom.Procedure{rom.CuffRepair}, Surgery: surgery,
		ConfirmedBy: "s", SideBy: "t", ConfirmedOn: surgery, By: "s"}
	p := rom.Plan{Episode: "e", Rev: 1, State: rom.Running, By: "s", On: surgery, Reason: "x", WakeFrom: 480, WakeTo: 1260, Contact: rom.Contact{Phone: "1"},
		Phases: []rom.Phase{{Key: "p", Sling: rom.SlingOff, PainCap: 3, Basis: source, Limits: limits}}}
	p.TellPassedFrom()
	return rom.History{
		Episodes: []rom.Entry[rom.Episode]{{Meta: rom.Meta{At: surgery.Add(-9).Time()}, Body: e}},
		Plans:    []rom.Entry[rom.Plan]{{Meta: rom.Meta{At: surgery.Add(-9).Time()}, Body: p}},
	}
}

func row(m rom.Motion, c rom.Class, ceiling int) rom.Limit {
	return rom.Limit{Motion: m, Class: c, Ceiling: rom.Deg(ceiling), From: source}
}

func read(h *rom.History, day, minute int, r rom.Reading) {
	r.Episode, r.Side = "e", rom.Right
	if r.Class == 0 {
		r.Class = rom.Passive
	}
	if r.Method == "" {
		r.Method = rom.Photo
	}
	at := surgery.Add(day).Time().Add(time.Duration(minute) * time.Minute)
	h.Readings = append(h.Readings, rom.Entry[rom.Reading]{Meta: rom.Meta{Ref: rom.Ref{Author: "p", N: int64(len(h.Readings) + 1)}, At: at, Rev: 1}, Body: r})
}

func flexion(angle int) rom.Reading {
	return rom.Reading{Motion: rom.ForwardFlexion, Angle: rom.Deg(angle)}
}

func all(h rom.History, m rom.Motion) []Sitting { return Of(h, "e", m, surgery.Add(400), nil) }

func last(h rom.History, m rom.Motion) Sitting {
	list := all(h, m)
	return list[len(list)-1]
}

// The second set of a hold counts with the first, and decides.
func TestSecondSet(t *testing.T) {
	for _, c := range []struct {
		first, second int
		want          Tier
	}{{88, 0, Within}, {93, 0, Near}, {106, 82, Near}, {130, 84, Near}, {106, 104, Passed}, {118, 0, Passed}} {
		h := told(row(rom.ForwardFlexion, rom.Passive, 90))
		read(&h, 20, 600, flexion(82))
		read(&h, 24, 600, flexion(c.first))
		if c.second != 0 {
			read(&h, 24, 603, flexion(c.second))
		}
		got := last(h, rom.ForwardFlexion)
		if sets := 1 + min(c.second, 1); got.Tier != c.want || len(got.Sets) != sets {
			t.Errorf("%d and %d: %q of %d sets, %d %%, want %q", c.first, c.second, got.Tier, len(got.Sets), got.Chance, c.want)
		}
	}
}

// Sets of two holds, of two sessions or under two limits are two sittings.
func TestSittings(t *testing.T) {
	for name, c := range map[string]struct {
		minutes int
		session rom.SessionID
		want    int
	}{"same hold": {5, "", 2}, "an hour later": {60, "", 3}, "in a session": {5, "s", 3}} {
		h := told(row(rom.ForwardFlexion, rom.Passive, 90))
		read(&h, 20, 600, flexion(82))
		read(&h, 24, 600, flexion(92))
		second := flexion(91)
		second.Session = c.session
		read(&h, 24, 600+c.minutes, second)
		if got := len(all(h, rom.ForwardFlexion)); got != c.want {
			t.Errorf("%s: %d sittings, want %d", name, got, c.want)
		}
	}
	h := told(row(rom.ForwardFlexion, rom.Passive, 90))
	for range 10_000 {
		read(&h, 20, 600, flexion(95))
	}
	if got := last(h, rom.ForwardFlexion); len(got.Sets) > mostSets {
		t.Errorf("%d sets in one hold", len(got.Sets))
	}
}

// What was said on a day stands: later readings change nothing of it.
func TestLaterChangesNothingEarlier(t *testing.T) {
	r := rand.New(rand.NewSource(7))
	for range 50 {
		h := told(row(rom.ForwardFlexion, rom.Passive, 90))
		for day := 1; day < 40; day += 1 + r.Intn(4) {
			x := flexion(84 + int(9*r.NormFloat64()))
			if r.Intn(8) == 0 {
				x.By, x.Method = "t", rom.Goniometer
			}
			read(&h, day, 600, x)
		}
		whole := all(h, rom.ForwardFlexion)
		for i, s := range whole {
			then := Of(h, "e", rom.ForwardFlexion, s.Day, nil)
			if then[i].Chance != s.Chance || then[i].Tier != s.Tier {
				t.Fatalf("day %d: %d %% then, %d %% now", s.Day.Sub(surgery), then[i].Chance, s.Chance)
			}
		}
	}
}

// A held angle is judged by the class of its exercise, and one that stands in a
// reading too is one angle.
func TestHeldByItsOwnClass(t *testing.T) {
	hold := func(h *rom.History, ex rom.ExerciseID, angle int) {
		a := rom.Deg(angle)
		h.Sessions = append(h.Sessions, rom.Entry[rom.Session]{Meta: rom.Meta{At: surgery.Add(50).Time().Add(10 * time.Hour), Rev: 1}, Body: rom.Session{
			Episode: "e", ID: "s", Due: surgery.Add(50), Slot: 1, Phase: "p", Ended: rom.Finished,
			Items: []rom.SessionItem{{Exercise: ex, Motion: rom.ForwardFlexion, Holds: []rom.Hold{{Tenths: 200, Counted: true, Angle: &a}}}}}})
	}
	passive := told(row(rom.ForwardFlexion, rom.Passive, 120))
	hold(&passive, rom.WallClimbFlexion, 100) // the arm lifts itself, where that is locked
	if got := last(passive, rom.ForwardFlexion); got.Tier != Passed || got.Limit.Class != rom.Locked || !got.Last().Held {
		t.Errorf("active-assisted where only passive is permitted: %+v", got)
	}
	passive.Sessions = nil
	hold(&passive, rom.TableSlideFlexion, 100)
	if got := last(passive, rom.ForwardFlexion); got.Tier != Within {
		t.Errorf("passive within the limit: %+v", got)
	}
	twice := flexion(100)
	twice.Session = "s"
	read(&passive, 50, 600, twice)
	if got := all(passive, rom.ForwardFlexion); len(got) != 1 || len(got[0].Sets) != 1 {
		t.Errorf("a measured hold counts %d times", len(got))
	}
	passive.Sessions = nil
	hold(&passive, rom.WallClimbFlexion, 100)
	if got := last(passive, rom.ForwardFlexion); got.Tier != Passed {
		t.Errorf("measured in an active-assisted hold: %+v", got)
	}
}

// What the plan does not permit is passed at any angle; a clinician examines
// it. What has no limit is never passed.
func TestLockedAndOpen(t *testing.T) {
	h := told(row(rom.ForwardFlexion, rom.Passive, 90))
	read(&h, 20, 600, rom.Reading{Motion: rom.Abduction, Angle: rom.Deg(10)})
	if got := last(h, rom.Abduction); got.Tier != Passed || got.Limit.Class != rom.Locked {
		t.Errorf("a locked motion: %+v", got)
	}
	h = told(row(rom.ForwardFlexion, rom.Passive, 90))
	read(&h, 20, 600, rom.Reading{Motion: rom.Abduction, Angle: rom.Deg(10), By: "t", Method: rom.Goniometer})
	if got := all(h, rom.Abduction); len(got) != 0 {
		t.Errorf("examined by a clinician: %+v", got)
	}
	h = told(rom.Limit{Motion: rom.ForwardFlexion, Class: rom.Passive, Open: true, From: source})
	read(&h, 20, 600, flexion(175))
	if got := last(h, rom.ForwardFlexion); got.Tier != Within || got.Chance != 0 {
		t.Errorf("without a limit: %+v", got)
	}
}

// Hand behind back: higher up the back is farther, one level is its error.
func TestLevels(t *testing.T) {
	for level, want := range map[rom.Level]Tier{rom.LevelL5: Within, rom.LevelL3: Within, rom.LevelL3 - 1: Near, rom.LevelT7: Passed} {
		h := told(rom.Limit{Motion: rom.HandBehindBack, Class: rom.Passive, Highest: rom.LevelL3, From: source})
		read(&h, 20, 600, rom.Reading{Motion: rom.HandBehindBack, Method: rom.LevelMethod, Level: rom.LevelL5})
		read(&h, 24, 600, rom.Reading{Motion: rom.HandBehindBack, Method: rom.LevelMethod, Level: level})
		if got := last(h, rom.HandBehindBack); got.Tier != want {
			t.Errorf("%s against L3: %q, %d %%, want %q", level, got.Tier, got.Chance, want)
		}
	}
}

// A trial is told, and is no evidence by itself.
func TestTrialsAreToldNotJudged(t *testing.T) {
	l := row(rom.ForwardFlexion, rom.Passive, 120)
	x := flexion(119)
	x.SE, x.Trials = rom.Deg(27), []rom.Trial{{Angle: rom.Deg(100)}, {Angle: rom.Deg(138)}}
	if !Over(x, l) || Over(flexion(120), l) || !Over(flexion(121), l) {
		t.Error("over, or any trial over, is not told apart from within")
	}
	h := told(l)
	read(&h, 20, 600, x)
	if got := last(h, rom.ForwardFlexion); got.Tier != Near {
		t.Errorf("trials of 100 and 138: %q, %d %%", got.Tier, got.Chance)
	}
}

// The surgeon's value decides what counts as passed.
func TestPassedFromThePlan(t *testing.T) {
	for from, want := range map[rom.Chance]Tier{50: Passed, 0: Passed, 95: Likely} {
		h := told(row(rom.ForwardFlexion, rom.Passive, 90))
		h.Plans[0].Body.PassedFrom = from
		h.Plans[0].Body.TellPassedFrom()
		read(&h, 20, 600, flexion(82))
		read(&h, 24, 600, flexion(104))
		read(&h, 24, 602, flexion(106))
		if got := last(h, rom.ForwardFlexion); got.Tier != want {
			t.Errorf("from %s: %q at %d %%, want %q", from, got.Tier, got.Chance, want)
		}
	}
}

// The chance is one: of courses drawn from the model itself, those sittings that
// are given a chance between two tenths are truly beyond as often.
func TestChanceIsCalibrated(t *testing.T) {
	r := rand.New(rand.NewSource(11))
	var sum, hit, n [10]float64
	for range 6000 {
		const limit = 90.0
		var b belief
		angle, bias := limit-priorBelow+priorSD*r.NormFloat64(), biasSD*r.NormFloat64()
		for day := 0; day < 40; day += 4 {
			if day > 0 {
				angle += math.Sqrt(4*perDay+perSitting) * r.NormFloat64()
			}
			if r.Float64() < jumpChance {
				angle += jumpSD * r.NormFloat64()
			}
			var sets []seen
			common := math.Sqrt(shared) * r.NormFloat64()
			for range 1 + r.Intn(2) {
				e := 7 * (common + math.Sqrt(1-shared)*r.NormFloat64())
				if r.Float64() < slipChance {
					e += slipSD * r.NormFloat64()
				}
				sets = append(sets, seen{angle + bias + e, 7, biasPhoto})
			}
			p := b.sit(day, limit, sets)
			k := min(int(10*p), 9)
			n[k]++
			sum[k] += p
			if angle > limit {
				hit[k]++
			}
		}
	}
	for k := range n {
		said, was := sum[k]/n[k], hit[k]/n[k]
		if n[k] < 300 || math.Abs(said-was) > .05 {
			t.Errorf("%d0 to %d0 %%: said %.3f, was %.3f, of %.0f", k, k+1, said, was, n[k])
		}
	}
}

// The bits are the same on every machine; they must be right, too.
func TestExpAndNormal(t *testing.T) {
	for z := -9.0; z <= 9; z += .01 {
		if got, want := normal(z), math.Erfc(-z/math.Sqrt2)/2; math.Abs(got-want) > 1e-7 {
			t.Fatalf("normal(%v) = %v, want %v", z, got, want)
		}
	}
	for x := 0.0; x > -699; x -= .37 {
		if got, want := exp(x), math.Exp(x); math.Abs(got-want) > 1e-8*want {
			t.Fatalf("exp(%v) = %v, want %v", x, got, want)
		}
	}
	if exp(-1e9) != 0 || math.IsNaN(normal(math.Inf(1))) {
		t.Error("far out")
	}
}

// The same bits natively and under js/wasm, where CI runs this test too: phone and
// clinic must not differ by a percent. The sum was written by a native run.
func TestBits(t *testing.T) {
	const want = 0xd0d444c933f672d1
	r := rand.New(rand.NewSource(5))
	var bits uint64
	for range 50 {
		var b belief
		for day := 0; day < 60; day += 1 + r.Intn(5) {
			var sets []seen
			for range 1 + r.Intn(mostSets) {
				sets = append(sets, seen{85 + 9*r.NormFloat64(), 7, []int{biasPhoto, biasTilt, noBias}[r.Intn(3)]})
			}
			bits = bits*31 + math.Float64bits(b.sit(day, 90, sets))
		}
	}
	if bits != want {
		t.Errorf("the bits are %#x, want %#x", bits, uint64(want))
	}
}

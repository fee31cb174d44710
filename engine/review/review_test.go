package review

import (
	"math/rand"
	"slices"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/engine/trend"
)

// Due times in clinic hours, Monday to Friday 8 to 17. Common practice, no
// source.
func TestDeadlines(t *testing.T) {
	h := office
	h.Closed = []rom.Date{surgery.Add(8)} // a Tuesday
	for _, x := range []struct {
		due         Due
		day, minute int
		on, by      int
	}{
		{Today, 0, 600, 0, 1020},  // Monday morning
		{Today, 0, 1020, 1, 1020}, // Monday at closing time
		{Today, 4, 1100, 7, 1020}, // Friday evening: Monday
		{Today, 5, 600, 7, 1020},  // Saturday: Monday
		{TwoDays, 0, 600, 2, 1020},
		{TwoDays, 3, 600, 7, 1020},   // Thursday: Monday
		{TwoDays, 4, 1100, 10, 1020}, // Friday evening counts as Monday; Tuesday is closed: Thursday
		{TwoDays, 7, 600, 10, 1020},  // Monday before the closed Tuesday: Thursday
	} {
		got := h.By(x.due, surgery.Add(x.day), x.minute, 0)
		if got.On != surgery.Add(x.on) || got.Minute != x.by {
			t.Errorf("%s from day %d at %d: day %d at %d, want day %d", x.due, x.day, x.minute, got.On.Sub(surgery), got.Minute, x.on)
		}
	}
	if d := h.By(NextVisit, surgery, 0, surgery.Add(30)); d.On != surgery.Add(30) {
		t.Errorf("next visit %v", d)
	}
	for _, none := range []Deadline{{}, (Hours{}).By(Today, surgery, 0, 0), h.By(NextVisit, surgery, 0, 0)} {
		if none.On != 0 || none.Passed(surgery.Add(4000), 0) {
			t.Errorf("a deadline that nobody gave: %v", none)
		}
	}
	always := Hours{Closed: nil}
	for d := range 400 {
		always.Closed = append(always.Closed, surgery.Add(d))
	}
	always.Week = office.Week
	if got := always.By(Today, surgery, 0, 0); got.On != 0 {
		t.Errorf("a clinic closed for a year: %v", got)
	}
}

func f(key string, s Severity, since int, change func(*Finding)) Finding {
	x := Finding{Key: key, Severity: s, Since: surgery.Add(since)}
	if change != nil {
		change(&x)
	}
	return x
}

// The panel's order by its six steps, and the reasons that let a clinician
// repeat it.
func TestRank(t *testing.T) {
	due := func(day int) func(*Finding) { return func(x *Finding) { x.By.On = surgery.Add(day) } }
	late := func(x *Finding) { x.Overdue, x.By.On = true, surgery.Add(12) }
	quiet := func(x *Finding) { x.Quiet = true }
	panel := []Row{
		{Patient: "h-nothing"},
		{Patient: "g-answered", Findings: []Finding{f("a", Urgent, 0, quiet)}},
		{Patient: "f-watch", Findings: []Finding{f("a", Watch, 0, nil), f("b", Watch, 0, nil)}},
		{Patient: "e-call", Findings: []Finding{f("a", Call, 5, due(9))}},
		{Patient: "d-call-older", Findings: []Finding{f("a", Call, 3, due(9))}},
		{Patient: "c-two-calls", Findings: []Finding{f("a", Call, 6, due(9)), f("b", Call, 7, due(10)), f("c", Note, 0, late)}},
		{Patient: "b-call-sooner", Findings: []Finding{f("a", Call, 8, due(8))}},
		{Patient: "a-urgent", Findings: []Finding{f("a", Urgent, 9, due(9))}},
		{Patient: "x-call-late", Findings: []Finding{f("a", Call, 9, late)}},
	}
	before := slices.Clone(panel)
	got := Rank(panel)
	want := []rom.PatientID{"a-urgent", "x-call-late", "b-call-sooner", "c-two-calls", "d-call-older", "e-call", "f-watch", "g-answered", "h-nothing"}
	for i, r := range got {
		if r.Patient != want[i] || r.Place != i+1 {
			t.Errorf("place %d is %s, want %s", i+1, r.Patient, want[i])
		}
		if len(r.Reasons) == 0 {
			t.Errorf("%s has no reasons", r.Patient)
		}
	}
	if s := strings.Join(got[1].Reasons, "; "); s != "1. severity call; 2. overdue: 1; 3. due 14 Mar 2026; 4. 1 finding of that severity; 5. the oldest since 11 Mar 2026" {
		t.Errorf("reasons: %s", s)
	}
	if !slices.EqualFunc(panel, before, func(a, b Row) bool { return a.Patient == b.Patient }) {
		t.Error("the panel was changed")
	}
	// The order of the panel does not matter.
	r := rand.New(rand.NewSource(1))
	for range 50 {
		r.Shuffle(len(panel), func(i, j int) { panel[i], panel[j] = panel[j], panel[i] })
		for i, x := range Rank(panel) {
			if x.Patient != want[i] {
				t.Fatalf("shuffled: place %d is %s", i+1, x.Patient)
			}
		}
	}
}

// Every class has a card; an assistant never closes a clinical finding; calls
// begin with the questions of danger (8.1 of the leaflets, practice).
func TestCards(t *testing.T) {
	clinical := []Class{LimitNear, LimitPassed, LimitBroken, PainRule, WarningSign, Fall, Stiffening, Losing, EarlyLoss, RotationLag, TooMuchER, RetearSign, TooMuch, Afraid, SideMismatch}
	seen := map[Class]bool{}
	for _, c := range cards {
		if seen[c.Class] {
			t.Errorf("%s has two cards", c.Class)
		}
		seen[c.Class] = true
		if c.Title == "" || len(c.Closing) == 0 || len(c.Closes) == 0 {
			t.Errorf("%s lacks a part", c.Class)
		}
	}
	for _, r := range Rules() {
		if !seen[r.Class] {
			t.Errorf("rule %s has a class without a card", r.Name)
		}
	}
	for _, c := range clinical {
		k := CardFor(c)
		if k.MayClose(Assistant) || k.MayClose(Administrator) {
			t.Errorf("%s may be closed without a clinician", c)
		}
		if len(k.Questions) < 4 || k.Questions[0] != danger[0] {
			t.Errorf("%s does not begin with danger: %v", c, k.Questions)
		}
	}
	if k := CardFor("of a newer version"); k.MayClose(Assistant) || len(k.Questions) == 0 {
		t.Error("an unknown class may be closed by anybody")
	}
}

// Explain shows every rule on every day, and what it says fires is what
// Findings finds.
func TestExplainAgreesWithFindings(t *testing.T) {
	r := rand.New(rand.NewSource(5))
	for range 40 {
		tl := randomTale(r)
		day := r.Intn(220) - 10
		lines := Explain(tl.h, "e1", surgery.Add(day), tl.in)
		rules := map[string]bool{}
		var keys []string
		for _, l := range lines {
			rules[l.Rule] = true
			if l.Why == "" || l.Outcome == "" || l.Source.Key == "" {
				t.Fatalf("%+v lacks a part", l)
			}
			if l.Outcome == Fires && l.Key == "" {
				t.Fatalf("%+v fires without a key", l)
			}
			if l.Key != "" && !slices.Contains(keys, l.Key) {
				keys = append(keys, l.Key)
			}
		}
		if len(rules) != len(Rules()) {
			t.Fatalf("%d rules of %d are explained", len(rules), len(Rules()))
		}
		var found []string
		for _, x := range Findings(tl.h, "e1", surgery.Add(day), tl.in) {
			if x.Class != CallOverdue {
				found = append(found, x.Key)
			}
		}
		slices.Sort(keys)
		slices.Sort(found)
		if !slices.Equal(keys, found) {
			t.Fatalf("explained %v, found %v", keys, found)
		}
	}
}

// randomTale is a history without sense: it must not panic and must not
// repeat a key.
func randomTale(r *rand.Rand) *tale {
	var procs []rom.Procedure
	for range 1 + r.Intn(2) {
		procs = append(procs, rom.Procedures[r.Intn(len(rom.Procedures))])
	}
	tl := newTale(procs...)
	tl.in.Phones[0].Contact = surgery.Add(r.Intn(200))
	for range r.Intn(120) {
		day := r.Intn(260) - 40
		switch r.Intn(9) {
		case 0, 1, 2, 3:
			rd := rom.Reading{Motion: rom.Motions[r.Intn(len(rom.Motions))], Angle: rom.Degrees(r.Intn(2600) - 600), Level: rom.Level(r.Intn(21)), Class: rom.Class(1 + r.Intn(3))}
			if r.Intn(2) == 0 {
				rd.By = "t1"
			}
			if r.Intn(3) == 0 {
				rd.Side = rom.Left
			}
			tl.reading(day, rd)
		case 4, 5:
			tl.session(day, r.Intn(5), r.Intn(4), func(s *rom.Session) {
				s.Worst, s.Before = ptr(r.Intn(11)), ptr(r.Intn(11))
				if r.Intn(6) == 0 {
					s.Stop = rom.StopWrong
				}
			})
		case 6:
			tl.h.Signs = append(tl.h.Signs, rom.Entry[rom.Sign]{Meta: tl.meta("p1", day, 600), Body: rom.Sign{Episode: "e1", Sign: append(rom.Signs, "newer")[r.Intn(len(rom.Signs)+1)]}})
		case 7:
			tl.revise(day, func(p *rom.Plan) {
				p.State, p.Why = []rom.PlanState{rom.Running, rom.Paused, rom.Stopped}[r.Intn(3)], "x"
			})
		case 8:
			tl.h.Pains = append(tl.h.Pains, rom.Entry[rom.Pain]{Meta: tl.meta("p1", day, 600), Body: rom.Pain{Episode: "e1", When: rom.PainAtRest, Score: r.Intn(11)}})
		}
	}
	tl.order()
	return tl
}

func TestAbsurdHistories(t *testing.T) {
	if Findings(rom.History{}, "e1", surgery, Inputs{}) != nil || len(Explain(rom.History{}, "e1", surgery, Inputs{})) != 0 {
		t.Error("an empty history has findings")
	}
	r := rand.New(rand.NewSource(9))
	for range 150 {
		tl := randomTale(r)
		if r.Intn(4) == 0 {
			tl.in = Inputs{}
		}
		if r.Intn(6) == 0 {
			tl.h.Plans = nil
		}
		if r.Intn(9) == 0 {
			tl.e.Procedures = nil
		}
		if r.Intn(6) == 0 {
			tl.e.Surgery = rom.MakeDate(1905+r.Intn(250), 1, 1)
		}
		seen := map[string]bool{}
		for _, x := range Findings(tl.h, "e1", surgery.Add(r.Intn(300)-30), tl.in) {
			if seen[x.Key] {
				t.Fatalf("%s found twice", x.Key)
			}
			seen[x.Key] = true
			checkFinding(t, "random", x)
			if strings.Contains(x.Staff, "NaN") || strings.Contains(x.Staff, "%!") {
				t.Fatalf("%q", x.Staff)
			}
		}
	}
	many := newTale(rom.CuffRepair)
	for i := range 10_000 {
		many.reading(30, rom.Reading{Motion: rom.ForwardFlexion, Angle: rom.Deg(i % 180)})
	}
	got := Findings(many.h, "e1", surgery.Add(31), many.in)
	if !slices.ContainsFunc(got, func(x Finding) bool { return x.Key == "limit:FF" && len(x.Records) == 20 }) {
		t.Errorf("ten thousand readings of a day: %v", got)
	}
}

// A warning sign is never lost because a clock was wrong.
func TestSignsSurviveWrongClocks(t *testing.T) {
	for _, days := range []int{-20_000, -400, 40, 4000} {
		tl := newTale(rom.CuffRepair)
		tl.in.Phones[0].Contact = surgery.Add(20)
		tl.h.Signs = append(tl.h.Signs, rom.Entry[rom.Sign]{Meta: tl.meta("p1", days, 600), Body: rom.Sign{Episode: "e1", Sign: rom.SignChest}})
		got := Findings(tl.h, "e1", surgery.Add(20), tl.in)
		if !slices.ContainsFunc(got, func(x Finding) bool { return x.Key == "sign:"+string(rom.SignChest) && x.Severity == Urgent }) {
			t.Errorf("a sign dated day %d is lost: %v", days, got)
		}
	}
}

// Findings depend on the day and on nothing else: judged again they are the
// same, and the history is not changed.
func TestSameAgain(t *testing.T) {
	r := rand.New(rand.NewSource(17))
	for range 20 {
		tl := randomTale(r)
		day := surgery.Add(r.Intn(200))
		a, b := Findings(tl.h, "e1", day, tl.in), Findings(tl.h, "e1", day, tl.in)
		if !slices.EqualFunc(a, b, func(x, y Finding) bool { return printFinding(x) == printFinding(y) && x.Fingerprint == y.Fingerprint }) {
			t.Fatalf("%v\n%v", a, b)
		}
	}
}

// A reading that swings about a limit of stiffness for four weeks raises the
// finding once, not at every swing.
func TestNoFlicker(t *testing.T) {
	r := rand.New(rand.NewSource(23))
	turns := 0
	for range 30 {
		tl := newTale(rom.CuffRepair)
		tl.in.Phones[0].Contact = surgery.Add(112)
		for d := 84; d < 112; d++ {
			tl.reading(d, rom.Reading{Motion: rom.ForwardFlexion, Angle: rom.Degrees(1200 + int(20*r.NormFloat64()))})
			tl.reading(d, rom.Reading{Motion: rom.ERSide, Angle: rom.Deg(50)})
		}
		was := false
		for d := 84; d < 112; d++ {
			is := slices.ContainsFunc(Findings(tl.upTo(d), "e1", surgery.Add(d), tl.in), func(x Finding) bool { return x.Key == "stiffness" })
			if is != was {
				turns++
			}
			was = is
		}
	}
	if turns > 45 {
		t.Errorf("the finding turned %d times in 30 courses", turns)
	}
}

// Dose beside gain: three sessions of five holds of 20 s are 300 s a day; a
// week nobody has told of has no dose instead of none.
func TestDoseAgainstGain(t *testing.T) {
	tl := newTale(rom.CuffRepair)
	for d := 14; d <= 40; d++ {
		for slot := range 3 {
			tl.session(d, slot+1, tl.phaseRank(d), func(*rom.Session) {})
		}
		tl.reading(d, rom.Reading{Motion: rom.ForwardFlexion, Angle: rom.Degrees(700 + 10*(d-14))})
	}
	tl.h.Adoptions = append(tl.h.Adoptions, rom.Entry[rom.Adopted]{Meta: tl.meta("p1", 1, 0), Body: rom.Adopted{Episode: "e1", Rev: 1}})
	tl.in.Phones[0].Contact = surgery.Add(41)
	weeks := DoseAgainstGain(tl.h, "e1", rom.ForwardFlexion, surgery.Add(56), tl.in)
	if len(weeks) != 8 {
		t.Fatalf("%d weeks, want 8", len(weeks))
	}
	w := weeks[3] // days 21 to 27
	if w.Number != 4 || w.From != surgery.Add(21) || w.Seconds != 300 || w.Days != 7 || !w.GainKnown || w.Gain < 60 || w.Gain > 80 {
		t.Errorf("week 4: %+v, want 300 s a day and a gain of 7", w)
	}
	if w := weeks[0]; w.Seconds != 0 || w.Days != 7 || w.GainKnown {
		t.Errorf("week 1, before any stretch: %+v", w)
	}
	if w := weeks[7]; w.Days != 0 || w.GainKnown {
		t.Errorf("a week of which nobody told: %+v", w)
	}
}

// FuzzFindings judges histories without sense; the seeds are drawn at random.
func FuzzFindings(f *testing.F) {
	for i := range int64(8) {
		f.Add(i, int(i*31)-20)
	}
	f.Fuzz(func(t *testing.T, seed int64, day int) {
		tl := randomTale(rand.New(rand.NewSource(seed)))
		on := surgery.Add(day % 100_000)
		n := len(Findings(tl.h, "e1", on, tl.in))
		fires := map[string]bool{}
		for _, l := range Explain(tl.h, "e1", on, tl.in) {
			if l.Key != "" {
				fires[l.Key] = true
			}
		}
		if n < len(fires) {
			t.Fatalf("%d findings, %d explained", n, len(fires))
		}
		DoseAgainstGain(tl.h, "e1", rom.ForwardFlexion, on, tl.in)
	})
}

// year is one patient's year: three sessions a day, a reading a day.
func year() *tale {
	tl := newTale(rom.CuffRepair)
	tl.in.Phones[0].Contact = surgery.Add(365)
	r := rand.New(rand.NewSource(2))
	for d := 14; d < 365; d++ {
		for slot := range 3 {
			tl.session(d, slot+1, tl.phaseRank(d), func(s *rom.Session) { s.Worst = ptr(r.Intn(3)) })
		}
		m := []rom.Motion{rom.ForwardFlexion, rom.ERSide, rom.Abduction}[d%3]
		tl.reading(d, rom.Reading{Motion: m, Angle: rom.Deg(40 + d/4 + r.Intn(8))})
		if d%28 == 0 {
			tl.reading(d, rom.Reading{Motion: m, Angle: rom.Deg(40 + d/4), By: "t1"})
			tl.reading(d, rom.Reading{Motion: m, Angle: rom.Deg(150), By: "t1", Side: rom.Left})
		}
	}
	tl.order()
	return tl
}

// Budget: a year of one patient judged within 50 ms natively, 250 ms under
// js/wasm.
func BenchmarkJudgeYear(b *testing.B) {
	tl := year()
	for b.Loop() {
		Findings(tl.h, "e1", surgery.Add(365), tl.in)
	}
}

func BenchmarkRank500(b *testing.B) {
	tl := year()
	one := Findings(tl.h, "e1", surgery.Add(365), tl.in)
	panel := make([]Row, 500)
	for i := range panel {
		panel[i] = Row{Patient: rom.PatientID(time.Duration(i).String()), Findings: one}
	}
	for b.Loop() {
		Rank(panel)
	}
}

// What staff did: seen keeps quiet until the due time, a call and done for
// good, each until the finding changes; reopened speaks again.
func TestStanding(t *testing.T) {
	make := func(acts ...rom.Task) Finding {
		tl := newTale(rom.CuffRepair)
		tl.in.Phones[0].Contact = surgery.Add(22)
		tl.reading(20, rom.Reading{Motion: rom.ForwardFlexion, Angle: rom.Deg(140)})
		first := Findings(tl.h, "e1", surgery.Add(20), tl.in)
		for i, a := range acts {
			a.Episode, a.Finding, a.By, a.On = "e1", "limit:FF", "t1", surgery.Add(20)
			if a.State == "" {
				for _, x := range first {
					if x.Key == a.Finding {
						a.State = x.Fingerprint
					}
				}
			}
			tl.h.Tasks = append(tl.h.Tasks, rom.Entry[rom.Task]{Meta: tl.meta("c-1", 20, 700+i), Body: a})
		}
		for _, x := range Findings(tl.h, "e1", surgery.Add(22), tl.in) {
			if x.Key == "limit:FF" {
				return x
			}
		}
		t.Fatal("no finding")
		return Finding{}
	}
	for _, x := range []struct {
		name    string
		acts    []rom.Task
		want    Standing
		quiet   bool
		overdue bool
	}{
		{"nobody", nil, Open, false, true},
		{"seen, and its day has passed", []rom.Task{{Act: rom.TaskSeen}}, Seen, false, true},
		{"called", []rom.Task{{Act: rom.TaskCall}}, Seen, true, false},
		{"tried", []rom.Task{{Act: rom.TaskTried}}, Open, false, true},
		{"assigned", []rom.Task{{Act: rom.TaskAssign, To: "s1"}}, Open, false, true},
		{"done", []rom.Task{{Act: rom.TaskDone}}, Settled, true, false},
		{"done about an earlier state", []rom.Task{{Act: rom.TaskDone, State: "over p1-0"}}, Reopened, false, true},
		{"done and reopened", []rom.Task{{Act: rom.TaskDone}, {Act: rom.TaskReopen}}, Reopened, false, true},
		{"snoozed", []rom.Task{{Act: rom.TaskSnooze, Until: surgery.Add(25)}}, Snoozed, true, false},
		{"snooze is over", []rom.Task{{Act: rom.TaskSnooze, Until: surgery.Add(21)}}, Open, false, true},
		{"a comment", []rom.Task{{Act: rom.TaskComment}}, Open, false, true},
	} {
		got := make(x.acts...)
		if got.Standing != x.want || got.Quiet != x.quiet || got.Overdue != x.overdue || len(got.Acts) != len(x.acts) {
			t.Errorf("%s: %s, quiet %v, overdue %v, %d acts", x.name, got.Standing, got.Quiet, got.Overdue, len(got.Acts))
		}
	}
	if got := make(rom.Task{Act: rom.TaskAssign, To: "s1"}); got.Assigned != "s1" {
		t.Errorf("assigned to %q", got.Assigned)
	}
}

// Every source that a rule, a verdict or a deficit names can be looked up.
func TestSourcesAreCited(t *testing.T) {
	tl := newTale(rom.CuffRepair)
	tl.reading(90, rom.Reading{Motion: rom.ForwardFlexion, Angle: rom.Deg(110), By: "t1"})
	keys := map[string]bool{}
	for _, r := range Rules() {
		keys[r.Source.Key] = true
		if !r.Source.Mark.Valid() || r.Says == "" {
			t.Errorf("rule %s: source %q, says %q", r.Name, r.Source, r.Says)
		}
	}
	for _, l := range Explain(tl.h, "e1", surgery.Add(95), tl.in) {
		if l.Source != practice { // of the test's own plan
			keys[l.Source.Key] = true
		}
	}
	for _, x := range trend.Risks(*tl.e, surgery) {
		keys[x.Source.Key] = true
	}
	keys[trend.DeficitOf(tl.h, *tl.e, rom.ForwardFlexion, surgery.Add(95)).Source.Key] = true
	for k := range keys {
		if got := Cite(k); len(got) != 1+strings.Count(k, "+") {
			t.Errorf("%q gives %d citations", k, len(got))
		}
	}
	if len(keys) < 15 {
		t.Fatalf("only %d keys were looked up", len(keys))
	}
}

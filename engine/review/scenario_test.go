package review

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
)

// The people and courses of these tests are invented.

var surgery = rom.MakeDate(2026, time.March, 2) // a Monday

// office is open from 8 to 17 on working days.
var office = Hours{Week: [7]Span{1: {480, 1020}, 2: {480, 1020}, 3: {480, 1020}, 4: {480, 1020}, 5: {480, 1020}}}

// tale is one patient's history as a scenario file tells it.
type tale struct {
	h      rom.History
	e      *rom.Episode
	in     Inputs
	n      int64
	newest rom.Plan
}

func newTale(procedures ...rom.Procedure) *tale {
	t := &tale{}
	t.h.Episodes = append(t.h.Episodes, rom.Entry[rom.Episode]{
		Meta: rom.Meta{Ref: rom.Ref{Author: "c-1", N: 1}, At: surgery.Add(-20).Time()},
		Body: rom.Episode{
			ID: "e1", Version: 1, State: rom.Ongoing, Side: rom.Right, Procedures: procedures, Surgery: surgery,
			ConfirmedBy: "s1", SideBy: "t1", By: "s1", BornYear: 1966,
			OtherArm: []rom.Motion{rom.ForwardFlexion, rom.Abduction, rom.ERSide, rom.ER20, rom.ER90, rom.IR90},
		},
	})
	t.e = &t.h.Episodes[0].Body
	t.in = Inputs{Hours: office, Minute: 12 * 60, Phones: []Phone{{Author: "p1", Since: surgery.Add(-5)}}}
	t.plan(0, cuffPhases())
	if slices.Contains(procedures, rom.CapsularRelease) {
		t.h.Plans, t.newest = nil, rom.Plan{}
		t.plan(0, openPhases())
	}
	return t
}

var practice = rom.Source{Key: "test", Mark: rom.Practice}

func row(m rom.Motion, c rom.Class, ceil int) rom.Limit {
	if ceil < 0 {
		return rom.Limit{Motion: m, Class: c, Open: true, From: practice}
	}
	return rom.Limit{Motion: m, Class: c, Ceiling: rom.Deg(ceil), From: practice}
}

func rx(ex rom.ExerciseID, m rom.Motion, perDay int) rom.Prescription {
	return rom.Prescription{Exercise: ex, Motion: m, Dose: rom.Dose{Hold: 20, Reps: 5, Rest: 10, PerDay: perDay}, From: practice}
}

// cuffPhases is a plan in the shape of the published ones; it is not one.
func cuffPhases() []rom.Phase {
	waived := rom.Gate{Clearance: true, Waived: "s1"}
	p, a := rom.Passive, rom.ActiveAssisted
	stretch := []rom.Prescription{rx(rom.SupineElevation, rom.ForwardFlexion, 3), rx(rom.StickER, rom.ERSide, 3)}
	return []rom.Phase{
		{Key: "protect", Sling: rom.SlingAlways, PainCap: 3, Basis: practice},
		{Key: "passive", From: 14, Gate: waived, Sling: rom.SlingAlways, PainCap: 3, Stretching: true, Basis: practice, Prescriptions: stretch,
			Limits: []rom.Limit{row(rom.ForwardFlexion, p, 120), row(rom.Abduction, p, 90), row(rom.ERSide, p, 30), row(rom.ER20, p, 30)}},
		{Key: "assisted", From: 42, Gate: waived, Sling: rom.SlingOff, PainCap: 4, Stretching: true, Basis: practice, Prescriptions: stretch,
			Limits: []rom.Limit{row(rom.ForwardFlexion, a, 155), row(rom.Abduction, a, 120), row(rom.ERSide, a, 45), row(rom.ER20, a, 45), row(rom.ER90, a, 60)}},
		{Key: "active", From: 84, Gate: waived, Sling: rom.SlingOff, PainCap: 5, Stretching: true, Basis: practice, Prescriptions: stretch,
			Limits: []rom.Limit{row(rom.ForwardFlexion, rom.Active, -1), row(rom.Abduction, rom.Active, -1), row(rom.ERSide, rom.Active, -1),
				row(rom.ER20, rom.Active, -1), row(rom.ER90, rom.Active, -1), row(rom.IR90, rom.Active, -1)}},
	}
}

func openPhases() []rom.Phase {
	a := rom.Active
	return []rom.Phase{{Key: "stretch", Sling: rom.SlingComfort, PainCap: 5, Stretching: true, Basis: practice,
		Prescriptions: []rom.Prescription{rx(rom.SupineElevation, rom.ForwardFlexion, 4), rx(rom.StickER, rom.ERSide, 4)},
		Limits:        []rom.Limit{row(rom.ForwardFlexion, a, -1), row(rom.Abduction, a, -1), row(rom.ERSide, a, -1), row(rom.ER90, a, -1), row(rom.IR90, a, -1)}}}
}

func (t *tale) meta(author rom.Author, day, minute int) rom.Meta {
	t.n++
	return rom.Meta{Ref: rom.Ref{Author: author, N: t.n}, At: surgery.Add(day).Time().Add(time.Duration(minute) * time.Minute), Rev: t.newest.Rev}
}

func (t *tale) plan(day int, phases []rom.Phase) {
	p := rom.Plan{
		Episode: "e1", Rev: t.newest.Rev + 1, Base: t.newest.Rev, State: rom.Running, Phases: phases, WakeFrom: 480, WakeTo: 1260,
		LeastGap: 120, Opened: []rom.ExerciseID{rom.StickER}, Contact: rom.Contact{Clinic: "invented", Phone: "1"}, By: "s1", On: surgery.Add(day), Reason: "test",
	}
	t.push(day, p)
}

func (t *tale) push(day int, p rom.Plan) {
	t.h.Plans = append(t.h.Plans, rom.Entry[rom.Plan]{Meta: t.meta("c-1", day, 600), Body: p})
	t.newest = p
}

func (t *tale) revise(day int, change func(*rom.Plan)) {
	p := t.newest
	p.Phases = slices.Clone(p.Phases)
	for i := range p.Phases {
		p.Phases[i].Limits = slices.Clone(p.Phases[i].Limits)
	}
	p.Base, p.Rev, p.On = p.Rev, p.Rev+1, surgery.Add(day)
	change(&p)
	t.push(day, p)
}

func (t *tale) reading(day int, r rom.Reading) {
	r.Episode = "e1"
	if r.Side == "" {
		r.Side = rom.Right
	}
	if r.Class == 0 {
		r.Class = rom.Passive
	}
	author := rom.Author("p1")
	if r.Method == "" {
		r.Method = rom.Photo
		if r.By != "" {
			r.Method, author = rom.Goniometer, "c-1"
		}
	}
	t.h.Readings = append(t.h.Readings, rom.Entry[rom.Reading]{Meta: t.meta(author, day, 600), Body: r})
}

// session adds one; change may alter it.
func (t *tale) session(day, slot, phaseRank int, change func(*rom.Session)) {
	m := t.meta("p1", day, 540+150*(max(slot, 1)-1))
	ph := t.newest.Phases[min(phaseRank, len(t.newest.Phases)-1)]
	s := rom.Session{Episode: "e1", ID: rom.SessionID(fmt.Sprint("s", m.Ref.N)), Due: surgery.Add(day), Slot: slot, Phase: ph.Key, Seconds: 600, Ended: rom.Finished}
	for _, p := range ph.Prescriptions {
		it := rom.SessionItem{Exercise: p.Exercise, Motion: p.Motion, Dose: p.Dose}
		for range p.Dose.Reps {
			it.Holds = append(it.Holds, rom.Hold{Tenths: 10 * p.Dose.Hold, Counted: true})
		}
		s.Items = append(s.Items, it)
	}
	change(&s)
	t.h.Sessions = append(t.h.Sessions, rom.Entry[rom.Session]{Meta: m, Body: s})
}

func (t *tale) phaseRank(day int) int {
	rank := 0
	for i, p := range t.newest.Phases {
		if day >= p.From {
			rank = i
		}
	}
	return rank
}

// order sorts what was told out of turn, as a fold would.
func (t *tale) order() {
	slices.SortStableFunc(t.h.Readings, func(a, b rom.Entry[rom.Reading]) int { return a.At.Compare(b.At) })
	slices.SortStableFunc(t.h.Sessions, func(a, b rom.Entry[rom.Session]) int { return a.At.Compare(b.At) })
}

// upTo is what had been written by the end of a day.
func (t *tale) upTo(day int) rom.History {
	h, d := t.h, surgery.Add(day)
	h.Sessions = slices.DeleteFunc(slices.Clone(h.Sessions), func(e rom.Entry[rom.Session]) bool { return e.Day() > d })
	h.Readings = slices.DeleteFunc(slices.Clone(h.Readings), func(e rom.Entry[rom.Reading]) bool { return e.Day() > d })
	return h
}

func number(s string) int {
	n, err := strconv.Atoi(s)
	if err != nil {
		panic("not a number: " + s)
	}
	return n
}

func ptr(n int) *int { return &n }

// tell takes one line of a scenario, split into words.
func (t *tale) tell(w []string) error {
	arg := func(i int) string {
		if i < len(w) {
			return w[i]
		}
		return ""
	}
	has := func(s string) bool { return slices.Contains(w, s) }
	after := func(s string) (string, bool) {
		i := slices.Index(w, s)
		if i < 0 || i+1 >= len(w) {
			return "", false
		}
		return w[i+1], true
	}
	switch w[0] {
	case "state":
		t.e.State = rom.EpisodeState(w[1])
		if t.e.State == rom.Planned {
			t.e.ConfirmedBy, t.e.SideBy = "", ""
		}
		return nil
	case "phone":
		p := &t.in.Phones[0]
		if s, ok := after("contact"); ok {
			p.Contact = surgery.Add(number(s))
		}
		if s, ok := after("following"); ok {
			p.Following = number(s)
		}
		if s, ok := after("ahead"); ok {
			p.ClockAhead = time.Duration(number(s)) * time.Minute
		}
		return nil
	case "damaged":
		t.in.Quarantined = number(w[1])
		return nil
	case "days":
		from, to, _ := strings.Cut(w[1], "-")
		for d := number(from); d <= number(to); d++ {
			per := 3
			if s, ok := after("sessions"); ok {
				per = number(s)
			}
			for slot := range per {
				t.session(d, slot+1, t.phaseRank(d), func(s *rom.Session) { s.Worst = ptr(2) })
			}
		}
		return nil
	case "day":
	default:
		return fmt.Errorf("unknown %q", w[0])
	}
	day := number(w[1])
	switch w[2] {
	case "own", "clinic":
		v, err := strconv.ParseFloat(w[4], 64)
		if err != nil {
			return err
		}
		r := rom.Reading{Motion: rom.Motion(w[3])}
		r.Angle, _ = rom.FromFloat(v)
		if w[2] == "clinic" {
			r.By = "t1"
		}
		if has("other") {
			r.Side = rom.Left
		}
		if has("active") {
			r.Class = rom.Active
		}
		if has("before-surgery") {
			r.Baseline = true
		}
		t.reading(day, r)
	case "session":
		slot := 1
		if s, ok := after("slot"); ok {
			slot = number(s)
		}
		t.session(day, slot, t.phaseRank(day), func(s *rom.Session) {
			if x, ok := after("pain"); ok {
				s.Worst = ptr(number(x))
			}
			if x, ok := after("before"); ok {
				s.Before = ptr(number(x))
			}
			if x, ok := after("held"); ok {
				a := rom.Deg(number(x))
				s.Items[0].Holds[0].Angle = &a
			}
			if has("afraid") {
				s.Items[0].Skipped, s.Items[0].Holds = rom.SkipAfraid, nil
			}
			if has("wrong") {
				s.Ended, s.Stop = rom.StoppedByMe, rom.StopWrong
			}
		})
	case "sign":
		t.h.Signs = append(t.h.Signs, rom.Entry[rom.Sign]{Meta: t.meta("p1", day, 600), Body: rom.Sign{Episode: "e1", Sign: rom.SignID(w[3])}})
	case "question":
		t.h.Questions = append(t.h.Questions, rom.Entry[rom.Question]{Meta: t.meta("p1", day, 600), Body: rom.Question{Episode: "e1", Text: "?"}})
	case "pain":
		t.h.Pains = append(t.h.Pains, rom.Entry[rom.Pain]{Meta: t.meta("p1", day, 600), Body: rom.Pain{Episode: "e1", When: rom.PainWhen(w[3]), Score: number(w[4])}})
	case "cleared":
		t.h.Clearances = append(t.h.Clearances, rom.Entry[rom.Clearance]{Meta: t.meta("c-1", day, 600), Body: rom.Clearance{Episode: "e1", Phase: w[3], On: surgery.Add(day), By: "s1"}})
	case "tapped":
		t.h.Installs = append(t.h.Installs, rom.Entry[rom.Install]{Meta: t.meta("p1", day, 600), Body: rom.Install{SideTapped: rom.Side(w[3])}})
	case "adopted":
		t.h.Adoptions = append(t.h.Adoptions, rom.Entry[rom.Adopted]{Meta: t.meta("p1", day, 660), Body: rom.Adopted{Episode: "e1", Rev: number(w[3])}})
	case "plan":
		t.revise(day, func(p *rom.Plan) {
			switch w[3] {
			case "stop":
				p.State, p.Why = rom.Stopped, "come in"
			case "limit":
				for i := range p.Phases {
					for j := range p.Phases[i].Limits {
						l := &p.Phases[i].Limits[j]
						if l.Motion == rom.Motion(w[4]) {
							l.Ceiling, l.Open = rom.Deg(number(w[5])), false
						}
					}
				}
			case "gates":
				for i := range p.Phases {
					p.Phases[i].Gate.Waived = ""
				}
				p.Phases[3].Gate.Review = &rom.Criterion{Motion: rom.ForwardFlexion, AtLeast: rom.Deg(number(w[4])), From: practice}
			case "answers":
				for _, s := range t.h.Signs {
					p.Answers = append(p.Answers, s.Ref)
				}
			}
		})
	case "task":
		b := rom.Task{Episode: "e1", Finding: w[3], Act: rom.TaskAct(w[4]), By: "t1", On: surgery.Add(day)}
		if x, ok := after("until"); ok {
			b.Until = surgery.Add(number(x))
		}
		for _, f := range Findings(t.upTo(day), "e1", b.On, t.in) {
			if f.Key == b.Finding {
				b.State = f.Fingerprint
			}
		}
		if arg(4) == "" || b.State == "" {
			return fmt.Errorf("no finding %q on day %d to act upon", b.Finding, day)
		}
		t.h.Tasks = append(t.h.Tasks, rom.Entry[rom.Task]{Meta: t.meta("c-1", day, 700), Body: b})
	case "seen-sign":
		t.h.Seens = append(t.h.Seens, rom.Entry[rom.Seen]{Meta: t.meta("c-1", day, 700), Body: rom.Seen{What: t.h.Signs[len(t.h.Signs)-1].Ref, By: "t1"}})
	default:
		return fmt.Errorf("unknown %q", w[2])
	}
	return nil
}

func printFinding(x Finding) string {
	s := fmt.Sprintf("= %s %s %s, %s %s", x.Severity, x.Class, x.Key, x.Owner, x.Due)
	if x.By.On != 0 {
		s += fmt.Sprintf(", by day %d", x.By.On.Sub(surgery))
	}
	if x.Overdue {
		s += ", OVERDUE"
	}
	if x.Standing != Open {
		s += ", " + string(x.Standing)
	}
	if x.Quiet {
		s += " (quiet)"
	}
	return s + "\n=   " + x.Staff
}

var rewrite = flag.Bool("rewrite", false, "write the answers of testdata/scenarios anew; read the diff")

// Scenario files: a history told in lines, and what is found on given days.
// Lines that begin with "=" are the answers.
func TestScenarios(t *testing.T) {
	files, _ := filepath.Glob("testdata/scenarios/*.txt")
	if len(files) < 12 {
		t.Fatalf("%d scenario files found", len(files))
	}
	classes := map[Class]int{}
	for _, name := range files {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		got := runScenario(t, name, string(text), classes)
		if *rewrite {
			if err := os.WriteFile(name, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		if got != string(text) {
			t.Errorf("%s: the answers are\n%s", name, got)
		}
	}
	for _, c := range cards {
		if classes[c.Class] == 0 {
			t.Errorf("no scenario shows %s", c.Class)
		}
	}
}

func runScenario(t *testing.T, name, text string, classes map[Class]int) string {
	var tl *tale
	var out []string
	for i, line := range strings.Split(strings.TrimRight(text, "\n"), "\n") {
		if strings.HasPrefix(line, "=") {
			continue
		}
		out = append(out, line)
		w := strings.Fields(line)
		if len(w) == 0 || strings.HasPrefix(line, "#") {
			continue
		}
		switch w[0] {
		case "procedure":
			var p []rom.Procedure
			for _, x := range w[1:] {
				p = append(p, rom.Procedure(x))
			}
			tl = newTale(p...)
		case "judge":
			day := number(w[2])
			in := tl.in
			if len(w) > 4 {
				in.Minute = number(strings.TrimSuffix(w[4], ":00")) * 60
			}
			tl.order()
			list := Findings(tl.upTo(day), "e1", surgery.Add(day), in)
			if len(list) == 0 {
				out = append(out, "= nothing")
			}
			for _, x := range list {
				classes[x.Class]++
				out = append(out, printFinding(x))
				checkFinding(t, name, x)
			}
		default:
			if err := tl.tell(w); err != nil {
				t.Fatalf("%s:%d: %v", name, i+1, err)
			}
		}
	}
	return strings.Join(out, "\n") + "\n"
}

// checkFinding holds every finding to what a finding must have.
func checkFinding(t *testing.T, name string, x Finding) {
	t.Helper()
	switch {
	case x.Key == "" || x.Fingerprint == "" || x.Staff == "" || x.Rule == "" || x.Clears == "":
		t.Errorf("%s: %+v lacks a part", name, x)
	case x.Severity < Note || x.Severity > Urgent || x.Owner == "" || x.Due == "":
		t.Errorf("%s: %s has no severity, owner or due time", name, x.Key)
	case x.Source.Key == "" || !x.Source.Mark.Valid():
		t.Errorf("%s: %s has no source", name, x.Key)
	case len(x.Numbers) == 0 && x.Fingerprint != "no phone":
		t.Errorf("%s: %s has no numbers", name, x.Key)
	case x.Since == 0 || x.Newest == 0:
		t.Errorf("%s: %s has no days", name, x.Key)
	case !strings.HasSuffix(x.Staff, "."):
		t.Errorf("%s: %q is no sentence", name, x.Staff)
	case CardFor(x.Class).Title == string(x.Class):
		t.Errorf("%s: %s has no call card", name, x.Class)
	}
}

package protocol

import (
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"unsling/engine/rom"
)

// acts are twelve daily questions, as many as the app asks.
var acts = []string{"shower", "type", "drive", "work", "lift-cup", "sleep-on-side", "dress", "cook", "swim", "lift-bag", "sleep-without-sling", "travel"}

func choices(p Protocol) Choices {
	c := Choices{
		By: "dr-example", On: rom.MakeDate(2026, 3, 2), Reason: "First plan after the operation",
		TherapyDays: []time.Weekday{time.Monday, time.Wednesday, time.Friday}, TherapyDayLess: 1,
		Contact: rom.Contact{Clinic: "Example Shoulder Clinic (invented)", Phone: "+1 555 0100", AfterHours: "+1 555 0101", Emergency: "911"},
		Answers: map[string]string{},
	}
	for _, ph := range p.Phases {
		for _, a := range acts {
			c.MayI = append(c.MayI, rom.MayI{Phase: ph.Key, Activity: a, Answer: "ask"})
		}
	}
	for _, q := range p.Questions {
		c.Answers[q.Key] = "no"
	}
	return c
}

func episode(procedures ...rom.Procedure) rom.Episode {
	return rom.Episode{ID: "e-0123456789abcdef0123", Version: 1, State: rom.Confirmed, Side: rom.Left, Procedures: procedures,
		Surgery: rom.MakeDate(2026, 3, 2), ConfirmedBy: "dr-example", SideBy: "pt-example", By: "dr-example"}
}

func TestCuffGoverns(t *testing.T) {
	// "With a cuff repair the cuff protocol governs", and each row is the stricter of both:
	// THIGPEN2016 by week 2 (memory) against P14 weeks 0-4.
	cuff, ten := adopted(t, "cuff-repair-small-medium"), adopted(t, "biceps-tenodesis")
	m, err := Merge(cuff, ten)
	if err != nil {
		t.Fatal(err)
	}
	plan, err := MakePlan([]Protocol{ten, cuff}, episode(rom.BicepsTenodesis, rom.CuffRepair), choices(m))
	if err != nil {
		t.Fatal(err)
	}
	if plan.Protocol[0].ID != cuff.ID || plan.Phases[0].Key != "protect" {
		t.Errorf("the cuff protocol does not govern: %v, first phase %s", plan.Protocol, plan.Phases[0].Key)
	}
	at := func(day int) rom.Phase {
		var ph rom.Phase
		for _, x := range plan.Phases {
			if x.From <= day {
				ph = x
			}
		}
		return ph
	}
	if l := at(13).Limit(rom.ForwardFlexion); l.Class != rom.Locked {
		t.Errorf("day 13: flexion is %s, the cuff repair locks it", l.Class)
	}
	if l := at(14).Limit(rom.ForwardFlexion); l.Ceiling != rom.Deg(90) || l.From.Key != "THIGPEN2016" {
		t.Errorf("day 14: flexion to %s by %v, want 90 by THIGPEN2016", l.Ceiling, l.From)
	}
	// The tenodesis keeps the elbow passive to week 4 (P16), the cuff protocol has it active.
	if l := at(14).Limit(rom.ElbowFlexion); l.Class != rom.Passive || l.From.Key != "P16" {
		t.Errorf("day 14: elbow flexion %s by %v, want passive by P16", l.Class, l.From)
	}
	if l := at(28).Limit(rom.ElbowFlexion); l.Class != rom.Active {
		t.Errorf("day 28: elbow flexion %s, want active", l.Class)
	}
	if ph := at(28); !ph.Gate.Clearance {
		t.Error("day 28: the elbow becomes active without clearance")
	}
	if l := at(56).Limit(rom.ForwardFlexion); l.Ceiling != rom.Deg(120) {
		t.Errorf("day 56: flexion to %s, want the cuff's 120", l.Ceiling)
	}
	if l := at(63).Limit(rom.ERSide); l.Ceiling != rom.Deg(45) {
		t.Errorf("day 63: external rotation to %s, want 45", l.Ceiling)
	}
	for _, x := range at(20).Prescriptions {
		if x.Exercise == rom.ElbowBend {
			t.Error("day 20: elbow bending by its own strength is prescribed after a tenodesis")
		}
	}
	// A row to which both contribute keeps both sources and the weaker mark.
	a := rom.Limit{Motion: rom.ERSide, Class: rom.Passive, Ceiling: rom.Deg(40), From: rom.Source{Key: "P14", Mark: rom.Practice}}
	b := rom.Limit{Motion: rom.ERSide, Class: rom.Active, Ceiling: rom.Deg(20), From: rom.Source{Key: "THIGPEN2016", Mark: rom.Memory}}
	if l := a.Stricter(b); l.Class != rom.Passive || l.Ceiling != rom.Deg(20) || l.From.String() != "P14+THIGPEN2016 memory" {
		t.Errorf("stricter of both is %s to %s by %v", l.Class, l.Ceiling, l.From)
	}
}

// wider reports whether a permits more than b.
func wider(a, b rom.Limit) bool { return b.NarrowerThan(a) || a.Class > b.Class }

func TestMergedIsNeverWider(t *testing.T) {
	all := All()
	rapid.Check(t, func(t *rapid.T) {
		i := rapid.IntRange(0, len(all)-1).Draw(t, "first")
		j := rapid.IntRange(0, len(all)-1).Draw(t, "second")
		k := rapid.IntRange(0, len(all)-1).Draw(t, "third")
		parts := []Protocol{all[i], all[j], all[k]}
		m, err := Merge(parts...)
		if err != nil {
			t.Fatal(err)
		}
		day := rapid.IntRange(0, 200).Draw(t, "day")
		got := m.phaseAt(day)
		for _, p := range parts {
			ref := p.phaseAt(day)
			for _, l := range got.Limits {
				if wider(l, ref.Limit(l.Motion)) {
					t.Fatalf("%s day %d: %+v is wider than %s: %+v", m.ID, day, l, p.ID, ref.Limit(l.Motion))
				}
			}
			if slingRank(got.Sling) < slingRank(ref.Sling) || got.PainCap > ref.PainCap {
				t.Fatalf("%s day %d: sling %s, pain %d; %s has %s, %d", m.ID, day, got.Sling, got.PainCap, p.ID, ref.Sling, ref.PainCap)
			}
			for _, f := range ref.Forbidden {
				if !slices.Contains(got.Forbidden, f) {
					t.Fatalf("%s day %d: %s of %s is left out", m.ID, day, f, p.ID)
				}
			}
		}
		for _, x := range got.Prescriptions {
			for _, p := range parts {
				e, _ := Lookup(x.Exercise)
				if _, ok := e.LockedBy([]rom.Procedure{p.Procedure}, got.From); ok {
					t.Fatalf("%s day %d: %s is locked after %s", m.ID, day, x.Exercise, p.Procedure)
				}
			}
		}
	})
}

func TestEveryPlanFitsARecord(t *testing.T) {
	var sets [][]Protocol
	all := All()
	for i := range all {
		sets = append(sets, []Protocol{all[i]})
		for j := range all {
			if all[j].Procedure == all[i].Procedure {
				continue
			}
			sets = append(sets, []Protocol{all[i], all[j]})
			for k := range all {
				if all[k].Procedure != all[i].Procedure && all[k].Procedure != all[j].Procedure {
					sets = append(sets, []Protocol{all[i], all[j], all[k]})
				}
			}
		}
	}
	longest, at := 0, ""
	for _, set := range sets {
		var procedures []rom.Procedure
		for n := range set {
			set[n] = adoptOnce(t, set[n])
			procedures = append(procedures, set[n].Procedure)
		}
		ordered, err := match(set, procedures)
		if err != nil {
			t.Fatal(err)
		}
		m, err := Merge(ordered...)
		if err != nil {
			t.Fatal(err)
		}
		plan, err := MakePlan(set, episode(procedures...), choices(m))
		if err != nil {
			t.Errorf("%s: %v", m.ID, err)
			continue
		}
		b, err := json.Marshal(plan)
		if err != nil {
			t.Fatal(err)
		}
		if len(b) > longest {
			longest, at = len(b), m.ID
		}
		if c := CheckPlan(plan, m); len(c) > 0 {
			t.Errorf("%s: a fresh plan goes past its own protocol: %+v", m.ID, c[0])
		}
		var back rom.Plan
		if err := json.Unmarshal(b, &back); err != nil || !reflect.DeepEqual(back.Phases, withoutEmpty(plan).Phases) {
			t.Fatalf("%s: the plan changed on the way through JSON (%v)", m.ID, err)
		}
	}
	if longest > 7680 {
		t.Errorf("%s makes a plan of %d bytes", at, longest)
	}
	t.Logf("%d combinations, the longest plan has %d bytes: %s", len(sets), longest, at)
}

// withoutEmpty makes empty lists of a plan absent, as JSON does.
func withoutEmpty(p rom.Plan) rom.Plan {
	for i := range p.Phases {
		ph := &p.Phases[i]
		if len(ph.Measures) == 0 {
			ph.Measures = nil
		}
		if len(ph.Prescriptions) == 0 {
			ph.Prescriptions = nil
		}
		if len(ph.Limits) == 0 {
			ph.Limits = nil
		}
	}
	return p
}

var adoptions = map[string]Protocol{}

func adoptOnce(t *testing.T, p Protocol) Protocol {
	if _, ok := adoptions[p.ID]; !ok {
		adoptions[p.ID] = adopted(t, p.ID)
	}
	return adoptions[p.ID]
}

func TestMakePlanRefuses(t *testing.T) {
	cuff := adopted(t, "cuff-repair-small-medium")
	draft, _ := ByID("cuff-repair-small-medium")
	labrum := adopted(t, "anterior-labral-repair")
	tests := []struct {
		name       string
		protocols  []Protocol
		procedures []rom.Procedure
		change     func(*Choices)
		want       any
	}{
		{"a draft", []Protocol{draft}, []rom.Procedure{rom.CuffRepair}, nil, new(*NotAdoptedError)},
		{"no protocol", []Protocol{cuff}, []rom.Procedure{rom.CuffRepair, rom.BicepsTenodesis}, nil, new(*MissingError)},
		{"one too many", []Protocol{cuff, labrum}, []rom.Procedure{rom.CuffRepair}, nil, new(*rom.InvalidError)},
		{"two of a kind", []Protocol{cuff, cuff}, []rom.Procedure{rom.CuffRepair}, nil, new(*rom.InvalidError)},
		{"no procedure", []Protocol{cuff}, nil, nil, new(*rom.InvalidError)},
		{"unanswered", []Protocol{labrum}, []rom.Procedure{rom.AnteriorLabralRepair}, func(c *Choices) { c.Answers = nil }, new(*UnansweredError)},
		{"gate too early", []Protocol{cuff}, []rom.Procedure{rom.CuffRepair}, func(c *Choices) { c.GateDays = map[string]int{"passive": 13} }, new(*rom.InvalidError)},
		{"gate of no phase", []Protocol{cuff}, []rom.Procedure{rom.CuffRepair}, func(c *Choices) { c.GateDays = map[string]int{"fly": 20} }, new(*rom.InvalidError)},
		{"waived by nobody", []Protocol{cuff}, []rom.Procedure{rom.CuffRepair}, func(c *Choices) { c.Waived = map[string]rom.StaffID{"passive": ""} }, new(*rom.InvalidError)},
		{"no number to call", []Protocol{cuff}, []rom.Procedure{rom.CuffRepair}, func(c *Choices) { c.Contact.Phone = "" }, new(*rom.InvalidError)},
		{"no author", []Protocol{cuff}, []rom.Procedure{rom.CuffRepair}, func(c *Choices) { c.By = "" }, new(*rom.InvalidError)},
	}
	for _, tt := range tests {
		c := choices(tt.protocols[0])
		if tt.change != nil {
			tt.change(&c)
		}
		_, err := MakePlan(tt.protocols, episode(tt.procedures...), c)
		if err == nil || !errors.As(err, tt.want) {
			t.Errorf("%s: %v, want a %T", tt.name, err, tt.want)
		}
	}
	if _, err := Adopt(draft, "", 1, nil); err == nil {
		t.Error("adopted by nobody")
	}
	if _, err := Adopt(draft, "dr-example", 20000, map[string]int{"passive": 900}); err == nil {
		t.Error("adopted with a gate years later")
	}
	bad := draft.clone()
	bad.Phases[1].Gate.Clearance = false
	if _, err := Adopt(bad, "dr-example", 20000, nil); !errors.As(err, new(*FaultsError)) {
		t.Errorf("adopted though passive motion opens without clearance: %v", err)
	}
	if draft.IsAdopted() {
		t.Error("adopting changed the draft")
	}
}

func TestChoices(t *testing.T) {
	cuff := adopted(t, "cuff-repair-small-medium")
	c := choices(cuff)
	c.GateDays = map[string]int{"assisted": 60}
	c.Waived = map[string]rom.StaffID{"passive": "dr-example"}
	c.Closed = []rom.ExerciseID{rom.SupineElevation}
	plan, err := MakePlan([]Protocol{cuff}, episode(rom.CuffRepair), c)
	if err != nil {
		t.Fatal(err)
	}
	for key, day := range map[string]int{"passive": 14, "assisted": 60, "active": 60, "reach": 63} {
		if ph, _ := plan.Phase(key); ph.From != day {
			t.Errorf("%s begins on day %d, want %d", key, ph.From, day)
		}
	}
	if ph, _ := plan.Phase("passive"); ph.NeedsClearance() || ph.Gate.Waived != "dr-example" {
		t.Errorf("the gate is not waived: %+v", ph.Gate)
	}
	for _, ph := range plan.Phases {
		for _, x := range ph.Prescriptions {
			if x.Exercise == rom.SupineElevation {
				t.Errorf("%s prescribes an exercise that was closed", ph.Key)
			}
		}
	}
	if got := kinds(CheckPlan(plan, cuff)); got != "gate" {
		t.Errorf("conflicts of a waived gate: %q", got)
	}
	// A remplissage changes limits in a way no source gives: its motions stay locked.
	labrum := adopted(t, "anterior-labral-repair")
	c = choices(labrum)
	c.Answers["remplissage"] = "yes"
	plan, err = MakePlan([]Protocol{labrum}, episode(rom.AnteriorLabralRepair), c)
	if err != nil {
		t.Fatal(err)
	}
	for _, ph := range plan.Phases {
		if ph.Limit(rom.ERSide).Class != rom.Locked || ph.Limit(rom.CrossBody).Class != rom.Locked {
			t.Errorf("%s: rotation is open after a remplissage", ph.Key)
		}
		for _, x := range ph.Prescriptions {
			if x.Motion == rom.ERSide || x.Motion == rom.CrossBody {
				t.Errorf("%s prescribes %s after a remplissage", ph.Key, x.Exercise)
			}
		}
	}
}

func kinds(list []Conflict) string {
	out := ""
	for i, c := range list {
		if i > 0 {
			out += " "
		}
		out += string(c.What)
	}
	return out
}

func TestCheckPlan(t *testing.T) {
	cuff := adopted(t, "cuff-repair-small-medium")
	tests := []struct {
		name   string
		change func(*rom.Plan)
		want   string
	}{
		{"nothing", func(*rom.Plan) {}, ""},
		{"narrower", func(p *rom.Plan) { p.Phases[1].Limits[0].Ceiling = rom.Deg(70) }, ""},
		{"later", func(p *rom.Plan) { p.Phases[1].From = 21 }, ""},
		{"a closed exercise", func(p *rom.Plan) { p.Closed = []rom.ExerciseID{rom.Pendulum} }, ""},
		{"a higher ceiling", func(p *rom.Plan) { p.Phases[1].Limits[0].Ceiling = rom.Deg(91) }, "ceiling"},
		{"no ceiling", func(p *rom.Plan) { p.Phases[1].Limits[0].Open = true }, "ceiling"},
		{"a higher active ceiling", func(p *rom.Plan) { p.Phases[4].Limits[0].ActiveCeil = rom.Deg(130) }, "ceiling"},
		{"a higher class", func(p *rom.Plan) { p.Phases[1].Limits[0].Class = rom.ActiveAssisted }, "class"},
		{"a locked motion", func(p *rom.Plan) {
			p.Phases[1].Limits = append(p.Phases[1].Limits, rom.Limit{Motion: rom.HandBehindBack, Class: rom.Passive, Open: true, From: rom.Source{Key: "OWN", Mark: rom.Clinic}})
		}, "class"},
		{"earlier", func(p *rom.Plan) { p.Phases[1].From = 7 }, "class class class class sling"},
		{"no clearance", func(p *rom.Plan) { p.Phases[1].Gate.Clearance = false }, "gate"},
		{"waived", func(p *rom.Plan) { p.Phases[1].Gate.Waived = "dr-other" }, "gate"},
		{"less sling", func(p *rom.Plan) { p.Phases[1].Sling = rom.SlingComfort }, "sling"},
		{"more pain", func(p *rom.Plan) { p.Phases[1].PainCap = 5 }, "pain-cap"},
		{"a combination", func(p *rom.Plan) { p.Phases[1].Forbidden = p.Phases[1].Forbidden[1:] }, "forbidden"},
		{"an opened exercise", func(p *rom.Plan) { p.Opened = []rom.ExerciseID{rom.TowelBehindBack} }, "lock"},
		{"more measuring", func(p *rom.Plan) { p.Phases[1].Measures[0].PerWeek = 7 }, "measuring"},
	}
	for _, tt := range tests {
		plan, err := MakePlan([]Protocol{cuff}, episode(rom.CuffRepair), choices(cuff))
		if err != nil {
			t.Fatal(err)
		}
		tt.change(&plan)
		got := CheckPlan(plan, cuff)
		if tt.name == "earlier" {
			if len(got) == 0 || !slices.ContainsFunc(got, func(c Conflict) bool { return c.What == PastClass && c.Motion == rom.ForwardFlexion }) {
				t.Errorf("earlier: no conflict of flexion: %+v", got)
			}
			continue
		}
		if kinds(got) != tt.want {
			t.Errorf("%s: conflicts %q, want %q", tt.name, kinds(got), tt.want)
		}
		for _, c := range got {
			if c.Plan == "" || c.Protocol == "" || c.Plan == c.Protocol {
				t.Errorf("%s: the conflict does not say what differs: %+v", tt.name, c)
			}
		}
	}
}

func ExampleCheckPlan() {
	cuff, _ := ByID("cuff-repair-small-medium")
	cuff, _ = Adopt(cuff, "dr-example", rom.MakeDate(2026, 1, 5), nil)
	plan, _ := MakePlan([]Protocol{cuff}, episode(rom.CuffRepair), choices(cuff))
	plan.Phases[1].Limits[0].Ceiling = rom.Deg(100)
	for _, c := range CheckPlan(plan, cuff) {
		fmt.Println(c.Phase, c.Motion, c.What, c.Plan, "instead of", c.Protocol, "by", c.From)
	}
	// Output: passive FF ceiling 100 instead of 90 by THIGPEN2016 memory
}

func TestMergedClassRisesBehindAGate(t *testing.T) {
	// One protocol opens flexion passively on day 0 and external rotation by date on day 20, a step
	// inside a class; the other opens flexion only on day 30, behind its gate. Merged, external
	// rotation is the first passive motion, and the step of day 20 starts a class.
	src := rom.Source{Key: "OWN", Mark: rom.Clinic}
	row := func(m rom.Motion) rom.Limit {
		return rom.Limit{Motion: m, Class: rom.Passive, Ceiling: rom.Deg(60), From: src}
	}
	phase := func(key string, from int, rows ...rom.Limit) Phase {
		return Phase{Phase: rom.Phase{Key: key, From: from, Sling: rom.SlingAlways, PainCap: 3, Basis: src, Limits: rows}}
	}
	a := Protocol{ID: "a", Procedure: rom.SLAPRepair, Phases: []Phase{phase("one", 0, row(rom.ForwardFlexion)), phase("two", 20, row(rom.ForwardFlexion), row(rom.ERSide))}}
	b := Protocol{ID: "b", Procedure: rom.BicepsTenodesis, Phases: []Phase{phase("one", 0, row(rom.ERSide)), phase("two", 30, row(rom.ERSide), row(rom.ForwardFlexion))}}
	m, err := Merge(a, b)
	if err != nil {
		t.Fatal(err)
	}
	if len(m.Phases) != 3 || m.Phases[1].From != 20 || !m.Phases[1].Gate.Clearance || m.Phases[2].Gate.Clearance {
		t.Fatalf("merged phases: %+v", m.Phases)
	}
	if m.Phases[0].To != 20 || m.Phases[1].Key != "two" || m.Phases[2].Key != "two-2" {
		t.Errorf("keys and days: %+v", m.Phases)
	}
}

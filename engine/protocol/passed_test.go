package protocol

import (
	"encoding/json"
	"reflect"
	"strings"
	"testing"

	"unsling/engine/rom"
)

func withChance(id string, rows string) []byte {
	file, _ := File(id)
	return []byte(strings.Replace(string(file), "\"passed_from\": 70,\n  \"passed_from_src\": \"CHOICE derived\",", rows, 1))
}

// From which chance on a limit counts as passed has no published source: every
// shipped protocol says so and takes the default. A clinic's own file may take
// 50 to 95 percent, with a source.
func TestPassedFromOfAFile(t *testing.T) {
	for _, p := range All() {
		if p.PassedFrom != rom.DefaultPassedFrom || p.PassedFromSrc != (rom.Source{Key: "CHOICE", Mark: rom.Derived}) {
			t.Errorf("%s: %s, %s", p.ID, p.PassedFrom, p.PassedFromSrc)
		}
		if len(Cite(p.PassedFromSrc.Key)) != 1 {
			t.Errorf("%s: the choice is not cited", p.ID)
		}
	}
	const id = "cuff-repair-small-medium"
	for rows, want := range map[string]string{
		`"passed_from": 49, "passed_from_src": "OWN clinic",`:    "passed_from: must be a chance between 50 and 95 percent",
		`"passed_from": 96, "passed_from_src": "OWN clinic",`:    "passed_from: must be a chance",
		`"passed_from": "two", "passed_from_src": "OWN clinic",`: "passed_from: must be a chance",
		`"passed_from": 80,`:                   "passed_from_src: is missing",
		`"passed_from_src": "CHOICE derived",`: "passed_from_src: is not a field",
	} {
		faults := Check(withChance(id, rows))
		text := ""
		for _, f := range faults {
			text += f.Path + ": " + f.Reason + "\n"
			if f.Line != 9 && f.Line != 1 {
				t.Errorf("%s: line %d", rows, f.Line)
			}
		}
		if !strings.Contains(text, want) {
			t.Errorf("%s: faults %q, want %q", rows, text, want)
		}
	}
	p, err := Parse(withChance(id, `"passed_from": 85, "passed_from_src": "OWN clinic",`))
	if err != nil || p.PassedFrom != 85 || p.PassedFromSrc.Key != "OWN" {
		t.Fatalf("%v %v (%v)", p.PassedFrom, p.PassedFromSrc, err)
	}
	file, err := json.Marshal(p)
	if err != nil {
		t.Fatal(err)
	}
	if back, err := Parse(file); err != nil || !reflect.DeepEqual(back, p) {
		t.Errorf("written and read again it has chance %v (%v)", back.PassedFrom, err)
	}
	older, err := Parse(withChance(id, ""))
	if err != nil || older.PassedFrom.Or() != rom.DefaultPassedFrom {
		t.Errorf("a file from before has %v (%v)", older.PassedFrom, err)
	}
}

// The chance reaches every row of the plan, survives the record, and of two
// protocols the smaller one, which warns earlier, governs.
func TestPassedFromOfAPlan(t *testing.T) {
	later := func(id string, m rom.Chance) Protocol {
		p := adopted(t, id)
		p.PassedFrom, p.PassedFromSrc = m, rom.Source{Key: "OWN", Mark: rom.Clinic}
		return p
	}
	make := func(ps ...Protocol) rom.Plan {
		ep := rom.Episode{ID: "e", Version: 1, State: rom.Confirmed, Side: rom.Left}
		answers := map[string]string{}
		for _, p := range ps {
			ep.Procedures = append(ep.Procedures, p.Procedure)
			for _, q := range p.Questions {
				answers[q.Key] = "no"
			}
		}
		plan, err := MakePlan(ps, ep, Choices{By: "s", On: 20000, Answers: answers, Contact: rom.Contact{Phone: "1"}})
		if err != nil {
			t.Fatal(err)
		}
		return plan
	}
	cuff := later("cuff-repair-small-medium", 90)
	plan := make(cuff)
	raw, err := json.Marshal(plan)
	if err != nil {
		t.Fatal(err)
	}
	var back rom.Plan
	if err := json.Unmarshal(raw, &back); err != nil || back.PassedFrom != 90 || !reflect.DeepEqual(back, plan) {
		t.Fatalf("back from the record: %v, the same: %v (%v)", back.PassedFrom, reflect.DeepEqual(back, plan), err)
	}
	for _, ph := range back.Phases {
		for _, l := range ph.Limits {
			if l.PassedFrom != 90 {
				t.Fatalf("%s %s: %v", ph.Key, l.Motion, l.PassedFrom)
			}
		}
	}
	if merged := make(cuff, later("biceps-tenodesis", 80)); merged.PassedFrom != 80 {
		t.Errorf("of 90 and 80 the merged plan has %s", merged.PassedFrom)
	}
	if merged := make(cuff, adopted(t, "biceps-tenodesis")); merged.PassedFrom.Or() != rom.DefaultPassedFrom {
		t.Errorf("of 90 and 70 the merged plan has %s", merged.PassedFrom)
	}
	if got := CheckPlan(plan, adopted(t, "cuff-repair-small-medium")); len(got) != 1 || got[0].What != PastChance || got[0].Plan != "90 %" || got[0].Protocol != "70 %" {
		t.Errorf("past the protocol: %+v", got)
	}
	if got := CheckPlan(make(adopted(t, "cuff-repair-small-medium")), cuff); len(got) != 0 {
		t.Errorf("a lower chance is past the protocol: %+v", got)
	}
	narrower := plan
	narrower.PassedFrom = 99
	if err := narrower.Validate(); err == nil {
		t.Error("a chance of 99 % is valid")
	}
	narrower.PassedFrom = 70
	if d := plan.Diff(narrower); len(d) != 1 || d[0].What != rom.AspectPassedFrom || d[0].To != "from a chance of 70 %" {
		t.Errorf("the difference is %+v", d)
	}
}

package protocol

import (
	"encoding/json"
	"reflect"
	"strings"
	"testing"

	"unsling/engine/rom"
)

func withMargin(id string, rows string) []byte {
	file, _ := File(id)
	return []byte(strings.Replace(string(file), "\"over_margin\": 1,\n  \"over_margin_src\": \"CHOICE derived\",", rows, 1))
}

// The margin has no published source: every shipped protocol says so and takes
// one standard error. A clinic's own file may take up to three, with a source.
func TestMarginOfAFile(t *testing.T) {
	for _, p := range All() {
		if p.Margin != rom.DefaultMargin || p.MarginFrom != (rom.Source{Key: "CHOICE", Mark: rom.Derived}) {
			t.Errorf("%s: %s, %s", p.ID, p.Margin, p.MarginFrom)
		}
		if len(Cite(p.MarginFrom.Key)) != 1 {
			t.Errorf("%s: the choice is not cited", p.ID)
		}
	}
	const id = "cuff-repair-small-medium"
	for rows, want := range map[string]string{
		`"over_margin": 0.5, "over_margin_src": "OWN clinic",`:   "over_margin: must be a number of standard errors between 1 and 3",
		`"over_margin": 4, "over_margin_src": "OWN clinic",`:     "over_margin: must be a number",
		`"over_margin": "two", "over_margin_src": "OWN clinic",`: "over_margin: must be a number",
		`"over_margin": 2,`:                    "over_margin_src: is missing",
		`"over_margin_src": "CHOICE derived",`: "over_margin_src: is not a field",
	} {
		faults := Check(withMargin(id, rows))
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
	p, err := Parse(withMargin(id, `"over_margin": 1.64, "over_margin_src": "OWN clinic",`))
	if err != nil || p.Margin != 164 || p.MarginFrom.Key != "OWN" {
		t.Fatalf("%v %v (%v)", p.Margin, p.MarginFrom, err)
	}
	file, err := json.Marshal(p)
	if err != nil {
		t.Fatal(err)
	}
	if back, err := Parse(file); err != nil || !reflect.DeepEqual(back, p) {
		t.Errorf("written and read again it has margin %v (%v)", back.Margin, err)
	}
	older, err := Parse(withMargin(id, ""))
	if err != nil || older.Margin.Or() != rom.DefaultMargin {
		t.Errorf("a file from before has %v (%v)", older.Margin, err)
	}
}

// The margin reaches every row of the plan, survives the record, and of two
// protocols the smaller one, which warns earlier, governs.
func TestMarginOfAPlan(t *testing.T) {
	wide := func(id string, m rom.Margin) Protocol {
		p := adopted(t, id)
		p.Margin, p.MarginFrom = m, rom.Source{Key: "OWN", Mark: rom.Clinic}
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
	cuff := wide("cuff-repair-small-medium", 200)
	plan := make(cuff)
	raw, err := json.Marshal(plan)
	if err != nil {
		t.Fatal(err)
	}
	var back rom.Plan
	if err := json.Unmarshal(raw, &back); err != nil || back.Margin != 200 || !reflect.DeepEqual(back, plan) {
		t.Fatalf("back from the record: %v, the same: %v (%v)", back.Margin, reflect.DeepEqual(back, plan), err)
	}
	for _, ph := range back.Phases {
		for _, l := range ph.Limits {
			if l.Margin != 200 {
				t.Fatalf("%s %s: %v", ph.Key, l.Motion, l.Margin)
			}
		}
	}
	if merged := make(cuff, wide("biceps-tenodesis", 164)); merged.Margin != 164 {
		t.Errorf("of 2 and 1.64 the merged plan has %s", merged.Margin)
	}
	if merged := make(cuff, adopted(t, "biceps-tenodesis")); merged.Margin.Or() != rom.DefaultMargin {
		t.Errorf("of 2 and 1 the merged plan has %s", merged.Margin)
	}
	if got := CheckPlan(plan, adopted(t, "cuff-repair-small-medium")); len(got) != 1 || got[0].What != PastMargin || got[0].Plan != "2 standard errors" || got[0].Protocol != "1 standard error" {
		t.Errorf("past the protocol: %+v", got)
	}
	if got := CheckPlan(make(adopted(t, "cuff-repair-small-medium")), cuff); len(got) != 0 {
		t.Errorf("a narrower margin is past the protocol: %+v", got)
	}
	narrower := plan
	narrower.Margin = 500
	if err := narrower.Validate(); err == nil {
		t.Error("a margin of five standard errors is valid")
	}
	narrower.Margin = 100
	if d := plan.Diff(narrower); len(d) != 1 || d[0].What != rom.AspectMargin || d[0].To != "by 1 standard error" {
		t.Errorf("the difference is %+v", d)
	}
}

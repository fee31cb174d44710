package rom

import (
	"encoding/json"
	"errors"
	"reflect"
	"strings"
	"testing"
	"time"
)

func row(m Motion, c Class, ceiling int) Limit {
	return Limit{Motion: m, Class: c, Ceiling: Deg(ceiling), From: own}
}

func planOf() Plan {
	return Plan{
		Episode: "e", Rev: 1, State: Running, By: "dr-example", On: MakeDate(2026, 3, 2), Reason: "first plan",
		WakeFrom: 480, WakeTo: 1260, LeastGap: 120, TherapyDays: []time.Weekday{time.Monday}, TherapyDayLess: 1,
		Contact: Contact{Clinic: "Example (invented)", Phone: "0"},
		Phases: []Phase{
			{Key: "protect", Sling: SlingAlways, PainCap: 3, Basis: own, Limits: []Limit{row(ElbowFlexion, Active, 150)}},
			{Key: "passive", From: 14, Gate: Gate{Clearance: true}, Sling: SlingAlways, PainCap: 3, Basis: own,
				Limits:        []Limit{row(ForwardFlexion, Passive, 90), row(ElbowFlexion, Active, 150)},
				Prescriptions: []Prescription{{Exercise: TableSlideFlexion, Motion: ForwardFlexion, Dose: Dose{Hold: 20, Reps: 5, Rest: 10, PerDay: 3}, From: own}},
				Measures:      []MeasureRule{{Motion: ForwardFlexion, PerWeek: 2, Trials: 1}}},
			{Key: "later", From: 21, Sling: SlingDay, PainCap: 3, Basis: own,
				Limits: []Limit{row(ForwardFlexion, Passive, 120), row(ERSide, Passive, 0), row(ElbowFlexion, Active, 150)}},
		},
		MayI: []MayI{{"protect", "shower", "ask"}, {"passive", "drive", "no"}, {"passive", "shower", "yes"}},
	}
}

func TestPlanValidate(t *testing.T) {
	tests := []struct {
		name   string
		change func(*Plan)
		field  string // prefix
	}{
		{"good", func(*Plan) {}, ""},
		{"waived gate", func(p *Plan) { p.Phases[1].Gate = Gate{Waived: "dr-example"} }, ""},
		{"no episode", func(p *Plan) { p.Episode = "" }, "episode"},
		{"based on itself", func(p *Plan) { p.Base = 1 }, "base"},
		{"stopped without reason", func(p *Plan) { p.State = Stopped }, "why"},
		{"no number", func(p *Plan) { p.Contact.Phone = "" }, "contact"},
		{"three waking hours", func(p *Plan) { p.WakeTo = p.WakeFrom + 180 }, "wake_from"},
		{"no phases", func(p *Plan) { p.Phases = nil }, "phases"},
		{"passive opens by date", func(p *Plan) { p.Phases[1].Gate.Clearance = false }, "phases[1].gate"},
		{"a motion rises in class by date", func(p *Plan) { p.Phases[2].Limits[0].Class = ActiveAssisted }, "phases[2].gate"},
		{"days fall", func(p *Plan) { p.Phases[2].From = 13 }, "phases[2].from"},
		{"key twice", func(p *Plan) { p.Phases[2].Key = "passive" }, "phases[2].key"},
		{"row twice", func(p *Plan) { p.Phases[2].Limits[1].Motion = ForwardFlexion }, "phases[2].limits[1].m"},
		{"above anatomy", func(p *Plan) { p.Phases[1].Limits[0].Ceiling = Deg(400) }, "phases[1].limits[0].ceil"},
		{"dose", func(p *Plan) { p.Phases[1].Prescriptions[0].Dose.PerDay = 0 }, "phases[1].prescriptions[0].dose"},
		{"measure", func(p *Plan) { p.Phases[1].Measures[0].Trials = 9 }, "phases[1].measures[0]"},
		{"break that ends before it begins", func(p *Plan) { p.Breaks = []Break{{From: 9, To: 8, Kind: NoSessions}} }, "breaks[0].to"},
	}
	for _, tt := range tests {
		p := planOf()
		tt.change(&p)
		err := p.Validate()
		var e *InvalidError
		switch {
		case tt.field == "" && err != nil:
			t.Errorf("%s: %v", tt.name, err)
		case tt.field != "" && (!errors.As(err, &e) || !strings.HasPrefix(e.Field, tt.field)):
			t.Errorf("%s: %v, want a fault of %s", tt.name, err, tt.field)
		}
	}
}

func TestNarrows(t *testing.T) {
	tests := []struct {
		name   string
		change func(*Plan)
		want   bool
	}{
		{"nothing", func(*Plan) {}, false},
		{"stop", func(p *Plan) { p.State = Stopped }, true},
		{"pause", func(p *Plan) { p.State = Paused }, true},
		{"lower ceiling", func(p *Plan) { p.Phases[1].Limits[0].Ceiling = Deg(80) }, true},
		{"higher ceiling", func(p *Plan) { p.Phases[1].Limits[0].Ceiling = Deg(100) }, false},
		{"row taken out", func(p *Plan) { p.Phases[2].Limits = p.Phases[2].Limits[:1] }, true},
		{"open", func(p *Plan) { p.Phases[1].Limits[0].Open = true }, false},
		{"later", func(p *Plan) { p.Phases[2].From = 30 }, true},
		{"earlier", func(p *Plan) { p.Phases[2].From = 15 }, false},
		{"a gate more", func(p *Plan) { p.Phases[2].Gate.Clearance = true }, true},
		{"a gate waived", func(p *Plan) { p.Phases[1].Gate.Waived = "dr-example" }, false},
		{"less pain", func(p *Plan) { p.Phases[1].PainCap = 2 }, true},
		{"closed", func(p *Plan) { p.Closed = []ExerciseID{Pendulum} }, true},
		{"opened", func(p *Plan) { p.Opened = []ExerciseID{Pendulum} }, false},
		{"other dose", func(p *Plan) { p.Phases[1].Prescriptions[0].Dose.Reps = 3 }, false},
	}
	for _, tt := range tests {
		q := planOf()
		tt.change(&q)
		if got := q.Narrows(planOf()); got != tt.want {
			t.Errorf("%s: narrows %v, want %v", tt.name, got, tt.want)
		}
	}
	stopped, paused := planOf(), planOf()
	stopped.State, paused.State = Stopped, Paused
	if paused.Narrows(stopped) || !stopped.Narrows(paused) || planOf().Narrows(stopped) {
		t.Error("a stop is narrower than a pause, a pause than running")
	}
}

func TestRevise(t *testing.T) {
	p, next := planOf(), planOf()
	next.Reason = "more flexion"
	next.Phases[1].Limits[0].Ceiling = Deg(100)
	got, err := p.Revise(next, 1, 5)
	if err != nil || got.Rev != 5 || got.Base != 1 {
		t.Fatalf("revision %d on %d: %v", got.Rev, got.Base, err)
	}
	if _, err := got.Revise(next, 1, 6); !errors.Is(err, ErrStale) {
		t.Errorf("a change of an old revision: %v", err)
	}
	if _, err := got.Revise(next, 5, 5); err == nil {
		t.Error("a revision with the same number")
	}
	next.Reason = ""
	if _, err := p.Revise(next, 1, 2); err == nil {
		t.Error("a revision without a reason")
	}
	if p.Phases[1].Limits[0].Ceiling != Deg(90) {
		t.Error("the plan revised was changed")
	}
}

func TestPlanJSON(t *testing.T) {
	p := planOf()
	p.Breaks = []Break{{From: p.On, To: p.On.Add(3), Kind: NoTherapy}}
	p.Answers = []Ref{{Author: "a", N: 7}}
	p.Phases[2].Limits[0].Open, p.Phases[2].Limits[0].Ceiling = true, 0
	p.Phases[2].Limits = append(p.Phases[2].Limits, Limit{Motion: HandBehindBack, Class: Passive, Highest: LevelL3, From: own})
	p.MayI = append(p.MayI, MayI{"gone", "swim", "no"}) // of a phase that the plan has not
	b, err := json.Marshal(p)
	if err != nil {
		t.Fatal(err)
	}
	var back Plan
	if err := json.Unmarshal(b, &back); err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(p, back) {
		t.Errorf("changed on the way:\n%+v\n%+v\n%s", p, back, b)
	}
	if n := strings.Count(string(b), `"EF"`); n != 1 {
		t.Errorf("the elbow's row of three phases is written %d times", n)
	}
	// The long form, as a person would write it.
	long := `{"episode":"e","rev":1,"phases":[{"key":"a","from":0,"sling":"off","limits":[{"m":"FF","class":"passive","ceil":900,"src":"OWN clinic"}],
		"prescriptions":[{"ex":"pendulum","dose":{"reps":1,"per_day":1},"src":"OWN clinic"}]}],"may_i":[{"phase":"a","act":"swim","answer":"no"}]}`
	if err := json.Unmarshal([]byte(long), &back); err != nil {
		t.Fatal(err)
	}
	if l := back.Phases[0].Limit(ForwardFlexion); l.Ceiling != Deg(90) || back.Phases[0].Prescriptions[0].Exercise != Pendulum || len(back.MayI) != 1 {
		t.Errorf("long form read as %+v", back)
	}
	for _, bad := range []string{
		`{"phases":[{"limits":[0]}]}`, `{"phases":[{"limits":[-1]}],"rows":[["FF",1,0,900,0,0,0]],"sources":["OWN clinic"]}`,
		`{"phases":[{"limits":[0]}],"rows":[["FF",1,0,900,0,0,3]],"sources":["OWN clinic"]}`, `{"phases":[{"limits":[0]}],"rows":[["FF",1]],"sources":["OWN clinic"]}`,
		`{"phases":[{"prescriptions":[0]}],"exercises":[[1,2,3,4,5,6,7]],"sources":["OWN clinic"]}`,
		`{"phases":[{"key":"a"}],"daily":{"swim":"yy"}}`, `{"phases":[{"key":"a"}],"daily":{"swim":"x"}}`, `{"phases":[{"limits":["x"]}]}`,
	} {
		if err := json.Unmarshal([]byte(bad), new(Plan)); err == nil {
			t.Errorf("read %s", bad)
		}
	}
}

func FuzzPlanJSON(f *testing.F) {
	b, err := json.Marshal(planOf())
	if err != nil {
		f.Fatal(err)
	}
	f.Add(b)
	f.Add([]byte(`{"phases":[{"key":"a","limits":[0]}],"rows":[["FF",1,0,null,0,0,0]],"sources":["OWN clinic"],"daily":{"swim":"y"}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		var p Plan
		if json.Unmarshal(data, &p) != nil || p.Validate() != nil {
			return
		}
		b, err := json.Marshal(p)
		if err != nil {
			t.Fatal(err)
		}
		var q Plan
		if err := json.Unmarshal(b, &q); err != nil {
			t.Fatalf("%v: %s", err, b)
		}
		c, err := json.Marshal(q)
		if err != nil || string(b) != string(c) {
			t.Fatalf("written anew it differs (%v):\n%s\n%s", err, b, c)
		}
	})
}

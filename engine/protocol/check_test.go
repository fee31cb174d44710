package protocol

import (
	"encoding/json"
	"errors"
	"reflect"
	"strings"
	"testing"
)

// good is a short protocol without faults; its lines are counted in the tests.
const good = `{
  "id": "own-protocol",
  "version": 1,
  "procedure": "cuff-repair",
  "title": "protocol.own",
  "phases": [
    {
      "key": "protect",
      "from_day": 0,
      "to_day": 14,
      "src": "OWN clinic", "sling": "always", "sling_src": "OWN clinic",
      "limits": [
        {"m": "EF", "class": "active", "open": true, "src": "OWN clinic"},
        {"m": "EE", "class": "active", "open": true, "src": "OWN clinic"}
      ],
      "exercises": [
        {"ex": "elbow-bend", "m": "EF", "hold": 0, "reps": 10, "per_day": 3, "src": "OWN clinic"}
      ],
      "pain_cap": 2, "pain_src": "OWN clinic"
    },
    {
      "key": "passive",
      "from_day": 14,
      "gate": {"clearance": true},
      "src": "OWN clinic", "sling": "always", "sling_src": "OWN clinic",
      "limits": [
        {"m": "FF", "class": "passive", "floor": 60, "ceil": 90, "src": "THIGPEN2016 memory"},
        {"m": "EF", "class": "active", "open": true, "src": "OWN clinic"},
        {"m": "EE", "class": "active", "open": true, "src": "OWN clinic"}
      ],
      "exercises": [
        {"ex": "table-slide-flexion", "m": "FF", "hold": 20, "reps": 5, "rest": 10, "per_day": 3, "src": "PRACTICE practice"}
      ],
      "measures": [{"m": "FF", "per_week": 2, "trials": 1}], "measures_src": "OWN clinic",
      "pain_cap": 2, "pain_src": "OWN clinic"
    }
  ]
}
`

func TestCheckNamesLineAndReason(t *testing.T) {
	if faults := Check([]byte(good)); len(faults) != 0 {
		t.Fatalf("the good file has faults: %v", faults)
	}
	tests := []struct {
		name     string
		old, new string
		line     int
		path     string
		reason   string // part of it
	}{
		{"gap between weeks", `"to_day": 14`, `"to_day": 10`, 23, "phases[1].from_day", "days 10 to 13 have no phase"},
		{"overlap", `"to_day": 14`, `"to_day": 15`, 23, "phases[1].from_day", "overlaps"},
		{"no end", "\n      \"to_day\": 14,", "", 7, "phases[0].to_day", "is missing"},
		{"late start", `"from_day": 0`, `"from_day": 1`, 9, "phases[0].from_day", "must be 0"},
		{"ceiling above anatomy", `"ceil": 90`, `"ceil": 290`, 27, "phases[1].limits[0].ceil", "200 degrees"},
		{"angle that is none", `"ceil": 90`, `"ceil": "ninety"`, 27, "phases[1].limits[0].ceil", "must be an angle"},
		{"floor above ceiling", `"floor": 60`, `"floor": 95`, 27, "phases[1].limits[0].floor", "must not lie above the ceiling"},
		{"no ceiling", `"ceil": 90, `, ``, 27, "phases[1].limits[0].ceil", "is missing"},
		{"missing source", `"ceil": 90, "src": "THIGPEN2016 memory"`, `"ceil": 90`, 27, "phases[1].limits[0].src", "names its source"},
		{"source without mark", `"THIGPEN2016 memory"`, `"THIGPEN2016"`, 27, "phases[1].limits[0].src", "one of read, memory"},
		{"class falls back", `{"m": "EF", "class": "active", "open": true, "src": "OWN clinic"},
        {"m": "EE", "class": "active", "open": true, "src": "OWN clinic"}
      ],
      "exercises": [
        {"ex": "table`, `{"m": "EF", "class": "passive", "open": true, "src": "OWN clinic"},
        {"m": "EE", "class": "active", "open": true, "src": "OWN clinic"}
      ],
      "exercises": [
        {"ex": "table`, 28, "phases[1].limits[1].class", "falls back from active to passive"},
		{"class rises without clearance", `"gate": {"clearance": true},`, `"gate": {},`, 24, "phases[1].gate", "clearance"},
		{"exercise of a higher class", `"ex": "table-slide-flexion"`, `"ex": "wall-climb-flexion"`, 32, "phases[1].exercises[0].ex", "not allowed by its own phase"},
		{"exercise of another motion", `"ex": "table-slide-flexion"`, `"ex": "doorway-external-rotation"`, 32, "phases[1].exercises[0].ex", "does not serve FF"},
		{"unknown exercise", `"ex": "table-slide-flexion"`, `"ex": "head-stand"`, 32, "phases[1].exercises[0].ex", "not an exercise"},
		{"exercise locked after the procedure", `"ex": "elbow-bend", "m": "EF"`, `"ex": "side-lying-internal-rotation"`, 17, "phases[0].exercises[0].ex", "not allowed"},
		{"hold of an hour", `"hold": 20`, `"hold": 3600`, 32, "phases[1].exercises[0].hold", "600 seconds"},
		{"measuring too often", `"per_week": 2`, `"per_week": 3`, 34, "phases[1].measures[0].per_week", "must not exceed 2"},
		{"measuring too long", `"trials": 1`, `"trials": 3`, 34, "phases[1].measures[0].trials", "must be 1"},
		{"measuring a locked motion", `"measures": [{"m": "FF"`, `"measures": [{"m": "ER0"`, 34, "phases[1].measures[0].m", "never measured"},
		{"field misspelt", `"pain_cap": 2, "pain_src": "OWN clinic"
    },`, `"pain_cap": 2, "pain_src": "OWN clinic", "streching": true
    },`, 19, "phases[0].streching", "is not a field"},
		{"field twice", `"version": 1,`, `"version": 1, "version": 2,`, 3, "version", "is given twice"},
		{"adopted by file", `"version": 1,`, `"version": 1, "adopted": {"by": "me", "on": "2026-01-01"},`, 3, "adopted", "must not stand in a file"},
		{"not JSON", `"version": 1,`, `"version": ,`, 3, "", "is not JSON"},
		{"unfinished", "  ]\n}\n", "", 36, "", "ends too early"},
		{"stretching in the sling", `"pain_cap": 2, "pain_src": "OWN clinic"
    }
`, `"pain_cap": 2, "pain_src": "OWN clinic", "stretching": true
    }
`, 35, "phases[1].stretching", "sling"},
	}
	for _, tt := range tests {
		if strings.Count(good, tt.old) == 0 {
			t.Fatalf("%s: the good file holds no %q", tt.name, tt.old)
		}
		i := strings.LastIndex(good, tt.old)
		file := good[:i] + tt.new + good[i+len(tt.old):]
		faults := Check([]byte(file))
		found := false
		for _, f := range faults {
			if f.Path == tt.path && strings.Contains(f.Reason, tt.reason) {
				found = true
				if f.Line != tt.line {
					t.Errorf("%s: %v, want line %d", tt.name, f, tt.line)
				}
			}
		}
		if !found {
			t.Errorf("%s: no fault at %s with %q among %v", tt.name, tt.path, tt.reason, faults)
		}
		if _, err := Parse([]byte(file)); err == nil {
			t.Errorf("%s: parsed all the same", tt.name)
		} else if e := new(FaultsError); !errors.As(err, &e) || len(e.Faults) != len(faults) {
			t.Errorf("%s: parse says %v", tt.name, err)
		}
	}
}

func TestProtocolRoundTrip(t *testing.T) {
	for _, p := range All() {
		p = adopted(t, p.ID)
		b, err := json.Marshal(p)
		if err != nil {
			t.Fatal(err)
		}
		var back Protocol
		if err := json.Unmarshal(b, &back); err != nil {
			t.Fatalf("%s: %v", p.ID, err)
		}
		c, _ := json.Marshal(back)
		if string(b) != string(c) || !reflect.DeepEqual(normal(p), normal(back)) {
			t.Errorf("%s changed on the way through JSON", p.ID)
		}
	}
}

// normal makes empty and absent lists alike.
func normal(p Protocol) Protocol {
	p = p.clone()
	if len(p.Opened) == 0 {
		p.Opened = nil
	}
	if len(p.Closed) == 0 {
		p.Closed = nil
	}
	if len(p.Questions) == 0 {
		p.Questions = nil
	}
	for i := range p.Phases {
		if len(p.Phases[i].Measures) == 0 {
			p.Phases[i].Measures = nil
		}
	}
	return p
}

func FuzzCheck(f *testing.F) {
	f.Add([]byte(good))
	for _, p := range All() {
		file, _ := File(p.ID)
		f.Add(file)
	}
	f.Add([]byte(`{"phases":[[{}],{"limits":[null,{"m":1e999}]}]}`))
	f.Add([]byte(strings.Repeat("[", 10000)))
	f.Fuzz(func(t *testing.T, data []byte) {
		lines := strings.Count(string(data), "\n") + 1
		faults := Check(data)
		for _, x := range faults {
			if x.Line < 1 || x.Line > lines || x.Reason == "" {
				t.Fatalf("fault %+v outside of %d lines", x, lines)
			}
		}
		p, err := Parse(data)
		if (err == nil) != (len(faults) == 0) {
			t.Fatalf("Check says %v, Parse %v", faults, err)
		}
		if err != nil {
			return
		}
		b, err := json.Marshal(p)
		if err != nil {
			t.Fatal(err)
		}
		if again := Check(b); len(again) != 0 {
			t.Fatalf("a good protocol written anew has faults: %v", again)
		}
	})
}

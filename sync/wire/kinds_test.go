package wire

import (
	"encoding/json"
	"errors"
	"reflect"
	"strings"
	"testing"

	"unsling/engine/rom"
)

// bodies has a valid body of every kind.
var bodies = map[Kind]any{
	KindSession:   rom.Session{Episode: "e", ID: "s", Due: 20000, Slot: 1, Items: []rom.SessionItem{{Exercise: rom.Pendulum, Dose: rom.Dose{Reps: 3, PerDay: 2}, Holds: []rom.Hold{{Tenths: 200, Counted: true}}}}, Ended: rom.Finished},
	KindPain:      rom.Pain{Episode: "e", Score: 0, When: rom.PainAtNight},
	KindSign:      rom.Sign{Episode: "e", Sign: rom.SignFever, Text: "<b>&</b>"},
	KindSling:     rom.SlingReport{Episode: "e", Day: 20000, Worn: "partly"},
	KindQuestion:  rom.Question{Episode: "e", Text: "¿Puedo ducharme?\u2028"},
	KindAdopted:   rom.Adopted{Episode: "e", Rev: 3},
	KindInstall:   rom.Install{App: "1", Platform: "x", Language: "es", FreeHand: rom.Left},
	KindEpisode:   rom.Episode{ID: "e", Version: 1, State: rom.Planned, Side: rom.Left, Procedures: []rom.Procedure{rom.Procedures[0]}, By: "s"},
	KindPlan:      plan(),
	KindClearance: rom.Clearance{Episode: "e", Phase: "active", On: 20000, By: "s"},
	KindTherapy:   rom.Therapy{Episode: "e", On: 20000, Outcome: "attended", By: "s"},
	KindVisit:     rom.Visit{Episode: "e", On: 20000, By: "s"},
	KindNote:      rom.Note{Episode: "e", Text: "Come on Monday", By: "s", Answers: rom.Ref{Author: "p", N: 1}},
	KindTask:      rom.Task{Episode: "e", Finding: "f", Act: rom.TaskSeen, By: "s", On: 20000},
	KindScore:     rom.Score{Episode: "e", On: 20000, Form: rom.ASESScore, By: "s", Pain: new(int), Items: make([]int, 10)},
	KindReading:   rom.Reading{Episode: "e", Side: rom.Right, Motion: rom.ERSide, Class: rom.Passive, Method: rom.Photo, Angle: -55, SE: 40},
	KindSeen:      rom.Seen{What: rom.Ref{Author: "p", N: 1}, By: "s"},
	KindAmend:     rom.Amend{Target: rom.Ref{Author: "p", N: 1}, V: 1, Body: []byte(`{"episode":"e","score":1,"when":"rest"}`), Reason: "typed wrong"},
	KindVoid:      rom.Void{Target: rom.Ref{Author: "p", N: 1}, Reason: "by mistake"},
}

func plan() rom.Plan {
	return rom.Plan{
		Episode: "e", Rev: 1, State: rom.Running, WakeFrom: 480, WakeTo: 1320, By: "s", On: 20000,
		Contact: rom.Contact{Phone: "+34 600 000 000"},
		Phases:  []rom.Phase{{Key: "protect", Sling: rom.SlingAlways}},
	}
}

func TestEveryKind(t *testing.T) {
	if len(Kinds()) != len(bodies) {
		t.Errorf("%d kinds, %d samples", len(Kinds()), len(bodies))
	}
	for _, k := range Kinds() {
		raw, v, err := EncodeBody(k.Kind, bodies[k.Kind])
		if err != nil {
			t.Errorf("%s: %v", k.Kind, err)
			continue
		}
		if !isCompactObject(raw) || v != k.Version {
			t.Errorf("%s: version %d, body %s", k.Kind, v, raw)
		}
		back, err := DecodeBody(k.Kind, v, raw)
		if err != nil || !reflect.DeepEqual(back, bodies[k.Kind]) {
			t.Errorf("%s: came back as %+v (%v)", k.Kind, back, err)
		}
		withMore := append([]byte(`{"field_of_a_newer_app":[1],`), raw[1:]...)
		if _, err := DecodeBody(k.Kind, v, withMore); err != nil {
			t.Errorf("%s: a field that is not known here: %v", k.Kind, err)
		}
		if _, err := DecodeBody(k.Kind, v+1, raw); !errors.Is(err, ErrNotUnderstood) {
			t.Errorf("%s in a newer version: %v, want ErrNotUnderstood", k.Kind, err)
		}
		for _, bad := range []string{`{}`, `[]`, `{"episode":1}`, ``} {
			if _, err := DecodeBody(k.Kind, v, []byte(bad)); !errors.Is(err, ErrBody) && k.Kind != KindInstall {
				t.Errorf("%s with body %q: %v, want ErrBody", k.Kind, bad, err)
			}
		}
		if _, _, err := EncodeBody(k.Kind, 7); !errors.Is(err, ErrBody) {
			t.Errorf("%s from an int: %v, want ErrBody", k.Kind, err)
		}
	}
	if _, err := DecodeBody("no-such", 1, []byte(`{}`)); !errors.Is(err, ErrNotUnderstood) {
		t.Errorf("unknown kind: %v", err)
	}
}

// A new body travels as JSON inside JSON, not as text within text.
func TestAmendOnTheWire(t *testing.T) {
	raw, _, err := EncodeBody(KindAmend, bodies[KindAmend])
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(raw), `"body":{"episode":"e"`) {
		t.Errorf("amend travels as %s", raw)
	}
	bad := bodies[KindAmend].(rom.Amend)
	bad.Body = []byte(`{"a": 1}`)
	if _, _, err := EncodeBody(KindAmend, bad); !errors.Is(err, ErrBody) {
		t.Errorf("a new body with white space: %v", err)
	}
	var none json.RawMessage
	if _, err := DecodeBody(KindAmend, 1, none); !errors.Is(err, ErrBody) {
		t.Errorf("an amend of nothing: %v", err)
	}
}

// Who writes what (the table of kinds): a phone writes no plan.
func TestMayWrite(t *testing.T) {
	for _, c := range []struct {
		kind          Kind
		phone, clinic bool
	}{
		{KindPlan, false, true}, {KindClearance, false, true}, {KindEpisode, false, true}, {KindNote, false, true},
		{KindSession, true, true}, {KindSign, true, false}, {KindAdopted, true, false}, {KindReading, true, true}, {KindVoid, true, true},
	} {
		k, ok := Info(c.kind)
		if !ok || k.MayWrite("p-1") != c.phone || k.MayWrite("c-1") != c.clinic {
			t.Errorf("%s: phone %v, clinic %v", c.kind, k.MayWrite("p-1"), k.MayWrite("c-1"))
		}
	}
}

package clinic

import (
	"encoding/json"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"unsling/engine/protocol"
	"unsling/engine/rom"
)

// ownCuff is a protocol of the clinic's own for cuff repair, with other numbers.
func ownCuff(t *testing.T, version int, change func(*protocol.Protocol)) string {
	t.Helper()
	p := protocol.For(rom.CuffRepair)[0]
	var own protocol.Protocol
	raw, err := json.Marshal(p)
	if err == nil {
		err = json.Unmarshal(raw, &own)
	}
	if err != nil {
		t.Fatal(err)
	}
	own.ID, own.Version = "harbour-cuff", version
	if change != nil {
		change(&own)
	}
	text, err := json.MarshalIndent(own, "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// moves changes the ceiling of a motion in the phase "passive" by d.
func moves(m rom.Motion, d rom.Degrees) func(*protocol.Protocol) {
	return func(p *protocol.Protocol) {
		for i := range p.Phases {
			for j, l := range p.Phases[i].Limits {
				if p.Phases[i].Key == "passive" && l.Motion == m && !l.Open {
					p.Phases[i].Limits[j].Ceiling += d
					p.Phases[i].Limits[j].From = rom.Source{Key: "CLINIC", Mark: rom.Clinic}
				}
			}
		}
	}
}

func (p *practice) adoptText(text string) *answer {
	w := p.as(vega)
	return w.post("/clinic/protocols/own", url.Values{"text": {text}, "act": {"adopt"}, "reviewed": {"yes"}})
}

// A patient is moved alone, after a look at the difference; what the new
// version permits beyond the plan in force is left out until it is ticked.
func TestMoveToAnotherVersion(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	other := p.running("Bo Lind")
	before := x.plan()
	was, _ := before.Phase("passive")
	w := p.as(quill)
	at := x.base + "/protocol"
	if a := w.get(at); !strings.Contains(a.page.words(), "There is nothing to move to.") {
		t.Error("there is something to move to before anything new was adopted")
	}
	// External rotation less far, flexion further.
	text := ownCuff(t, 1, func(pr *protocol.Protocol) {
		moves(rom.ERSide, -rom.Deg(10))(pr)
		moves(rom.ForwardFlexion, rom.Deg(10))(pr)
	})
	if a := p.adoptText(text); a.StatusCode != http.StatusSeeOther {
		t.Fatalf("not adopted: %d %s", a.StatusCode, a.page.words())
	}
	if x.plan().Rev != before.Rev {
		t.Fatal("adopting changed a plan")
	}
	a := w.get(at)
	says := a.page.words()
	if !strings.Contains(says, "Left as it is, since it would permit more") || !strings.Contains(says, "harbour-cuff 1") {
		t.Fatalf("the page does not say what is left out: %s", says)
	}
	a = w.taken(w.post(at, change(t, a, "preview_on", "act", "move")))
	now := x.plan()
	ph, _ := now.Phase("passive")
	if now.Rev != before.Rev+1 || refs(now.Protocol) != "harbour-cuff 1" || before.Narrows(now) {
		t.Errorf("moved to %s, revision %d, wider: %v", refs(now.Protocol), now.Rev, before.Narrows(now))
	}
	if got, want := ph.Limit(rom.ERSide).Ceiling, was.Limit(rom.ERSide).Ceiling-rom.Deg(10); got != want {
		t.Errorf("ER to %s, want %s", got, want)
	}
	if ph.Limit(rom.ForwardFlexion).Ceiling != was.Limit(rom.ForwardFlexion).Ceiling {
		t.Error("flexion was widened silently")
	}
	if refs(other.plan().Protocol) == refs(now.Protocol) {
		t.Error("somebody else was moved")
	}
	// With the tick, the other patient gets both.
	at = other.base + "/protocol"
	a = w.post(at, change(t, w.get(at), "preview_on", "act", "preview", "full", "yes"))
	if a.StatusCode != http.StatusOK || other.plan().Rev != before.Rev {
		t.Fatal("the preview moved the patient")
	}
	w.taken(w.post(at, change(t, a, "preview_on", "act", "move")))
	full, _ := other.plan().Phase("passive")
	if full.Limit(rom.ForwardFlexion).Ceiling != was.Limit(rom.ForwardFlexion).Ceiling+rom.Deg(10) {
		t.Errorf("flexion to %s", full.Limit(rom.ForwardFlexion).Ceiling)
	}
	// The page of the version names both, and no stranger's patients.
	if got := p.as(quill).get("/clinic/protocols/harbour-cuff/versions").page.words(); !strings.Contains(got, "Ada Rowe") || !strings.Contains(got, "Bo Lind") {
		t.Errorf("versions: %s", got)
	}
	if got := p.as(moss).get("/clinic/protocols/harbour-cuff/versions").page.words(); strings.Contains(got, "Ada Rowe") {
		t.Error("a patient of others is named")
	}
}

// What the clinic had changed for one patient survives the move.
func TestMoveKeepsOwnChanges(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	s := p.as(quill)
	form := change(t, s.get(x.base+"/plan"), "save", "act", "save", "reason", "sore")
	for k := range form {
		if strings.HasSuffix(k, "l.FF.ceil") && form.Get(k) != "" {
			form.Set(k, "60")
			form.Set(strings.TrimSuffix(k, "ceil")+"floor", "0")
			break
		}
	}
	a := s.post(x.base+"/plan", form)
	if a.StatusCode != http.StatusSeeOther {
		t.Fatalf("the plan was not changed: %s", alerts(a))
	}
	own := x.plan()
	p.adoptText(ownCuff(t, 1, moves(rom.ERSide, -rom.Deg(5))))
	at := x.base + "/protocol"
	s.taken(s.post(at, change(t, s.get(at), "preview_on", "act", "move")))
	now := x.plan()
	for _, ph := range own.Phases {
		if got, _ := now.Phase(ph.Key); got.Limit(rom.ForwardFlexion) != ph.Limit(rom.ForwardFlexion) {
			t.Errorf("%s: flexion %s, was %s", ph.Key, limitText(got.Limit(rom.ForwardFlexion)), limitText(ph.Limit(rom.ForwardFlexion)))
		}
	}
	// A form that was opened before somebody else's change moves nobody.
	p.adoptText(ownCuff(t, 2, moves(rom.ERSide, -rom.Deg(7))))
	stale := change(t, s.get(at), "preview_on", "act", "move")
	s.taken(s.post(at, change(t, s.get(at), "preview_on", "act", "move")))
	stale.Del("once")
	s.refused(s.post(at, stale), http.StatusConflict, "Somebody else changed this plan")
	// Nor does anybody move while side or date is being corrected.
	p.adoptText(ownCuff(t, 3, nil))
	s.taken(s.post(x.base+"/correction", change(t, s.get(x.base+"/correction"), "ask", "act", "ask", "side", "left", "reason", "operation note")))
	s.refused(s.post(at, change(t, s.get(at), "preview_on", "act", "move")), http.StatusUnprocessableEntity, "A correction of side or date waits")
}

// The editor checks while somebody types, by the rules of the button; a
// version keeps its text.
func TestOwnVersions(t *testing.T) {
	p := newPractice(t)
	w := p.as(quill)
	ask := func(text string) (faults []ownFault) {
		a := w.post("/clinic/protocols/check", url.Values{"text": {text}})
		var out struct {
			Faults []ownFault `json:"faults"`
		}
		if err := json.Unmarshal([]byte(a.body), &out); a.StatusCode != http.StatusOK || err != nil {
			t.Fatalf("check: %d %v", a.StatusCode, err)
		}
		return out.Faults
	}
	text := ownCuff(t, 1, nil)
	if f := ask(text); len(f) != 0 {
		t.Errorf("faults of a sound text: %+v", f)
	}
	bad := strings.Replace(text, `"ceil"`, `"ceiling"`, 1)
	line := 1 + strings.Count(text[:strings.Index(text, `"ceil"`)], "\n")
	found := false
	for _, f := range ask(bad) {
		found = found || f.Line == line
	}
	if !found {
		t.Errorf("the fault of line %d is not named: %+v", line, ask(bad))
	}
	if a := p.adoptText(text); a.StatusCode != http.StatusSeeOther {
		t.Fatal("not adopted")
	}
	changed := ownCuff(t, 1, moves(rom.ERSide, -rom.Deg(5)))
	if a := p.adoptText(changed); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(alerts(a), "Raise the number") {
		t.Errorf("another text took the same version: %d", a.StatusCode)
	}
	next := w.get("/clinic/protocols/own?from=harbour-cuff").page.named("textarea")[0].words()
	if !strings.Contains(next, `"version": 2`) {
		t.Error("the next version is not numbered on")
	}
	a := w.post("/clinic/protocols/own", url.Values{"text": {ownCuff(t, 2, moves(rom.ERSide, -rom.Deg(5)))}, "act": {"check"}})
	if got := a.page.words(); !strings.Contains(got, "External rotation at the side") || !strings.Contains(got, "Against harbour-cuff 1") {
		t.Errorf("the review does not show the difference: %s", got)
	}
	p.adoptText(ownCuff(t, 2, moves(rom.ERSide, -rom.Deg(5))))
	got := w.get("/clinic/protocols/harbour-cuff/versions?from=1&to=2").page.words()
	if !strings.Contains(got, "passive, External rotation at the side") || !strings.Contains(got, "→") {
		t.Errorf("versions: %s", got)
	}
}

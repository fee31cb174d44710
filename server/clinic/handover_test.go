package clinic

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// A care team from before the clinic had this deputy: the list and the
// patient's page say whom to add, until it is done.
func TestDeputyOutsideTheTeam(t *testing.T) {
	p := newPractice(t)
	x, _ := pastLimit(t, p)
	w := p.as(vega)
	const outside = "is not in the care team and cannot open it"
	if s := w.get("/clinic/").page.words(); strings.Contains(s, outside) || !strings.Contains(s, "then") {
		t.Errorf("the deputy is in the team: %s", s)
	}
	p.must(p.store.SetTeam(x.id, nil, []rom.StaffID{quill}, p.trail(vega)))
	list := w.get("/clinic/")
	if !strings.Contains(list.page.words(), outside) || !strings.Contains(list.body, x.base+"/team") {
		t.Errorf("the list does not say whom to add: %s", list.page.words())
	}
	if s := w.get(x.base).page.words(); !strings.Contains(s, "the deputy, gets what an owner leaves, and is not in this care team") {
		t.Error("the patient's page does not say whom to add")
	}
	p.must(p.store.SetTeam(x.id, []rom.StaffID{quill}, nil, p.trail(vega)))
	if s := w.get("/clinic/").page.words() + w.get(x.base).page.words(); strings.Contains(s, outside) || strings.Contains(s, "not in this care team") {
		t.Error("it is still said after the deputy was added")
	}
}

// A panel is judged on all processors: whichever patient asks first, the list
// of who left is whole for every one, and what somebody left is the deputy's.
// Meant for the race detector too.
func TestPanelHandsOverWhatALeaverHad(t *testing.T) {
	p := newPractice(t)
	const patients = 12
	for i := range patients {
		x := p.running(fmt.Sprintf("Invented %c", 'A'+i))
		ph := x.phone()
		ph.write(p.now, wire.KindReading, own(x.episode(), rom.ForwardFlexion, 111))
		ph.exchange()
		p.must(p.store.SetTeam(x.id, []rom.StaffID{quill}, nil, p.trail(vega)))
		w := p.as(vega)
		w.taken(w.post(x.base+"/finding", findingForm(t, w, x, "act", "assign", "to", string(vega))))
	}
	_, err := p.store.ChangeStaff(vega, "staff.disable", p.trail(fenn), func(s *ledger.Staff) error { s.Disabled = true; return nil })
	p.must(err)
	c, err := p.store.Clinic()
	p.must(err)
	panel, err := p.store.Heads(vega)
	p.must(err)
	for range 10 {
		p.desk.judged.Forget()
		all, err := p.desk.panelBriefs(p.desk.source().AsOf(c, p.now), panel)
		p.must(err)
		handed := 0
		for _, briefs := range all {
			for _, b := range briefs {
				for _, f := range b.Findings {
					if f.Assigned == vega {
						t.Fatalf("%s is still assigned to somebody who left", f.Key)
					}
					if f.Assigned == quill {
						handed++
					}
				}
			}
		}
		if handed != patients {
			t.Fatalf("%d findings came to the deputy, want %d", handed, patients)
		}
	}
}

// A handover that breaks off half-way says what was done and what was not, is
// listed until it is done, and goes on from where it stopped.
func TestHandoverThatBreaksOff(t *testing.T) {
	p := newPractice(t)
	var all []*patient
	for _, name := range []string{"Ada Rowe", "Bea Finch", "Cy Moor"} {
		all = append(all, p.running(name))
	}
	in := func(who rom.StaffID) int {
		panel, err := p.store.Heads(who)
		p.must(err)
		return len(panel)
	}
	had := in(orr)
	f := p.as(fenn)
	form := url.Values{"act": {"disable"}, "staff": {string(vega)}, "to": {string(orr)}}
	mend := p.breaks(func(call, about string) bool { return call == "SetTeam" && about == string(all[1].id) })
	a := f.refused(f.post("/clinic/staff", form), http.StatusInternalServerError, "Dr Ines Vega can no longer sign in. 2 of 3 patients went to")
	if strings.Contains(a.page.words(), "Nothing was changed") {
		t.Error("it says that nothing was changed")
	}
	again := url.Values{"act": {"enable"}, "staff": {string(vega)}}
	f.refused(f.post("/clinic/staff", again), http.StatusConflict, "take over this person's patients first")
	mend()
	if in(orr) != had+2 || in(vega) != 1 {
		t.Errorf("the taker has %d, the leaver %d", in(orr), in(vega))
	}
	page := f.get("/clinic/staff")
	if s := page.page.words(); !strings.Contains(s, "still in the care team of 1 patient") || !strings.Contains(s, "Go on with the handover") {
		t.Errorf("the page of staff does not offer to go on: %s", s)
	}
	f.taken(f.post("/clinic/staff", form))
	if in(orr) != had+3 || in(vega) != 0 || strings.Contains(f.get("/clinic/staff").page.words(), "still in the care team") {
		t.Errorf("at the end the taker has %d, the leaver %d", in(orr), in(vega))
	}
}

// An administrator who was a clinician hands over before the sign-in ends.
func TestAdministratorWithPatientsHandsOver(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	_, err := p.store.ChangeStaff(vega, "staff.change", p.trail(fenn), func(s *ledger.Staff) error { s.Role = ledger.Administrator; return nil })
	p.must(err)
	f := p.as(fenn)
	form := url.Values{"act": {"disable"}, "staff": {string(vega)}}
	f.refused(f.post("/clinic/staff", form), http.StatusUnprocessableEntity, "who takes over")
	if s, _ := p.store.Staff(vega); s.Disabled {
		t.Error("disabled before anybody was chosen")
	}
	form.Set("to", string(orr))
	f.taken(f.post("/clinic/staff", form))
	if a := p.as(orr).get(x.base); a.StatusCode != http.StatusOK {
		t.Errorf("the taker cannot open the patient: %d", a.StatusCode)
	}
}

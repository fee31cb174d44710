package clinic

import (
	"fmt"
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
		p.desk.judged.forget()
		v := &visit{desk: p.desk, at: p.now, today: p.today(), clinic: c, zone: p.now.Location()}
		all, err := v.panelBriefs(panel)
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

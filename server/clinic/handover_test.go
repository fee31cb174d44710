package clinic

import (
	"strings"
	"testing"

	"unsling/engine/rom"
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

package clinic

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
)

// What is set for the clinic is what the next enrolment begins with; plans in
// force stay as they are.
func TestCustoms(t *testing.T) {
	p := newPractice(t)
	old := p.running("Ada Rowe")
	w := p.as(fenn)
	form := func() url.Values {
		return url.Values{"therapy": {"2", "4"}, "langs": {"es", "en"}, "first": {"es"}, "holidays": {"2026-03-17\n2026-12-24 2027-01-01\n\n2025-12-24"}, "urgent": {"Quay Hospital, gate 3."}}
	}
	for _, c := range []struct{ field, value, says string }{
		{"langs", "", "Please offer at least one language."}, {"first", "fr", "must be one of those that are offered"},
		{"holidays", "Christmas", `"Christmas" is not a day`}, {"holidays", "2026-12-24 2026-12-01", "is not a day"},
		{"holidays", strings.Repeat("2026-12-24\n", 9), "more than 8 holidays"}, {"urgent", strings.Repeat("x", 201), "too long"},
	} {
		bad := form()
		bad.Set(c.field, c.value)
		a := w.refused(w.post("/clinic/customs", bad), http.StatusUnprocessableEntity, c.says)
		if c.field != "holidays" && !strings.Contains(a.body, "2026-12-24 2027-01-01") {
			t.Errorf("%s: what was typed is lost", c.field)
		}
	}
	w.taken(w.post("/clinic/customs", form()))
	m := p.as(marsh)
	m.refused(m.post("/clinic/customs", form()), http.StatusForbidden, "your role may not do this")
	got := m.get("/clinic/enrol").page.form(t, "surgeon").values()
	if !slices.Equal(got["therapy"], []string{"2", "4"}) || got.Get("lang") != "es" {
		t.Errorf("enrolling begins with %v, %q", got["therapy"], got.Get("lang"))
	}
	enrol := enrolForm1("Bo Lind")
	enrol["therapy"] = got["therapy"]
	x := p.enrol(enrol)
	if got := x.plan().Contact.Nearby; got != "Quay Hospital, gate 3." {
		t.Errorf("beside the emergency number the phone shows %q", got)
	}
	want := []rom.Break{{From: rom.DateOf(time.Date(2026, 3, 17, 0, 0, 0, 0, time.UTC)), To: rom.DateOf(time.Date(2026, 3, 17, 0, 0, 0, 0, time.UTC)), Kind: rom.NoTherapy},
		{From: rom.DateOf(time.Date(2026, 12, 24, 0, 0, 0, 0, time.UTC)), To: rom.DateOf(time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)), Kind: rom.NoTherapy}}
	if plan := x.plan(); !slices.Equal(plan.Breaks, want) {
		t.Errorf("breaks %v", plan.Breaks)
	}
	if len(old.plan().Breaks) != 0 {
		t.Error("a plan in force was touched")
	}
	if s := p.as(quill).get(old.base + "/programme").page.words(); !strings.Contains(s, "Quay Hospital, gate 3.") {
		t.Error("the wording is not on the programme")
	}
	// Confirming the operation keeps the breaks that the plan has.
	if y := x.operated(); !slices.Equal(y.plan().Breaks, want) {
		t.Errorf("after confirming: %v", y.plan().Breaks)
	}
}

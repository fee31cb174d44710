package clinic

import (
	"net/http"
	"net/url"
	"slices"
	"testing"

	"unsling/engine/rom"
)

// A second shoulder stands beside the first: its own plan, numbered on, and
// nothing of the first is touched.
func TestAnotherEpisode(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	first, plan := x.episode(), x.plan()
	at := x.base + "/another"
	w := p.as(marsh)
	form := url.Values{"side": {"right"}, "main": {string(rom.CuffRepair)}, "surgery": {p.today().Add(20).String()}}
	for _, c := range []struct{ field, value, says string }{
		{"side", "", "Please choose the side"}, {"main", "", "Please choose the main procedure"},
		{"surgery", "1999-01-01", "more than two years away"}, {"surgery", "x", "is not a date"},
		{"main", string(rom.SLAPRepair), "has adopted a protocol for SLAP repair"},
		{"side", "right", "There is an episode of the right shoulder that has not ended"},
	} {
		bad := url.Values{"side": {"left"}, "main": form["main"], "surgery": form["surgery"]}
		bad.Set(c.field, c.value)
		w.refused(w.post(at, bad), http.StatusUnprocessableEntity, c.says)
	}
	if n := len(x.history().EpisodeIDs()); n != 1 {
		t.Fatalf("%d episodes after refusals", n)
	}
	form.Set("side", "left")
	w.taken(w.post(at, form))
	h := x.history()
	ids := h.EpisodeIDs()
	if len(ids) != 2 {
		t.Fatalf("%d episodes", len(ids))
	}
	second, _ := h.Episode(ids[1])
	plan2, ok := h.Plan(ids[1])
	if second.Side != rom.Left || second.State != rom.Planned || second.BornYear != first.BornYear || !ok || plan2.Rev != plan.Rev+1 || plan2.Base != 0 || !slices.Equal(plan2.TherapyDays, plan.TherapyDays) {
		t.Errorf("second: %+v, plan %d of %d", second, plan2.Rev, plan2.Base)
	}
	if now, _ := h.Plan(first.ID); now.Rev != plan.Rev {
		t.Error("the first plan was touched")
	}
	if h.Current(p.today()) != first.ID {
		t.Error("the phone would not show the operated shoulder")
	}
	// A revision of the same shoulder needs a tick.
	form.Set("side", "right")
	a := w.refused(w.post(at, form), http.StatusUnprocessableEntity, "tick so below")
	again := a.page.form(t, "main").values()
	again.Set("sure", "yes")
	w.taken(w.post(at, again))
}

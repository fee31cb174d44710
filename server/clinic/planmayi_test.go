package clinic

import (
	"net/http"
	"slices"
	"testing"
	"time"

	"unsling/app/words"
	"unsling/engine/rom"
)

// The clinic answers daily questions by phase; the answers reach the plan as
// they were chosen, come back in the form, and can be taken away.
func TestDailyQuestions(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	p.now = p.now.Add(time.Hour)
	w := p.as(quill)
	before := x.plan()
	first, second := before.Phases[0].Key, before.Phases[1].Key
	w.taken(w.post(x.base+"/plan", planForm(t, w, x, "may."+first+".drive", "no", "may."+second+".drive", "ask", "may."+first+".shower", "yes")))
	got := x.plan().MayI
	for _, want := range []rom.MayI{{Phase: first, Activity: "drive", Answer: "no"}, {Phase: second, Activity: "drive", Answer: "ask"}, {Phase: first, Activity: "shower", Answer: "yes"}} {
		if !slices.Contains(got, want) {
			t.Errorf("the plan lacks %v: %v", want, got)
		}
	}
	if len(got) != len(before.MayI)+3 {
		t.Errorf("answers that nobody gave: %v", got)
	}
	d := before.Diff(x.plan())
	if len(d) != 3 || d[0].What != rom.AspectMayI {
		t.Errorf("the history says %v", d)
	}
	w.refused(w.post(x.base+"/plan", planForm(t, w, x)), http.StatusUnprocessableEntity, "Nothing is different from the present plan.")
	w.taken(w.post(x.base+"/plan", planForm(t, w, x, "may."+first+".drive", "")))
	if slices.ContainsFunc(x.plan().MayI, func(m rom.MayI) bool { return m.Phase == first && m.Activity == "drive" }) {
		t.Error("an answer that was taken away is still there")
	}
	w.refused(w.post(x.base+"/plan", planForm(t, w, x, "may."+first+".drive", "perhaps")), http.StatusUnprocessableEntity, "please choose yes, no, ask us")
	if len(words.Activities()) < 10 {
		t.Error("few questions")
	}
}

package clinic

import (
	"net/http"
	"strings"
	"testing"

	"unsling/engine/rom"
)

// Waking hours, breaks and measuring are part of a revision like anything
// else: shown as a difference, previewed, and kept when somebody else saves
// first.
func TestPlanTimes(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(vega)
	set := []string{"act", "preview", "wake_from", "07:30", "wake_to", "22:00", "gap", "150", "less", "2", "break-from", "2026-04-03", "break-to", "2026-04-06", "break-kind", "no-sessions",
		"p.passive.m.FF.week", "1", "p.passive.m.FF.trials", "1", "preview_on", "2026-04-04"}
	a := w.post(x.base+"/plan", planForm(t, w, x, set...))
	s := a.page.words()
	for _, want := range []string{"waking hours: 08:00 to 21:00", "→ 07:30 to 22:00, 150 min between sessions", "break: none → 2026-04-03 to 2026-04-06, no sessions, limits and sling stay", "passive, measuring:",
		"What the phone would show today", "What the phone would show on Sat 4 Apr 2026", "Nothing of it is narrowed."} {
		if !strings.Contains(s, want) {
			t.Errorf("the preview does not say %q: %.1200s", want, s[strings.Index(s, "Different from"):])
		}
	}
	set[1] = "save"
	w.taken(w.post(x.base+"/plan", planForm(t, w, x, append(set, "reason", "Easter")...)))
	got := x.plan()
	if got.WakeFrom != 450 || got.WakeTo != 1320 || got.LeastGap != 150 || got.TherapyDayLess != 2 || len(got.Breaks) != 1 || got.Breaks[0].Kind != rom.NoSessions {
		t.Errorf("the revision: %+v", got)
	}
	ph, _ := got.Phase("passive")
	if len(ph.Measures) == 0 || ph.Measures[0].Motion != rom.ForwardFlexion || ph.Measures[0].PerWeek != 1 {
		t.Errorf("measuring: %+v", ph.Measures)
	}
	for _, c := range []struct{ field, value, says string }{
		{"wake_from", "eight", `"eight" is not a time of day.`}, {"wake_to", "09:00", "at least four hours"}, {"gap", "800", "not a whole number from 0 to 720"},
		{"break-to", "2026-04-01", "at most half a year apart"}, {"break-from", "1 April", "please write its dates"}, {"p.passive.m.FF.week", "9", "from 0 to 7"},
	} {
		form := planForm(t, w, x, "act", "save", "reason", "x", "break-from", "2026-05-01", "break-to", "2026-05-02", "break-kind", "no-therapy", c.field, c.value)
		back := w.refused(w.post(x.base+"/plan", form), http.StatusUnprocessableEntity, c.says)
		if got := back.page.form(t, "reason").values().Get(c.field); got != c.value {
			t.Errorf("%s %q came back as %q", c.field, c.value, got)
		}
	}
	// Two people at once: each keeps what only that person changed.
	mine := planForm(t, w, x, "act", "save", "reason", "later start", "wake_from", "09:00", "break-from", "2026-06-01", "break-to", "2026-06-02", "break-kind", "no-therapy")
	q := p.as(quill)
	q.taken(q.post(x.base+"/plan", planForm(t, q, x, "act", "save", "reason", "another break", "break-from", "2026-07-01", "break-to", "2026-07-02", "break-kind", "no-therapy")))
	a = w.refused(w.post(x.base+"/plan", mine), http.StatusConflict, "Somebody else changed this plan")
	w.taken(w.post(x.base+"/plan", change(t, a, "reason", "act", "save")))
	if got := x.plan(); got.WakeFrom != 540 || len(got.Breaks) != 3 {
		t.Errorf("after both: %d, %v", got.WakeFrom, got.Breaks)
	}
	// A break that is taken out stays out through a preview.
	form := planForm(t, w, x, "act", "preview", "break-drop", got.Breaks[0].String())
	a = w.post(x.base+"/plan", form)
	w.taken(w.post(x.base+"/plan", change(t, a, "reason", "act", "save", "reason", "not away after all")))
	if got := x.plan(); len(got.Breaks) != 2 {
		t.Errorf("after taking one out: %v", got.Breaks)
	}
}

// What is narrower holds at once, in a session that runs too; what is wider
// waits. The page says which, by the schedule's own rule.
func TestPreviewOfARunningSession(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(vega)
	for _, c := range []struct {
		set  []string
		want string
	}{
		{[]string{"p.passive.l.FF.ceil", "60"}, "It obeys this at once: Forward flexion: to 60°."},
		{[]string{"p.passive.l.FF.ceil", "120"}, "Nothing of it is narrowed. What is wider waits for the next session."},
		{[]string{"p.passive.pain", "1"}, "highest pain: 1 of 10"},
		{[]string{"state", "stopped", "why", "come in"}, "It ends at once: stopped by the clinic."},
	} {
		if s := w.post(x.base+"/plan", planForm(t, w, x, append(c.set, "act", "preview")...)).page.words(); !strings.Contains(s, c.want) {
			t.Errorf("%v: no %q in %.900s", c.set, c.want, s[strings.Index(s, "What the phone would"):])
		}
	}
	// A clearance is previewed too.
	if s := w.get(x.base).page.words(); !strings.Contains(s, "What the phone would show on") {
		t.Error("the clearance has no preview")
	}
}

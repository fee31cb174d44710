package clinic

import (
	"net/http"
	"strings"
	"testing"

	"unsling/engine/rom"
)

// The hand-off sheet carries side, date, phase and limits of the day, and asks
// only for motions that may be moved; what comes back is kept with its source.
func TestHandoff(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(quill)
	w.taken(w.post(x.base+"/entry/reading", change(t, w.get(x.base+"/entry/reading"), "method", "FF-right", "92")))
	at := x.base + "/handoff"
	a := w.get(at)
	sheet := a.page.named("article")[0].words()
	for _, s := range []string{"RIGHT", "Hand-off, " + day(p.today()), "“passive”", "day 30", "92°", "Dr Ines Vega", p.desk.mustClinic(t).Phone, "R" + "2-" + p.today().String()} {
		if !strings.Contains(sheet, s) {
			t.Errorf("the sheet does not say %q: %s", s, sheet)
		}
	}
	f := x.plan()
	ph, _ := f.Phase("passive")
	heads := 0
	for _, th := range a.page.named("article")[0].named("th") {
		for _, m := range shoulderMotions {
			if th.words() == name(motionShort, m) {
				heads++
				if ph.Limit(m).Class == rom.Locked {
					t.Errorf("%s is locked and asked for", m)
				}
			}
		}
	}
	if heads == 0 {
		t.Error("the form asks for no motion")
	}
	for _, c := range []struct{ field, value, says string }{
		{"who", "", "Please write who took the readings"}, {"on", "", "Please give the date on the sheet"},
		{"on", "2031-01-01", "lies in the past two years"}, {"FF-right", "ninety", "is not an angle"}, {"FF-right", "", "Nothing was entered."},
	} {
		form := change(t, w.get(at), "who", "who", "Bo Lind, Hill Practice", "on", p.today().Add(-1).String(), "FF-right", "95")
		form.Set(c.field, c.value)
		w.refused(w.post(at, form), http.StatusUnprocessableEntity, c.says)
	}
	w.taken(w.post(at, change(t, w.get(at), "who", "who", "Bo Lind, Hill Practice", "on", p.today().Add(-1).String(), "FF-right", "95", "sheet", "R2", "text", "stiff at the end")))
	h := x.history()
	got := h.Readings[len(h.Readings)-1].Body
	if len(h.Readings) != 2 || got.Angle != rom.Deg(95) || got.On != p.today().Add(-1) || got.By != quill || got.Class != rom.Passive {
		t.Errorf("%+v", got)
	}
	if v := h.Visits[len(h.Visits)-1].Body; !strings.Contains(v.Text, "Bo Lind, Hill Practice") || !strings.Contains(v.Text, "stiff at the end") || v.On != got.On {
		t.Errorf("%+v", v)
	}
	// A stopped plan is said first, and nothing is asked.
	w.taken(w.post(x.base+"/plan", change(t, w.get(x.base+"/plan"), "save", "act", "save", "state", "stopped", "why", "Ring us.", "reason", "swelling")))
	if s := w.get(at).page.named("article")[0].words(); !strings.Contains(s, "stopped by the clinic: no exercises.") || !strings.Contains(s, "Please measure nothing now") {
		t.Errorf("stopped: %s", s)
	}
}

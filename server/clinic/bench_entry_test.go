package clinic

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"unsling/engine/dose"
	"unsling/engine/rom"
)

// End feel, pain and whether the other arm is sound are entered in one go with
// the values.
func TestBenchEntry(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(quill)
	at := x.base + "/entry/reading"
	form := change(t, w.get(at), "method", "FF-right", "92", "FF-left", "168", "FF-feel", "empty", "FF-pain", "6", "HBB-right", "17", "HBB-feel", "firm")
	form["sound-arm"] = []string{string(rom.ForwardFlexion), string(rom.ERSide)}
	w.taken(w.post(at, form))
	for _, e := range x.history().Readings {
		switch r := e.Body; {
		case r.Side == rom.Left && (r.EndFeel != "" || r.Pain != nil):
			t.Errorf("the other arm took over the end feel: %+v", r)
		case r.Side == rom.Right && r.Motion == rom.ForwardFlexion && (r.EndFeel != rom.EmptyFeel || r.Pain == nil || *r.Pain != 6):
			t.Errorf("%+v", r)
		case r.Motion == rom.HandBehindBack && (r.EndFeel != rom.FirmFeel || r.Level != rom.LevelL5):
			t.Errorf("%+v", r)
		}
	}
	if e := x.episode(); len(e.OtherArm) != 2 || e.By != quill {
		t.Errorf("the other arm: %+v", e)
	}
	if s := w.get(at).page.words(); !strings.Contains(s, "92°, 2 Mar") || !strings.Contains(s, "168°, 2 Mar") {
		t.Error("the form does not show what was measured last")
	}
	version := x.episode().Version
	w.taken(w.post(at, change(t, w.get(at), "method", "FF-right", "95")))
	if x.episode().Version != version {
		t.Error("an unchanged tick made a new version")
	}
	for field, says := range map[string]string{"FF-feel": "Please choose the end feel from the list.", "FF-pain": "is not a whole number from 0 to 10."} {
		w.refused(w.post(at, change(t, w.get(at), "method", "FF-right", "90", field, "much")), http.StatusUnprocessableEntity, says)
	}
}

// Therapy of two weeks is answered in one form; what has an answer is not
// asked again.
func TestTherapyDays(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe") // Monday, Wednesday and Friday; enrolled today, a Monday
	p.now = p.now.AddDate(0, 0, 9)
	w := p.as(quill)
	at := x.base + "/entry/therapy"
	page := w.get(at)
	asked := 0
	for _, k := range page.page.named("legend") {
		if strings.HasSuffix(k.words(), "2026") {
			asked++
		}
	}
	if asked != 5 {
		t.Fatalf("%d days are asked for: %s", asked, page.page.words())
	}
	w.taken(w.post(at, change(t, page, "on", "t.2026-03-04", "attended", "t.2026-03-06", "missed", "t.2026-03-09", "cancelled")))
	h := x.history()
	if len(h.Therapies) != 3 {
		t.Errorf("%+v", h.Therapies)
	}
	if s := w.get(at).page.words(); strings.Contains(s, "Wed 4 Mar") || !strings.Contains(s, "Wed 11 Mar") {
		t.Errorf("asked again: %s", s)
	}
	w.refused(w.post(at, change(t, w.get(at), "on")), http.StatusUnprocessableEntity, "Please choose whether therapy took place.")
	w.refused(w.post(at, change(t, w.get(at), "on", "t.2026-03-02", "perhaps")), http.StatusUnprocessableEntity, "Please choose whether therapy took place.")
}

// A log on paper counts as done without angles; days without a number stay
// unknown and are no missed ones.
func TestPaperLog(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe") // without a phone
	p.now = p.now.AddDate(0, 0, 6)
	w := p.as(quill)
	at := x.base + "/entry/paper"
	hrefOf(t, w.get(x.base), "Paper log")
	page := w.get(at)
	if s := page.page.words(); !strings.Contains(s, "Sun 8 Mar 2026") || !strings.Contains(s, "For a patient without a phone.") {
		t.Fatalf("the form: %s", s)
	}
	form := change(t, page, "until", "d.2026-03-03", "2", "p.2026-03-03", "4", "d.2026-03-05", "1")
	w.taken(w.post(at, form))
	h := x.history()
	if len(h.Sessions) != 3 {
		t.Fatalf("%d sessions", len(h.Sessions))
	}
	for _, e := range h.Sessions {
		s := e.Body
		if s.By != quill || s.Counted() != s.Asked() || s.Counted() == 0 || s.Ended != rom.Finished || s.Due == rom.MakeDate(2026, 3, 3) != (s.Worst != nil && *s.Worst == 4) {
			t.Errorf("%+v", s)
		}
		for _, it := range s.Items {
			for _, hold := range it.Holds {
				if hold.Angle != nil {
					t.Error("paper has no angles")
				}
			}
		}
	}
	days := dose.Days(h, x.episode().ID, rom.MakeDate(2026, 3, 3), rom.MakeDate(2026, 3, 6), dose.Told{Through: rom.MakeDate(2026, 3, 6)})
	if days[0].Done != 2 || days[1].Done != 0 || days[2].Done != 1 {
		t.Errorf("doses: %+v", days)
	}
	s := w.get(x.base).page.words()
	if !strings.Contains(s, "from a paper log") || !strings.Contains(s, "of 2 known days") {
		t.Errorf("the patient's page: %.200s", s[strings.Index(s, "Done of what was asked"):])
	}
	if s := w.get(at).page.words(); !strings.Contains(s, "2 sessions are entered") {
		t.Error("the form does not say that a day is entered")
	}
	bare := url.Values{"episode": form["episode"], "until": form["until"], "d.2026-03-03": {"1"}}
	w.refused(w.post(at, bare), http.StatusUnprocessableEntity, "the day has some already")
	for _, c := range [][2]string{{"d.2026-03-04", "99"}, {"d.2026-03-04", "-1"}, {"d.2026-03-04", "all"}, {"until", "2027-01-01"}} {
		bare := url.Values{"episode": form["episode"], "until": form["until"], "d.2026-03-04": {"1"}}
		bare.Set(c[0], c[1])
		a := w.post(at, bare)
		if a.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("%v: %d", c, a.StatusCode)
		}
	}
	if n := len(x.history().Sessions); n != 3 {
		t.Errorf("%d sessions after refused forms", n)
	}
}

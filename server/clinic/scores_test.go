package clinic

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"unsling/engine/rom"
)

func scoreForm(x *patient, form string, more ...string) url.Values {
	f := url.Values{"episode": {string(x.episode().ID)}, "form": {form}, "on": {"2026-03-01"}}
	for i := 0; i+1 < len(more); i += 2 {
		f.Set(more[i], more[i+1])
	}
	return f
}

// 121 to 150 earns 8, 91 to 120 earns 6, two positions 4, L3 6: 24 of 40
// (CONSTANT1987, points from a second text). Pain 3 and items of 21 earn 70
// (RICHARDS1994, from a second text).
func TestScoresAreEntered(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(quill)
	at := x.base + "/scores"
	constant := scoreForm(x, "constant-motion", "forward", "125", "lateral", "118.4", "position-0", "yes", "position-4", "yes", "internal", "15", "confirmed", "yes")
	w.taken(w.post(at, constant))
	ases := scoreForm(x, "ases", "on", "2026-02-20", "pain", "3")
	for i, n := range []string{"3", "3", "3", "3", "3", "3", "3", "0", "0", "0"} {
		ases.Set("item-"+[]string{"1", "2", "3", "4", "5", "6", "7", "8", "9", "10"}[i], n)
	}
	w.taken(w.post(at, ases))
	got := x.history().Scores
	if len(got) != 2 || got[0].Body.By != quill || *got[0].Body.Forward != rom.Deg(125) || len(got[1].Body.Items) != 10 {
		t.Fatalf("scores %+v", got)
	}
	for _, page := range []string{at, x.base + "/explain"} {
		words := w.get(page).page.words()
		for _, want := range []string{"Constant-Murley, motion 24 of 40 Sun 1 Mar 2026", "ASES 70 of 100 Fri 20 Feb 2026", "2 of 5 positions", "sum 21 of 30", "CONSTANT1987", "RICHARDS1994", "(memory)"} {
			if !strings.Contains(words, want) {
				t.Errorf("%s does not say %q", page, want)
			}
		}
	}
	if words := w.get(x.base + "/explain?on=2026-02-25").page.words(); strings.Contains(words, "Constant-Murley") || !strings.Contains(words, "ASES 70") {
		t.Error("a day before the score is explained with it")
	}
	if !strings.Contains(w.get(x.base).body, x.base+"/scores?episode=") {
		t.Error("the patient's page does not lead to the scores")
	}
}

func TestScoresWithFaults(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(vega)
	at := x.base + "/scores"
	for _, c := range []struct{ form, field, value, says string }{
		{"constant-motion", "confirmed", "", "Passive angles and those from home cannot fill this score."},
		{"constant-motion", "forward", "", "is not an angle from 0 to 200 degrees"},
		{"constant-motion", "lateral", "-5", "is not an angle from 0 to 200 degrees"},
		{"constant-motion", "lateral", "NaN", "is not an angle from 0 to 200 degrees"},
		{"constant-motion", "internal", "", "how high the back of the hand reaches"},
		{"constant-motion", "on", "2026-03-03", "in the past two years"},
		{"ases", "pain", "11", "Pain: please enter a whole number from 0 to 10."},
		{"ases", "item-7", "", "Item 7: please choose 0 to 3."},
		{"ases", "item-7", "4", "Item 7: please choose 0 to 3."},
		{"sane", "pain", "1", "Please choose which score."},
	} {
		form := scoreForm(x, c.form, "forward", "125", "lateral", "118", "internal", "15", "confirmed", "yes", "pain", "3")
		for i := range 10 {
			form.Set("item-"+[]string{"1", "2", "3", "4", "5", "6", "7", "8", "9", "10"}[i], "2")
		}
		form.Set(c.field, c.value)
		a := w.refused(w.post(at, form), http.StatusUnprocessableEntity, c.says)
		if back := a.page.form(t, "form").values(); c.form == "constant-motion" && c.field != "lateral" && back.Get("lateral") != "118" {
			t.Errorf("%s: what was typed is gone: %v", c.field, back)
		}
	}
	if n := len(x.history().Scores); n != 0 {
		t.Errorf("%d scores of refused forms", n)
	}
	m := p.as(marsh)
	m.refused(m.post(at, scoreForm(x, "ases", "pain", "3")), http.StatusForbidden, "your role may not do this")
}

// The chance from which a limit counts as passed has no published source, and the page on which a
// surgeon adopts a protocol says so.
func TestProtocolPageSaysWhenPassed(t *testing.T) {
	p := newPractice(t)
	words := p.as(vega).get("/clinic/protocols/cuff-repair-small-medium").page.words()
	if want := "beyond it is 70 % or more, by the readings of that hold and all before. CHOICE derived"; !strings.Contains(words, want) {
		t.Errorf("the page does not say %q", want)
	}
}

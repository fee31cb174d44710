package clinic

import (
	"strings"
	"testing"
)

// What goes out on paper: the hand-off sheet is one page, the programme has
// its number and boxes, and neither prints what belongs to the screen.
func TestPaperPrints(t *testing.T) {
	p := newPractice(t)
	x := busyPatient(t, p, longNames[0])
	w := p.open(t, vega)
	for name, size := range map[string][2]float64{"A4": {8.27, 11.69}, "Letter": {8.5, 11}} {
		w.Open(w.url + x.base + "/handoff")
		text, pages := w.pdf(size[0], size[1])
		flat := strings.Join(strings.Fields(text), " ")
		if pages != 1 {
			t.Errorf("%s: the hand-off sheet prints on %d pages", name, pages)
		}
		for _, want := range []string{"Konstantinopolitanopoulou", "RIGHT shoulder", "Hand-off, Mon 2 Mar 2026", "“passive”", "Please return", "signature"} {
			if !strings.Contains(flat, want) {
				t.Errorf("%s: the hand-off sheet lacks %q", name, want)
			}
		}
		w.Open(w.url + x.base + "/programme")
		prog, pages := w.pdf(size[0], size[1])
		if pages < 2 || !strings.Contains(prog, p.desk.mustClinic(t).Phone) || !strings.Contains(prog, "Worst pain") {
			t.Errorf("%s: the programme on %d pages", name, pages)
		}
		for _, s := range []string{text, prog} {
			if strings.Contains(s, "Sign out") || strings.Contains(s, "Back to the patient") || strings.Contains(s, "Readings that came back") {
				t.Errorf("%s: what belongs to the screen is printed", name)
			}
		}
	}
}

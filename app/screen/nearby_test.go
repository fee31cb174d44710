package screen

import (
	"strings"
	"testing"

	"unsling/engine/rom"
)

// What the clinic says beside the emergency number stands on the page of help, and of a sign that needs it; a plan from
// before has nothing of it.
func TestNearbyIsShown(t *testing.T) {
	s := on(t, 20, 10)
	s.a.Arrive("/help", "")
	if got := s.a.viewHelp().Nearby; got != "" {
		t.Errorf("a plan from before says %q", got)
	}
	const says = "Quay Hospital, gate 3 (invented)."
	s.revise(func(p *rom.Plan) { p.Contact.Nearby = says })
	if got := s.a.viewHelp().Nearby; got != says {
		t.Errorf("help says %q", got)
	}
	p, _ := s.f.facts.History.Plan(episodeID)
	for _, bad := range []string{strings.Repeat("x", 201), "two\nlines"} {
		p.Contact.Nearby = bad
		if p.Validate() == nil {
			t.Errorf("%.20q passes", bad)
		}
	}
}

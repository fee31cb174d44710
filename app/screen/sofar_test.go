package screen

import (
	"strings"
	"testing"

	"unsling/engine/rom"
)

func TestSinceTheVisit(t *testing.T) {
	s := on(t, 60, 10)
	visit := operated.Add(40)
	h := &s.f.facts.History
	h.Visits = append(h.Visits, rom.Entry[rom.Visit]{Meta: s.meta(70, visit), Body: rom.Visit{Episode: episodeID, On: visit, By: surgeon}})
	s.reading(38, rom.ForwardFlexion, 80)
	s.reading(58, rom.ForwardFlexion, 104)
	s.reading(38, rom.ERSide, 14)
	s.reading(58, rom.ERSide, 18)
	s.reading(58, rom.Scaption, 60)
	s.a.look()
	v := s.a.viewSoFar().Since
	text := v.Title + "|" + strings.Join(v.Lines, "|")
	for _, want := range []string{"Since your visit on", "24 degrees more", "about the same"} {
		if !strings.Contains(text, want) {
			t.Errorf("since the visit: %q lacks %q", text, want)
		}
	}
	for _, never := range []string{"fail", "behind", "only", "should"} {
		if strings.Contains(strings.ToLower(text), never) {
			t.Errorf("it shames: %q", text)
		}
	}
	over := on(t, 60, 10)
	limit := over.a.day.Motion(rom.ForwardFlexion).Limit.Ceiling.Whole()
	over.reading(30, rom.ForwardFlexion, 80)
	over.reading(59, rom.ForwardFlexion, limit+25)
	over.a.look()
	if lines := over.a.viewSoFar().Since.Lines; len(lines) != 0 {
		t.Errorf("an angle past the limit is compared: %q", lines)
	}
}

// TestBandOnlyFromWeek12: design of this app. The mean at month 6 is that of
// HA2021, as package trend has it from the paper.
func TestBandOnlyFromWeek12(t *testing.T) {
	for _, c := range []struct {
		day  int
		band bool
	}{{60, false}, {83, false}, {98, true}, {182, true}} {
		s := on(t, c.day, 10)
		s.reading(c.day-10, rom.ForwardFlexion, 100)
		s.a.look()
		m, ok := s.a.motionChart(rom.ForwardFlexion, s.a.pastDays())
		if !ok || len(m.Expected) > 0 != c.band {
			t.Errorf("day %d: %d points of a band, ok %v", c.day, len(m.Expected), ok)
		}
		for _, r := range m.Expected {
			if r.Day.Sub(operated) < 84 || r.Low >= r.High {
				t.Errorf("day %d: band %+v", c.day, r)
			}
		}
	}
}

func TestEveryChartHasATableTwin(t *testing.T) {
	s := on(t, 100, 10)
	for i, v := range []int{70, 84, 97} {
		s.reading(30+20*i, rom.ForwardFlexion, v)
	}
	s.a.look()
	for _, c := range s.a.viewSoFar().Cards {
		if len(c.Table) < 2 || len(c.Table[0]) < 2 {
			t.Errorf("%s: the table is %v", c.ID, c.Table)
		}
	}
}

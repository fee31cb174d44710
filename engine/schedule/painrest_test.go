package schedule

import (
	"testing"

	"unsling/engine/rom"
)

// What pain has stopped stays stopped, on every page alike: nothing begins before the rest is over, and nothing else
// brings it back. Scores: the phase's cap is 3, strong pain begins at 6 (engine/protocol, pain rules).
func TestPainRest(t *testing.T) {
	pain := func(h *rom.History, when rom.PainWhen, day, minute, score int) {
		h.Pains = append(h.Pains, rom.Entry[rom.Pain]{Meta: meta("phone", int64(50+len(h.Pains)), day, minute), Body: rom.Pain{Episode: ep, When: when, Score: score}})
	}
	stopped := func(h *rom.History, ended int) {
		session(h, 15, 1, ended, 0.4)
		h.Sessions[len(h.Sessions)-1].Body.Stop = rom.StopPain
	}
	tests := []struct {
		name   string
		change func(*rom.History)
		minute int
		why    PainWhy // "" for none
		until  int
		open   bool // something may be begun
	}{
		{"a good night", func(h *rom.History) { pain(h, rom.PainNextDay, 15, 8*60, 2) }, 9 * 60, "", 0, true},
		{"a night to ease off after", func(h *rom.History) { pain(h, rom.PainNextDay, 15, 8*60, 5) }, 9 * 60, "", 0, true},
		{"a bad night", func(h *rom.History) { pain(h, rom.PainNextDay, 15, 8*60, 8) }, 8*60 + 1, AfterBadNight, 24 * 60, false},
		{"a bad night, late", func(h *rom.History) { pain(h, rom.PainNextDay, 15, 8*60, 8) }, 23 * 60, AfterBadNight, 24 * 60, false},
		{"a bad night and a second answer", func(h *rom.History) {
			pain(h, rom.PainNextDay, 15, 8*60, 8)
			pain(h, rom.PainNextDay, 15, 8*60, 3)
		}, 9 * 60, AfterBadNight, 24 * 60, false},
		{"a bad night of yesterday", func(h *rom.History) { pain(h, rom.PainNextDay, 14, 8*60, 8) }, 9 * 60, "", 0, true},
		{"stopped for pain", func(h *rom.History) { stopped(h, 9*60) }, 9*60 + 1, AfterPainStop, 11 * 60, false},
		{"stopped for pain, the gap is over", func(h *rom.History) { stopped(h, 9*60) }, 11 * 60, "", 0, true},
		{"stopped for pain without a gap in the plan", func(h *rom.History) { h.Plans[0].Body.LeastGap = 0; stopped(h, 9*60) }, 9*60 + 59, AfterPainStop, 10 * 60, false},
		{"a high score before a session", func(h *rom.History) { pain(h, rom.PainAtRest, 15, 9*60, 8) }, 9 * 60, AfterScore, 9*60 + 15, false},
		{"a low one a minute later", func(h *rom.History) {
			pain(h, rom.PainAtRest, 15, 9*60, 8)
			pain(h, rom.PainAtRest, 15, 9*60+1, 3)
		}, 9*60 + 1, AfterScore, 9*60 + 15, false},
		{"a quarter of an hour later", func(h *rom.History) { pain(h, rom.PainAtRest, 15, 9*60, 8) }, 9*60 + 15, "", 0, true},
		{"both: the longer one", func(h *rom.History) { stopped(h, 9*60); pain(h, rom.PainAtRest, 15, 9*60+5, 8) }, 9*60 + 6, AfterPainStop, 11 * 60, false},
		{"another episode's", func(h *rom.History) {
			pain(h, rom.PainNextDay, 15, 8*60, 8)
			h.Pains[0].Body.Episode = "other"
		}, 9 * 60, "", 0, true},
		{"near midnight", func(h *rom.History) { pain(h, rom.PainAtRest, 15, 23*60+50, 8) }, 23*60 + 55, AfterScore, 24 * 60, false},
	}
	for _, tt := range tests {
		h := history(t, rom.CuffRepair)
		clear(&h, "passive", 14)
		tt.change(&h)
		d := On(h, ep, surgery.Add(15), tt.minute, With{})
		open := false
		for _, x := range d.Due {
			open = open || x.Open
		}
		for _, m := range d.Measures {
			if d.PainRest != nil && (m.May || m.Due) {
				t.Errorf("%s: %s may be measured", tt.name, m.Motion)
			}
		}
		got := PainRest{}
		if d.PainRest != nil {
			got = *d.PainRest
		}
		if got.Why != tt.why || got.Until != tt.until || open != tt.open {
			t.Errorf("%s: %+v, open %t; want %s until %d, open %t", tt.name, got, open, tt.why, tt.until, tt.open)
		}
		if next, ok := d.NextDue(); d.PainRest != nil && (!ok || next.NotBefore < tt.until) {
			t.Errorf("%s: the next is %+v, %t", tt.name, next, ok)
		}
	}
}

// A session that was ended early is taken up for its rest, not from the beginning.
func TestRestOfASession(t *testing.T) {
	h := history(t, rom.CuffRepair)
	clear(&h, "passive", 14)
	whole := On(h, ep, surgery.Add(15), 9*60, With{}).Due[0]
	session(&h, 15, 1, 9*60, 0) // its items are asked, nothing of them is done but the first exercise
	first := &h.Sessions[0].Body.Items[0]
	for range first.Dose.Reps {
		first.Holds = append(first.Holds, rom.Hold{Tenths: 200, Counted: true})
	}
	second := &h.Sessions[0].Body.Items[1]
	second.Holds = append(second.Holds, rom.Hold{Tenths: 200, Counted: true})
	rest := On(h, ep, surgery.Add(15), 9*60+5, With{}).Due[0]
	if rest.Status != Partly || !rest.Open || len(rest.Prescriptions) != len(whole.Prescriptions)-1 {
		t.Fatalf("%+v", rest)
	}
	for _, x := range rest.Prescriptions {
		want := -1
		for _, o := range whole.Prescriptions {
			if o.Exercise == x.Exercise {
				want = o.Dose.Reps
			}
		}
		if x.Exercise == second.Exercise {
			want--
		}
		if x.Exercise == first.Exercise || x.Dose.Reps != want {
			t.Errorf("%s: %d left, want %d", x.Exercise, x.Dose.Reps, want)
		}
	}
}

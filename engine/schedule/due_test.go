package schedule

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
)

// show prints the due sessions of a day in short.
func show(d Day) string {
	var out []string
	for _, x := range d.Due {
		s := string(x.Status)
		if x.Open {
			s += "!"
		}
		out = append(out, s)
	}
	return strings.Join(out, " ")
}

func TestSessionsOfADay(t *testing.T) {
	// Day 15 is a Tuesday, a home day: three sessions between 08:00 and 21:00, 120 minutes apart.
	tests := []struct {
		name   string
		change func(*rom.History)
		minute int
		want   string // "!" after a session that may be begun now
		today  bool   // done for today
	}{
		{"early", nil, 5 * 60, "next! later later", false},
		{"morning", nil, 9 * 60, "next! later later", false},
		{"the first window ended", nil, 12*60 + 21, "missed next! later", false},
		{"evening", nil, 20 * 60, "missed missed next!", false},
		{"late", nil, 23*60 + 59, "missed missed next!", false},
		{"midnight", nil, 24 * 60, "missed missed missed", false},
		{"first done, gap", func(h *rom.History) { session(h, 15, 1, 9*60, 1) }, 10*60 + 59, "done next later", false},
		{"first done, gap over", func(h *rom.History) { session(h, 15, 1, 9*60, 1) }, 11 * 60, "done next! later", false},
		{"second done only", func(h *rom.History) { session(h, 15, 2, 14*60, 1) }, 17 * 60, "missed done next!", false},
		{"in part, same window", func(h *rom.History) { session(h, 15, 1, 9*60, 0.6) }, 9*60 + 5, "partly! later later", false},
		{"in part, window over", func(h *rom.History) { session(h, 15, 1, 9*60, 0.6) }, 13 * 60, "partly next! later", false},
		{"in part, then the rest", func(h *rom.History) { session(h, 15, 1, 9*60, 0.6); session(h, 15, 1, 10*60, 1) }, 11 * 60, "done next later", false},
		{"missed is not added", nil, 13 * 60, "missed next! later", false},
		{"all done", func(h *rom.History) {
			session(h, 15, 1, 9*60, 1)
			session(h, 15, 2, 14*60, 1)
			session(h, 15, 3, 19*60, 1)
		}, 20 * 60, "done done done", true},
		{"one of three, day over", func(h *rom.History) { session(h, 15, 1, 9*60, 1) }, 24 * 60, "done missed missed", true},
		{"another day's", func(h *rom.History) { session(h, 14, 1, 9*60, 1) }, 9 * 60, "next! later later", false},
		{"after midnight of the day it was due", func(h *rom.History) {
			session(h, 15, 3, 19*60, 1)
			h.Sessions[0].At = utc(16, 10)
		}, 24 * 60, "missed missed done", true},
	}
	for _, tt := range tests {
		h := history(t, rom.CuffRepair)
		clear(&h, "passive", 14)
		if tt.change != nil {
			tt.change(&h)
		}
		d := On(h, ep, surgery.Add(15), tt.minute, With{})
		if show(d) != tt.want || d.DoneForToday != tt.today {
			t.Errorf("%s: %s (done for today %v), want %s (%v)", tt.name, show(d), d.DoneForToday, tt.want, tt.today)
		}
		if len(d.Due) == 3 && (d.Due[0].From != 8*60 || d.Due[0].To != 740 || d.Due[2].To != 21*60) {
			t.Errorf("%s: windows %+v", tt.name, d.Due)
		}
	}
}

func TestTherapyDays(t *testing.T) {
	// Day 16 is a Wednesday, a therapy day that takes one of three sessions.
	therapy := func(outcome string) func(*rom.History) {
		return func(h *rom.History) {
			h.Therapies = append(h.Therapies, rom.Entry[rom.Therapy]{Meta: meta("c-1", 50, 16, 900),
				Body: rom.Therapy{Episode: ep, On: surgery.Add(16), Outcome: outcome, By: "pt-example"}})
		}
	}
	tests := []struct {
		name     string
		change   func(*rom.History)
		minute   int
		want     string
		therapy  bool
		attended bool
	}{
		{"nothing known", nil, 9 * 60, "next! later spare!", true, false},
		{"nothing known at night", nil, 24 * 60, "missed missed spare", true, false},
		{"attended", therapy("attended"), 9 * 60, "next! later", true, true},
		{"missed", therapy("missed"), 9 * 60, "next! later later", false, false},
		{"cancelled", therapy("cancelled"), 9 * 60, "next! later later", false, false},
		{"a session with the therapist", func(h *rom.History) {
			session(h, 16, 1, 9*60, 1)
			h.Sessions[0].Body.Therapist, h.Sessions[0].Body.Slot = true, 0
		}, 10 * 60, "next! later", true, true},
		{"the practice is closed", func(h *rom.History) {
			h.Plans[0].Body.Breaks = []rom.Break{{From: surgery.Add(16), To: surgery.Add(20), Kind: rom.NoTherapy}}
		}, 9 * 60, "next! later later", false, false},
		{"the patient rests", func(h *rom.History) {
			h.Plans[0].Body.Breaks = []rom.Break{{From: surgery.Add(10), To: surgery.Add(16), Kind: rom.NoSessions}}
		}, 9 * 60, "", true, false},
		{"the break is over", func(h *rom.History) {
			h.Plans[0].Body.Breaks = []rom.Break{{From: surgery.Add(10), To: surgery.Add(15), Kind: rom.NoSessions}}
		}, 9 * 60, "next! later spare!", true, false},
	}
	for _, tt := range tests {
		h := history(t, rom.CuffRepair)
		clear(&h, "passive", 14)
		if tt.change != nil {
			tt.change(&h)
		}
		d := On(h, ep, surgery.Add(16), tt.minute, With{})
		if show(d) != tt.want || d.TherapyDay != tt.therapy || d.Attended != tt.attended {
			t.Errorf("%s: %s (therapy %v, attended %v), want %s (%v, %v)", tt.name, show(d), d.TherapyDay, d.Attended, tt.want, tt.therapy, tt.attended)
		}
	}
}

func TestLockedExercisesAreNeverDue(t *testing.T) {
	h := history(t, rom.CuffRepair)
	clear(&h, "passive", 14)
	h.Plans[0].Body.Closed = []rom.ExerciseID{rom.TableSlideFlexion}
	// A contradictory plan: it prescribes what the repair locks.
	ph := &h.Plans[0].Body.Phases[1]
	ph.Prescriptions = append(ph.Prescriptions, rom.Prescription{Exercise: rom.CrossBodyStretch, Motion: rom.CrossBody,
		Dose: rom.Dose{Hold: 20, Reps: 5, PerDay: 6}, From: rom.Source{Key: "OWN", Mark: rom.Clinic}})
	d := at(h, 20)
	if len(d.Due) != 3 {
		t.Errorf("%d sessions, want 3: the locked exercise must not raise their number", len(d.Due))
	}
	for _, x := range d.Due {
		for _, rx := range x.Prescriptions {
			if rx.Exercise == rom.CrossBodyStretch || rx.Exercise == rom.TableSlideFlexion {
				t.Errorf("slot %d asks for %s", x.Slot, rx.Exercise)
			}
		}
	}
	if e := d.Exercise(rom.CrossBodyStretch); !e.Prescribed || !e.Locked {
		t.Errorf("%+v: want prescribed and locked, so that a screen can say why", e)
	}
}

func TestSpreading(t *testing.T) {
	for n := 1; n <= 12; n++ {
		for k := 1; k <= 12; k++ {
			h := history(t, rom.CapsularRelease)
			p := &h.Plans[0].Body
			p.WakeFrom, p.WakeTo, p.LeastGap = 0, 1440, 0
			dose := func(per int) rom.Dose { return rom.Dose{Hold: 20, Reps: 1, PerDay: per} }
			src := rom.Source{Key: "OWN", Mark: rom.Clinic}
			p.Phases[0].Prescriptions = []rom.Prescription{
				{Exercise: rom.SupineElevation, Motion: rom.ForwardFlexion, Dose: dose(n), From: src},
				{Exercise: rom.DoorwayER, Motion: rom.ERSide, Dose: dose(k), From: src},
			}
			d := at(h, 1)
			sessions := max(n, k)
			if len(d.Due) != sessions {
				t.Fatalf("%d and %d a day give %d sessions", n, k, len(d.Due))
			}
			for _, ex := range p.Phases[0].Prescriptions {
				var slots []int
				for _, x := range d.Due {
					for _, rx := range x.Prescriptions {
						if rx.Exercise == ex.Exercise {
							slots = append(slots, x.Slot)
						}
					}
				}
				if len(slots) != ex.Dose.PerDay || slots[0] != 1 {
					t.Fatalf("%s asked %d times is in slots %v of %d", ex.Exercise, ex.Dose.PerDay, slots, sessions)
				}
				low, high := 99, 0
				for i := 1; i < len(slots); i++ {
					low, high = min(low, slots[i]-slots[i-1]), max(high, slots[i]-slots[i-1])
				}
				if high-low > 1 && len(slots) > 2 {
					t.Fatalf("%s is spread unevenly: %v of %d", ex.Exercise, slots, sessions)
				}
			}
		}
	}
	// More sessions than the gap leaves room for: fewer are asked.
	h := history(t, rom.CapsularRelease)
	h.Plans[0].Body.WakeFrom, h.Plans[0].Body.WakeTo, h.Plans[0].Body.LeastGap = 480, 480+300, 150
	if d := at(h, 1); len(d.Due) != 2 || d.Due[1].From-d.Due[0].From < 150 {
		t.Errorf("five hours with a gap of 150 minutes: %+v", d.Due)
	}
}

func TestMeasures(t *testing.T) {
	// Measuring is loading: in the first six weeks after a repair one trial, at most twice a week,
	// during a prescribed hold; locked motions never (design choice of this project).
	reading := func(h *rom.History, day int, m rom.Motion) {
		h.Readings = append(h.Readings, rom.Entry[rom.Reading]{Meta: meta("phone", int64(500+len(h.Readings)), day, 600),
			Body: rom.Reading{Episode: ep, Side: rom.Right, Motion: m, Class: rom.Passive, Method: rom.Photo, Angle: rom.Deg(60)}})
	}
	h := history(t, rom.CuffRepair)
	h.Plans[0].Body.Phases[1].Measures[0] = rom.MeasureRule{Motion: rom.ForwardFlexion, PerWeek: 7, Trials: 3}
	h.Plans[0].Body.Phases[1].Measures = append(h.Plans[0].Body.Phases[1].Measures, rom.MeasureRule{Motion: rom.HandBehindBack, PerWeek: 2, Trials: 3})
	clear(&h, "passive", 14)
	find := func(d Day, m rom.Motion) (Measure, bool) {
		for _, x := range d.Measures {
			if x.Motion == m {
				return x, true
			}
		}
		return Measure{}, false
	}
	m, ok := find(at(h, 20), rom.ForwardFlexion)
	if !ok || m.Trials != 1 || m.PerWeek != 2 || !m.DuringHold || !m.Due || !m.Last.IsZero() {
		t.Errorf("day 20: %+v", m)
	}
	if _, ok := find(at(h, 20), rom.HandBehindBack); ok {
		t.Error("day 20: a locked motion is to be measured")
	}
	if len(at(h, 13).Measures) != 0 {
		t.Error("day 13: something is to be measured in the sling phase")
	}
	reading(&h, 20, rom.ForwardFlexion)
	reading(&h, 20, rom.ForwardFlexion) // the second set of the same hold is no second measurement
	tests := []struct {
		day      int
		due, may bool
	}{{20, false, false}, {21, false, true}, {22, false, true}, {23, true, true}}
	for _, tt := range tests {
		if m, _ := find(at(h, tt.day), rom.ForwardFlexion); m.Due != tt.due || m.May != tt.may {
			t.Errorf("day %d after one on day 20: due %v may %v, want %v %v", tt.day, m.Due, m.May, tt.due, tt.may)
		}
	}
	reading(&h, 23, rom.ForwardFlexion)
	for day, may := range map[int]bool{24: false, 26: false, 27: true} {
		if m, _ := find(at(h, day), rom.ForwardFlexion); m.May != may {
			t.Errorf("day %d after two on days 20 and 23: may %v, want %v", day, m.May, may)
		}
	}
	clear(&h, "assisted", 42)
	if m, _ := find(at(h, 42), rom.ForwardFlexion); m.DuringHold || m.Trials != 3 {
		t.Errorf("day 42: %+v, want the plan's own rule", m)
	}
	// Neither the other arm's nor the clinic's readings count.
	h.Readings = nil
	reading(&h, 41, rom.ForwardFlexion)
	h.Readings[0].Body.Side = rom.Left
	reading(&h, 41, rom.ForwardFlexion)
	h.Readings[1].Body.By = "pt-example"
	if m, _ := find(at(h, 41), rom.ForwardFlexion); m.Count != 0 || !m.Due {
		t.Errorf("day 41: %+v", m)
	}
}

func TestPlanAge(t *testing.T) {
	h := history(t, rom.CuffRepair)
	for days, stale := range map[int]bool{0: false, 13: false, 14: true, 300: true} {
		d := On(h, ep, surgery.Add(300), 600, With{LastContact: surgery.Add(300 - days)})
		if d.ContactDays != days || d.Stale != stale {
			t.Errorf("%d days without contact: %d, stale %v", days, d.ContactDays, d.Stale)
		}
	}
	if d := On(h, ep, surgery.Add(5), 600, With{}); d.ContactDays != -1 || d.Stale {
		t.Errorf("contact unknown: %d, stale %v", d.ContactDays, d.Stale)
	}
	if d := On(h, ep, surgery.Add(5), 600, With{LastContact: surgery.Add(9)}); !d.ClockBehind || d.ContactDays != 0 {
		t.Errorf("a clock behind the last contact: %+v", d.ClockBehind)
	}
}

func ExampleOn() {
	var t testing.T
	h := history(&t, rom.CuffRepair)
	clear(&h, "passive", 14)
	d := On(h, ep, surgery.Add(15), 9*60, With{LastContact: surgery.Add(14)})
	next, _ := d.NextDue()
	fmt.Println(d.Date, d.Date.Weekday() == time.Tuesday, d.Phase.Key, "until", d.Next.Phase.Key, "waits for", d.Next.Waits)
	fmt.Println("slot", next.Slot, "of", len(d.Due), "asks for", next.Asked)
	m := d.Motion(rom.ForwardFlexion)
	fmt.Println("flexion", m.Limit.Class, "to", m.Limit.Ceiling, "aim", m.Aim)
	// Output:
	// 2026-03-17 true passive until assisted waits for both
	// slot 1 of 3 asks for 41
	// flexion passive to 90 aim 83
}

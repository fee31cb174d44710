package schedule

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"unsling/engine/protocol"
	"unsling/engine/rom"
)

// planned is an episode whose operation has not taken place.
func planned(t testing.TB, procedures ...rom.Procedure) rom.History {
	h := history(t, procedures...)
	e := &h.Episodes[0].Body
	e.State, e.ConfirmedBy, e.SideBy, e.ConfirmedOn = rom.Planned, "", "", 0
	return h
}

// TestPracticeIsHarmless: whatever is planned, with a plan and without one, the
// practice moves the arm that is not to be operated, asks nothing of the sore
// arm, is short, and can be guided (common practice, no source: no exercise of
// a shoulder before the surgeon has said so).
func TestPracticeIsHarmless(t *testing.T) {
	holds := 0
	for _, p := range rom.Procedures {
		if len(protocol.For(p)) == 0 {
			continue
		}
		for _, bare := range []bool{false, true} {
			h := planned(t, p)
			if bare {
				h.Plans = nil
			}
			d := at(h, -5)
			x := d.Practice
			if d.State != BeforeOp || x == nil {
				t.Fatalf("%s: %s, practice %v", p, d.State, x)
			}
			switch x.Prescription.Exercise {
			case rom.TableSlideFlexion, rom.TableSlideAbduction:
				holds++
			case rom.WristHand:
			default:
				t.Errorf("%s: practises %s", p, x.Prescription.Exercise)
			}
			dose := x.Prescription.Dose
			if x.Side != rom.Left || x.Prescription.Motion != "" || x.Class > rom.Active || dose.Reps*(dose.Hold+dose.Rest) > 60 || x.PainCap > 3 || x.Prescription.Validate() != nil {
				t.Errorf("%s: practice %+v", p, x)
			}
		}
	}
	if holds == 0 {
		t.Error("no procedure practises a hold")
	}
}

// TestPracticeGivesWay: the clinic's word, a report of the patient and every
// state but the time before the operation end it.
func TestPracticeGivesWay(t *testing.T) {
	sign := func(id rom.SignID, day int) func(*rom.History) {
		return func(h *rom.History) {
			h.Signs = append(h.Signs, rom.Entry[rom.Sign]{Meta: meta("phone", 9, day, 500), Body: rom.Sign{Episode: ep, Sign: id}})
		}
	}
	for _, x := range []struct {
		name string
		day  int
		do   func(*rom.History)
		want rom.ExerciseID
		both bool // both arms may be measured
	}{
		{"planned", -5, func(*rom.History) {}, rom.TableSlideFlexion, true},
		{"closed by the clinic", -5, func(h *rom.History) { h.Plans[0].Body.Closed = []rom.ExerciseID{rom.TableSlideFlexion} }, rom.TableSlideAbduction, true},
		{"all slides closed", -5, func(h *rom.History) {
			h.Plans[0].Body.Closed = []rom.ExerciseID{rom.TableSlideFlexion, rom.TableSlideAbduction}
		}, rom.WristHand, true},
		{"stopped", -5, func(h *rom.History) { h.Plans[0].Body.State = rom.Stopped }, "", false},
		{"paused", -5, func(h *rom.History) { h.Plans[0].Body.State = rom.Paused }, "", false},
		{"a sign of today", -5, sign(rom.SignOther, -5), "", true},
		{"a sign of last week", -5, sign(rom.SignOther, -12), rom.TableSlideFlexion, true},
		{"a sign that stops, not answered", -5, sign(rom.SignPop, -12), "", true},
		{"postponed", -5, func(h *rom.History) { h.Episodes[0].Body.Postponed = true }, "", false},
		{"the day has come", 0, func(*rom.History) {}, "", false},
		{"confirmed", 5, func(h *rom.History) { h.Episodes[0].Body = episodeOf(rom.CuffRepair) }, "", false},
		{"withdrawn", -5, func(h *rom.History) { h.Episodes[0].Body.State = rom.Withdrawn }, "", false},
	} {
		h := planned(t, rom.CuffRepair)
		x.do(&h)
		d := at(h, x.day)
		var got rom.ExerciseID
		if d.Practice != nil {
			got = d.Practice.Prescription.Exercise
		}
		if got != x.want || d.Baseline != x.both || (len(d.BaselineMotions()) > 0) != x.both {
			t.Errorf("%s: practises %q, want %q; both arms measured: %v %v", x.name, got, x.want, d.Baseline, d.BaselineMotions())
		}
	}
	h := planned(t, rom.CuffRepair)
	if d := On(h, ep, surgery.Add(-5), 600, With{Told: &Halt{On: surgery.Add(-5)}}); d.Practice != nil {
		t.Error("a report that could not be kept does not end the practice")
	}
}

// TestBaselineIsWhatIsMeasuredLater: what any phase measures, and nothing else.
func TestBaselineIsWhatIsMeasuredLater(t *testing.T) {
	h := planned(t, rom.CuffRepair)
	got := at(h, -5).BaselineMotions()
	for _, m := range rom.Motions {
		later := false
		for _, ph := range h.Plans[0].Body.Phases {
			later = later || slices.ContainsFunc(ph.Measures, func(x rom.MeasureRule) bool { return x.Motion == m })
		}
		if later != slices.Contains(got, m) {
			t.Errorf("%s is measured later: %v, in the baseline: %v", m, later, !later)
		}
	}
	h.Plans = nil
	if again := at(h, -5).BaselineMotions(); !slices.Equal(got, again) {
		t.Errorf("the protocol alone gives %v, the plan %v", again, got)
	}
}

// TestBaselineIsNoCourse: whatever was measured before the operation, on any
// days, changes nothing of what is asked and permitted after it.
func TestBaselineIsNoCourse(t *testing.T) {
	bare := history(t, rom.CuffRepair)
	clear(&bare, "passive", 14)
	rapid.Check(t, func(r *rapid.T) {
		h := bare
		for i := range rapid.IntRange(1, 12).Draw(r, "readings") {
			day := -rapid.IntRange(1, 90).Draw(r, "days before")
			b := rom.Reading{Episode: ep, Side: rapid.SampledFrom([]rom.Side{rom.Left, rom.Right}).Draw(r, "side"), Motion: rapid.SampledFrom([]rom.Motion{rom.ForwardFlexion, rom.ERSide}).Draw(r, "motion"),
				Class: rom.Passive, Method: rom.Photo, Angle: rom.Deg(rapid.IntRange(0, 90).Draw(r, "angle")), SE: rom.Deg(4), Baseline: true}
			h.Readings = append(h.Readings[:len(h.Readings):len(h.Readings)], rom.Entry[rom.Reading]{Meta: meta("phone", int64(i+1), day, 600), Body: b})
		}
		on := rapid.IntRange(0, 120).Draw(r, "day")
		want, got := at(bare, on), at(h, on)
		if !slices.Equal(want.Measures, got.Measures) || !slices.EqualFunc(want.Motions, got.Motions, func(a, b Allowance) bool { return a.Limit == b.Limit && a.Locked == b.Locked }) {
			t.Errorf("day %d: measures %v, without a baseline %v", on, got.Measures, want.Measures)
		}
	})
}

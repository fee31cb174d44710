package schedule

import (
	"testing"
	"time"

	"unsling/engine/protocol"
	"unsling/engine/rom"
)

// The clinic, its staff and its patient are invented.

const ep rom.EpisodeID = "e-example"

var surgery = rom.MakeDate(2026, 3, 2) // a Monday

// utc returns the instant at a minute of the n-th day after surgery.
func utc(n, minute int) time.Time {
	return surgery.Add(n).Time().Add(time.Duration(minute) * time.Minute)
}

func meta(author rom.Author, n int64, day, minute int) rom.Meta {
	return rom.Meta{Ref: rom.Ref{Author: author, N: n}, At: utc(day, minute)}
}

func episodeOf(procedures ...rom.Procedure) rom.Episode {
	return rom.Episode{ID: ep, Version: 1, State: rom.Confirmed, Side: rom.Right, Procedures: procedures,
		Surgery: surgery, ConfirmedBy: "dr-example", SideBy: "pt-example", ConfirmedOn: surgery, By: "dr-example"}
}

func planOf(t testing.TB, procedures ...rom.Procedure) rom.Plan {
	t.Helper()
	var ps []protocol.Protocol
	answers := map[string]string{}
	for _, p := range procedures {
		x, err := protocol.Adopt(protocol.For(p)[0], "dr-example", surgery.Add(-60), nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, q := range x.Questions {
			answers[q.Key] = "no"
		}
		ps = append(ps, x)
	}
	plan, err := protocol.MakePlan(ps, episodeOf(procedures...), protocol.Choices{
		By: "dr-example", On: surgery, Reason: "first plan", Answers: answers,
		TherapyDays: []time.Weekday{time.Monday, time.Wednesday, time.Friday}, TherapyDayLess: 1,
		Contact: rom.Contact{Clinic: "Example Shoulder Clinic (invented)", Phone: "+1 555 0100"},
	})
	if err != nil {
		t.Fatal(err)
	}
	return plan
}

// history returns an operated episode with its first plan.
func history(t testing.TB, procedures ...rom.Procedure) rom.History {
	return rom.History{
		Episodes: []rom.Entry[rom.Episode]{{Meta: meta("c-1", 1, 0, 600), Body: episodeOf(procedures...)}},
		Plans:    []rom.Entry[rom.Plan]{{Meta: meta("c-1", 2, 0, 601), Body: planOf(t, procedures...)}},
	}
}

// clear clears a phase on a day.
func clear(h *rom.History, phase string, day int) {
	n := int64(100 + len(h.Clearances))
	h.Clearances = append(h.Clearances, rom.Entry[rom.Clearance]{Meta: meta("c-1", n, day, 700),
		Body: rom.Clearance{Episode: ep, Phase: phase, On: surgery.Add(day), By: "dr-example"}})
}

// session records that one slot of a day was done, in full or the first part
// of its repetitions.
func session(h *rom.History, day, slot, ended int, share float64) {
	d := On(*h, ep, surgery.Add(day), 0, With{})
	s := rom.Session{Episode: ep, ID: rom.SessionID(utc(day, ended).String()), Due: surgery.Add(day), Slot: slot, Ended: rom.StoppedByMe}
	if share >= 1 {
		s.Ended = rom.Finished
	}
	for _, x := range d.Due[min(max(slot, 1), len(d.Due))-1].Prescriptions {
		it := rom.SessionItem{Exercise: x.Exercise, Motion: x.Motion, Dose: x.Dose}
		for range int(share*float64(x.Dose.Reps) + 0.5) {
			it.Holds = append(it.Holds, rom.Hold{Tenths: 10 * x.Dose.Hold, Counted: true})
		}
		s.Items = append(s.Items, it)
	}
	h.Sessions = append(h.Sessions, rom.Entry[rom.Session]{Meta: meta("phone", int64(1+len(h.Sessions)), day, ended), Body: s})
}

func at(h rom.History, day int) Day { return On(h, ep, surgery.Add(day), 9*60, With{}) }

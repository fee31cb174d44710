package schedule

import (
	"unsling/engine/protocol"
	"unsling/engine/rom"
)

// therapy fills in what kind of day it is.
func (d *Day) therapy(h rom.History, today rom.Date) {
	if d.State != Running && d.State != Paused {
		return
	}
	closed := false
	for _, b := range d.Plan.Breaks {
		if today >= b.From && today <= b.To {
			closed = closed || b.Kind == rom.NoTherapy
			d.Rest = d.Rest || b.Kind == rom.NoSessions
		}
	}
	for _, w := range d.Plan.TherapyDays {
		if w == today.Weekday() && !closed {
			d.TherapyDay = true
		}
	}
	switch outcome(h, d.Episode.ID, today) {
	case "attended":
		d.TherapyDay, d.Attended = true, true
	case "missed", "cancelled":
		d.TherapyDay = false
	}
}

// outcome returns what is known of therapy on a day, "" for nothing. A
// session done with the therapist says that it took place.
func outcome(h rom.History, ep rom.EpisodeID, on rom.Date) string {
	out := ""
	for i := range h.Therapies {
		if t := &h.Therapies[i].Body; t.Episode == ep && t.On == on && out != "attended" {
			out = t.Outcome
		}
	}
	for i := range h.Sessions {
		if s := &h.Sessions[i].Body; s.Episode == ep && s.Due == on && s.Therapist && s.Counted() > 0 {
			out = "attended"
		}
	}
	return out
}

// due fills in the sessions of the day. Slots and what belongs to each do not
// depend on what happens during the day, so that nothing shifts under the
// patient's hands: therapy takes away the last ones.
func (d *Day) due(h rom.History, today rom.Date, minute int) {
	slots := d.slots()
	if d.Rest {
		slots = nil
	}
	spare := len(slots) - d.Plan.TherapyDayLess // slots from here on fall to therapy
	done := sessionsOf(h, d.Episode.ID, today)
	last := -1 // minute at which the latest session of today ended
	for _, s := range done {
		last = max(last, s.ended)
		if s.slot < 1 || s.slot > len(slots) || (d.Attended && s.slot > spare) {
			d.Extra++
		}
	}
	next := false
	for i, x := range slots {
		if d.Attended && i >= spare {
			d.Dropped++
			continue
		}
		x.progress(done)
		if last >= 0 {
			x.NotBefore = last + d.Plan.LeastGap
		}
		over := minute > x.To && i < len(slots)-1 || minute >= 24*60
		begun := x.Status == Partly
		switch {
		case x.Status == Done:
		case begun && (x.finished || over):
			x.over = true
		case over && d.TherapyDay && i >= spare:
			x.Status = Spare
		case over:
			x.Status = Missed
		case begun:
			x.Open, next = true, true // within its own session there is no gap
		case d.TherapyDay && i >= spare:
			x.Status = Spare
			x.Open = minute >= x.NotBefore
		case next:
			x.Status = Later
		default:
			x.Status, next = NextUp, true
			x.Open = minute >= x.NotBefore
		}
		d.DoneForToday = d.DoneForToday || x.Status == Done
		d.Due = append(d.Due, x.Due)
	}
	d.DoneForToday = d.DoneForToday && !next
}

// slot is a due session while it is worked out.
type slot struct {
	Due
	finished bool
}

// slots spreads the prescriptions of the phase over the waking day. One that
// is asked k times of n sessions is in those sessions in which its running
// share k*i/n passes a whole number, the first one included.
func (d *Day) slots() []slot {
	var open []rom.Prescription
	n := 0
	for _, x := range d.Phase.Prescriptions {
		a := d.Exercise(x.Exercise)
		if a.Locked {
			continue
		}
		m, ok := a.Exercise.Motion(d.Phase, x.Motion)
		if !ok {
			continue
		}
		x.Motion = m
		open = append(open, x)
		n = max(n, x.Dose.PerDay)
	}
	p := d.Plan
	if p.LeastGap > 0 && n > 0 {
		n = min(n, max((p.WakeTo-p.WakeFrom)/p.LeastGap, 1))
	}
	var out []slot
	for i := range n {
		s := slot{Due: Due{Slot: i + 1, From: p.WakeFrom + (p.WakeTo-p.WakeFrom)*i/n, To: p.WakeFrom + (p.WakeTo-p.WakeFrom)*(i+1)/n}}
		for _, x := range open {
			if k := min(x.Dose.PerDay, n); ceilDiv((i+1)*k, n) > ceilDiv(i*k, n) {
				s.Prescriptions = append(s.Prescriptions, x)
				s.Asked += x.Dose.Reps
			}
		}
		out = append(out, s)
	}
	return out
}

func ceilDiv(a, b int) int { return (a + b - 1) / b }

// doneSession is one session of the day as far as the schedule cares.
type doneSession struct {
	*rom.Session
	slot  int
	ended int // minute after midnight, -1 when it ended on another day
}

// sessionsOf returns the patient's own sessions that belong to a day.
func sessionsOf(h rom.History, ep rom.EpisodeID, day rom.Date) []doneSession {
	var out []doneSession
	for i := range h.Sessions {
		e := &h.Sessions[i]
		if e.Body.Episode != ep || e.Body.Due != day || e.Body.Therapist || e.Body.Counted() == 0 {
			continue
		}
		s := doneSession{&e.Body, e.Body.Slot, -1}
		if e.Day() == day {
			s.ended = e.At.Hour()*60 + e.At.Minute()
		}
		out = append(out, s)
	}
	return out
}

// progress sums the sessions of the slot. It is done when everything that
// those sessions asked for was counted, and nothing of the slot was left out
// of them unless the session was finished or followed another revision.
func (s *slot) progress(done []doneSession) {
	type tally struct{ counted, asked int }
	items := map[rom.ExerciseID]*tally{}
	for _, x := range done {
		if x.slot != s.Slot {
			continue
		}
		s.finished = s.finished || x.Ended == rom.Finished
		for i := range x.Items {
			it := &x.Items[i]
			t := items[it.Exercise]
			if t == nil {
				t = &tally{}
				items[it.Exercise] = t
			}
			t.asked = max(t.asked, it.Dose.Reps)
			for _, h := range it.Holds {
				if h.Counted {
					t.counted++
				}
			}
		}
	}
	if len(items) == 0 {
		return
	}
	complete := true
	for _, t := range items {
		s.Counted += min(t.counted, t.asked)
		complete = complete && t.counted >= t.asked
	}
	if !s.finished {
		for _, x := range s.Prescriptions {
			complete = complete && items[x.Exercise] != nil
		}
	}
	if s.Status = Partly; complete {
		s.Status = Done
		return
	}
	var left []rom.Prescription
	for _, x := range s.Prescriptions {
		if t := items[x.Exercise]; t != nil {
			x.Dose.Reps = t.asked - t.counted
		}
		if x.Dose.Reps > 0 {
			left = append(left, x)
		}
	}
	s.Prescriptions = left
}

// firstSixWeeks is the day after surgery until which measuring counts as
// loading after a repair (derived: design choice of this project).
const firstSixWeeks = 42

// measures fills in what is to be measured. Locked motions never are.
func (d *Day) measures(h rom.History, today rom.Date) {
	guarded := d.Episode.Repair() && d.Number < firstSixWeeks
	for _, rule := range d.Phase.Measures {
		if d.Phase.Limit(rule.Motion).Class == rom.Locked || d.Rest {
			continue
		}
		m := Measure{Motion: rule.Motion, Trials: rule.Trials, PerWeek: rule.PerWeek, DuringHold: guarded}
		if guarded {
			m.Trials, m.PerWeek = 1, min(rule.PerWeek, 2)
		}
		counted := map[rom.Date]bool{} // the sets of one hold are one measurement
		for i := range h.Readings {
			r := &h.Readings[i]
			if r.Body.Episode != d.Episode.ID || r.Body.Motion != rule.Motion || r.Body.Side != d.Episode.Side || !r.Body.Self() {
				continue
			}
			on := r.Body.On
			if on.IsZero() {
				on = r.Day()
			}
			if on > today || on < d.Episode.Surgery {
				continue
			}
			m.Last = max(m.Last, on)
			if today.Sub(on) < 7 && !counted[on] {
				counted[on] = true
				m.Count++
			}
		}
		m.May = m.Count < m.PerWeek && m.Last < today && (!guarded || d.holds(rule.Motion))
		m.Due = m.May && (m.Last.IsZero() || today.Sub(m.Last) >= 7/m.PerWeek)
		d.Measures = append(d.Measures, m)
	}
}

// holds reports whether today asks for a hold of m.
func (d *Day) holds(m rom.Motion) bool {
	for _, s := range d.slots() {
		for _, x := range s.Prescriptions {
			e, ok := protocol.Lookup(x.Exercise)
			if ok && e.EndRange && x.Motion == m && x.Dose.Hold > 0 {
				return true
			}
		}
	}
	return false
}

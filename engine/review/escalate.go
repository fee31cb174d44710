package review

import "unsling/engine/rom"

// Reach says who has to see to a finding that is overdue. What is handed on
// stays with those who had it before.
type Reach int

// The reaches in rising order.
const (
	ToOwner  Reach = iota // not overdue, or not for long
	ToDeputy              // overdue beyond the clinic's number of hours
	ToTeam                // and as long again: everybody of the care team
)

// DefaultEscalation is how many clinic hours a finding may be overdue before
// it goes to the deputy, and as many again before it goes to the whole team:
// common practice, no source.
const DefaultEscalation = 4

// Between returns the clinic's minutes from a deadline to a date and minute;
// 0 when it lies ahead or there is none.
func (h Hours) Between(from Deadline, on rom.Date, minute int) int {
	if from.On == 0 || !from.Passed(on, minute) || on.Sub(from.On) > 3700 {
		return 0
	}
	sum := 0
	for d := from.On; d <= on; d++ {
		s, ok := h.on(d)
		if !ok {
			continue
		}
		a, b := s.From, s.To
		if d == from.On {
			a = max(a, from.Minute)
		}
		if d == on {
			b = min(b, minute)
		}
		sum += max(0, b-a)
	}
	return sum
}

// Escalate says whom an overdue finding has reached after so many clinic
// hours (0 for DefaultEscalation), and how many clinic minutes it is overdue.
// Whoever answers it ends that.
func Escalate(x Finding, h Hours, on rom.Date, minute, after int) (r Reach, late int) {
	if !x.Overdue || x.Quiet {
		return ToOwner, 0
	}
	if after <= 0 {
		after = DefaultEscalation
	}
	late = h.Between(x.By, on, minute)
	switch {
	case late >= 2*60*after:
		return ToTeam, late
	case late >= 60*after:
		return ToDeputy, late
	}
	return ToOwner, late
}

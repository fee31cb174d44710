package review

import (
	"slices"

	"unsling/engine/rom"
)

// Span is opening hours of one day in minutes after midnight; From == To is
// closed.
type Span struct{ From, To int }

// Hours are a clinic's opening hours in its own zone.
type Hours struct {
	Week   [7]Span // by time.Weekday
	Closed []rom.Date
}

// Known reports whether the clinic has given any hours. Without them nothing
// has a due time and monitoring must stay off.
func (h Hours) Known() bool {
	for _, s := range h.Week {
		if s.To > s.From {
			return true
		}
	}
	return false
}

func (h Hours) on(d rom.Date) (Span, bool) {
	s := h.Week[d.Weekday()]
	return s, s.To > s.From && !slices.Contains(h.Closed, d)
}

// next returns the first working day from d on. Hours must be known; a clinic
// closed for a year on end gives the zero Date.
func (h Hours) next(d rom.Date) (rom.Date, Span) {
	for range 370 {
		if s, ok := h.on(d); ok {
			return d, s
		}
		d++
	}
	return 0, Span{}
}

// By returns the deadline of something that became known on a date at a
// minute. Today means by closing time of that day, or of the next working day
// when the clinic is closed already. Two working days end with the second
// working day after that. NextVisit has the deadline visit, if it is known.
func (h Hours) By(due Due, on rom.Date, minute int, visit rom.Date) Deadline {
	if due == NextVisit {
		if visit == 0 {
			return Deadline{}
		}
		return Deadline{On: visit, Minute: 24 * 60}
	}
	if !h.Known() {
		return Deadline{}
	}
	day, s := h.next(on)
	if day == on && minute >= s.To {
		day, s = h.next(on.Add(1))
	}
	if due == TwoDays {
		for range 2 {
			if day != 0 {
				day, s = h.next(day.Add(1))
			}
		}
	}
	if day == 0 {
		return Deadline{}
	}
	return Deadline{On: day, Minute: s.To}
}

// Passed reports whether the deadline lies before a date and minute.
func (d Deadline) Passed(on rom.Date, minute int) bool {
	return d.On != 0 && (on > d.On || on == d.On && minute >= d.Minute)
}

package chart

import (
	"sort"

	"unsling/engine/rom"
)

// Table returns the same facts as rows, one for each day on which something
// was measured or changed; the first row is the header. Values that cannot be
// drawn are in it too.
func (c Motion) Table() [][]string {
	w := c.Words
	days := map[rom.Date]*[4]string{}
	at := func(d rom.Date) *[4]string {
		if days[d] == nil {
			days[d] = &[4]string{}
		}
		return days[d]
	}
	add := func(cell *string, s string) {
		if *cell != "" {
			*cell += ", "
		}
		*cell += s
	}
	reading := func(p Point) string {
		s := w.value(c.Motion, p.Value)
		if p.SE > 0 && !c.Motion.ByLevel() {
			s += " \u00b1 " + degrees(p.SE)
		}
		return s
	}
	for col, ps := range [][]Point{c.Own, c.Clinic, c.Other} {
		for _, p := range ps {
			add(&at(p.Day)[col], reading(p))
		}
	}
	for _, s := range c.Limit {
		text := w.value(c.Motion, s.Ceiling)
		switch {
		case s.Locked:
			text = w.Locked
		case s.Free:
			text = "\u2013"
		}
		add(&at(s.From)[3], text)
	}
	for _, d := range c.Changes {
		add(&at(d)[3], w.Change)
	}
	order := make([]rom.Date, 0, len(days))
	for d := range days {
		order = append(order, d)
	}
	sort.Slice(order, func(i, j int) bool { return order[i] < order[j] })
	rows := [][]string{{w.Day, w.Own, w.Clinic, w.Other, w.Limit}}
	for _, d := range order {
		cells := days[d]
		rows = append(rows, append([]string{w.fullDate(d)}, cells[:]...))
	}
	return rows
}

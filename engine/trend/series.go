package trend

import (
	"slices"

	"unsling/engine/rom"
)

// Collect splits the readings of an episode up to the end of day into series:
// the operated arm first, then in the order of rom.Motions, passive before
// active, whole arm before glenohumeral. Readings by eye and those under
// anaesthetic belong to no series, nor do those of the operated arm that are
// marked as before surgery and lie after it. It returns nil when the episode
// is unknown.
func Collect(h rom.History, ep rom.EpisodeID, day rom.Date) []Series {
	e, ok := h.Episode(ep)
	if !ok {
		return nil
	}
	by := map[Key]*Series{}
	for _, r := range h.Readings {
		p, ok := pointOf(r)
		if !ok || r.Body.Episode != ep || p.Day > day {
			continue
		}
		k := Key{Side: r.Body.Side, Motion: r.Body.Motion, Class: r.Body.Class, Glenohumeral: r.Body.Glenohumeral}
		s := by[k]
		if s == nil {
			s = &Series{Key: k}
			if k.Side == e.Side {
				s.Surgery = surgeryOf(e)
			}
			by[k] = s
		}
		switch {
		case s.Surgery != 0 && p.Day < s.Surgery:
			p.Baseline = true
		case s.Surgery != 0 && p.Day > s.Surgery && p.Baseline:
			continue // marked for a date that was moved: neither before nor a course
		}
		s.Readings = append(s.Readings, p)
	}
	out := make([]Series, 0, len(by))
	for _, s := range by {
		slices.SortStableFunc(s.Readings, func(a, b Point) int { return int(a.Day) - int(b.Day) })
		out = append(out, *s)
	}
	slices.SortFunc(out, func(a, b Series) int { return orderOf(a.Key, e.Side) - orderOf(b.Key, e.Side) })
	return out
}

// surgeryOf returns day 0, or 0 while the operation is not confirmed.
func surgeryOf(e rom.Episode) rom.Date {
	if !e.State.Operated() {
		return 0
	}
	return e.Surgery
}

func pointOf(r rom.Entry[rom.Reading]) (Point, bool) {
	b := r.Body
	if b.Anaesthetic || b.Method == rom.Eye || b.Validate() != nil {
		return Point{}, false
	}
	day := b.On
	if day.IsZero() {
		day = r.Day()
	}
	return Point{
		Ref: r.Ref, Day: day, Angle: b.Angle, Level: b.Level, SE: b.SE,
		Method: b.Method, By: b.By, Baseline: b.Baseline,
	}, true
}

func orderOf(k Key, operated rom.Side) int {
	n := slices.Index(rom.Motions, k.Motion) * 16
	if k.Side != operated {
		n += 1000
	}
	n += int(k.Class) * 2
	if k.Glenohumeral {
		n++
	}
	return n
}

// Find returns the series of k; ok is false when there is none.
func Find(list []Series, k Key) (s Series, ok bool) {
	for _, s := range list {
		if s.Key == k {
			return s, true
		}
	}
	return Series{}, false
}

// after returns the readings that belong to the course after surgery; all of
// them for an arm that was not operated.
func (s Series) after(day rom.Date) []Point {
	var out []Point
	for _, p := range s.Readings {
		if p.Day <= day && (s.Surgery == 0 || !p.Baseline) {
			out = append(out, p)
		}
	}
	return out
}

// baseline returns the readings before surgery.
func (s Series) baseline() []Point {
	var out []Point
	for _, p := range s.Readings {
		if p.Baseline {
			out = append(out, p)
		}
	}
	return out
}

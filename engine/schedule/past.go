package schedule

import "unsling/engine/rom"

// Past returns the history as the phone knew it at the end of a date: the
// episode versions, clearances and reports written by then, and the newest
// revision that it had adopted. Before its first adoption the revisions count
// from the day they were written. Sessions due by then, readings and therapy
// stay: they are facts of their own days.
func Past(h rom.History, ep rom.EpisodeID, date rom.Date) rom.History {
	h.Episodes = keep(h.Episodes, writtenBy[rom.Episode](date))
	h.Clearances = keep(h.Clearances, writtenBy[rom.Clearance](date))
	h.Signs = keep(h.Signs, writtenBy[rom.Sign](date))
	h.Sessions = keep(h.Sessions, func(e *rom.Entry[rom.Session]) bool { return e.Body.Due <= date })
	follows := -1
	adopted := writtenBy[rom.Adopted](date)
	for i := range h.Adoptions {
		if a := &h.Adoptions[i]; a.Body.Episode == ep && a.Body.Rev > follows && adopted(a) {
			follows = a.Body.Rev
		}
	}
	written := writtenBy[rom.Plan](date)
	h.Plans = keep(h.Plans, func(e *rom.Entry[rom.Plan]) bool {
		return e.Body.Episode != ep || e.Body.Rev <= follows || (follows < 0 && written(e))
	})
	return h
}

// InForce returns the phase in force at the end of a day, as On has it of Past,
// without working out what the day asks. ok is false when there is none.
func InForce(h rom.History, ep rom.EpisodeID, on rom.Date) (ph rom.Phase, ok bool) {
	h = Past(h, ep, on)
	var d Day
	d.Episode, _ = h.Episode(ep)
	switch d.State, _ = stateOf(h, ep, on, 24*60-1, With{}, &d); d.State {
	case Running, Paused, Stopped:
		d.phase(h, on, 0)
	}
	return d.Phase, d.InPhase
}

// writtenBy returns whether an entry was written by the end of a date, in the
// writer's zone. Only near midnight need the zone be looked at.
func writtenBy[T any](date rom.Date) func(*rom.Entry[T]) bool {
	const day, zones = 86400, 15 * 3600
	end := (int64(date) + 1) * day
	return func(e *rom.Entry[T]) bool {
		switch at := e.At.Unix(); {
		case at < end-zones:
			return true
		case at >= end+zones:
			return false
		}
		return e.Day() <= date
	}
}

// keep returns the entries that pass, sharing memory when they are the first
// ones, as they usually are: histories are ordered by time.
func keep[T any](list []rom.Entry[T], pass func(*rom.Entry[T]) bool) []rom.Entry[T] {
	n := 0
	for n < len(list) && pass(&list[n]) {
		n++
	}
	out := list[:n:n]
	for i := n; i < len(list); i++ {
		if pass(&list[i]) {
			out = append(out, list[i])
		}
	}
	return out
}

// longestRange is how many days Range answers at most.
const longestRange = 20 * 366

// Range returns On for every day from one date to another, each as the phone
// knew it then, at the end of the day. An empty or endless range gives none.
func Range(h rom.History, ep rom.EpisodeID, from, to rom.Date, with With) []Day {
	if to < from || to.Sub(from) > longestRange {
		return nil
	}
	out := make([]Day, 0, to.Sub(from)+1)
	for i := range to.Sub(from) + 1 { // counted: the last date of all has no next one
		d := from.Add(i)
		w := with
		if w.LastContact > d {
			w.LastContact = 0 // not known then
		}
		out = append(out, on(Past(h, ep, d), ep, d, 24*60, w, d))
	}
	return out
}

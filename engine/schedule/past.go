package schedule

import "unsling/engine/rom"

// Past returns the history as the phone knew it at the end of a date: the
// episode versions, clearances and reports written by then, and the newest
// revision that it had adopted. Before its first adoption the revisions count
// from the day they were written. Sessions due by then, readings and therapy
// stay: they are facts of their own days.
func Past(h rom.History, ep rom.EpisodeID, date rom.Date) rom.History {
	h.Episodes = until(h.Episodes, date)
	h.Clearances = until(h.Clearances, date)
	h.Signs = until(h.Signs, date)
	follows := -1
	for i := range h.Adoptions {
		a := &h.Adoptions[i]
		if a.Body.Episode == ep && a.Day() <= date {
			follows = max(follows, a.Body.Rev)
		}
	}
	var plans []rom.Entry[rom.Plan]
	for _, p := range h.Plans {
		if p.Body.Episode == ep && (p.Body.Rev <= follows || (follows < 0 && p.Day() <= date)) {
			plans = append(plans, p)
		}
	}
	h.Plans = plans
	var sessions []rom.Entry[rom.Session]
	for i := range h.Sessions {
		if h.Sessions[i].Body.Due <= date {
			sessions = append(sessions, h.Sessions[i])
		}
	}
	h.Sessions = sessions
	return h
}

func until[T any](list []rom.Entry[T], date rom.Date) []rom.Entry[T] {
	var out []rom.Entry[T]
	for _, e := range list {
		if e.Day() <= date {
			out = append(out, e)
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
	for d := from; d <= to; d++ {
		out = append(out, on(Past(h, ep, d), ep, d, 24*60, with, d))
	}
	return out
}

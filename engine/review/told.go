package review

import (
	"unsling/engine/dose"
	"unsling/engine/rom"
)

// Told returns the days of an episode of which anything can be known: from the
// first phone or the first session that was written down, to the last contact
// of any phone or the last day of a paper log. Where the server told of no
// phone, the newest record of one stands in for its contact.
func Told(h rom.History, id rom.EpisodeID, today rom.Date, in Inputs) dose.Told {
	return (&facts{h: h, id: id, today: today, in: in}).told()
}

func (f *facts) told() dose.Told {
	t := dose.Told{Through: f.lastContact()}
	whole := false // a phone of which nobody knows since when it is there
	first := func(d rom.Date) {
		if t.From.IsZero() || d < t.From {
			t.From = d
		}
	}
	for _, p := range f.in.Phones {
		t.Through = max(t.Through, p.Contact) // one that was taken out of service has told, too
		if p.Since.IsZero() {
			whole = true
		} else {
			first(p.Since)
		}
	}
	for _, s := range f.h.Sessions {
		if s.Body.Episode == f.id && !s.Body.Due.IsZero() {
			first(s.Body.Due)
		}
	}
	if whole {
		t.From = 0
	}
	t.Through = min(t.Through, f.today)
	return t
}

package rom

import "time"

// Meta is what the log says about one record besides its body.
type Meta struct {
	Ref Ref
	// At is the wall time at which it was written, with the offset of the
	// writer's zone. It is data; it never decides an order.
	At time.Time
	// Rev is the plan revision that the author followed; 0 for none.
	Rev int
	// Amended is the record that replaced the body, if any.
	Amended Ref
}

// Day returns the civil date at the writer.
func (m Meta) Day() Date { return DateOf(m.At) }

// Entry is a record with its body.
type Entry[T any] struct {
	Meta
	Body T
}

// History is everything known about one patient: the fold of the log. Every
// slice is ordered by wall time, then author, then number; voided records are
// gone and amended ones carry their new body. The same log gives the same
// History whatever the order of arrival.
type History struct {
	// Episodes and Plans hold every version and revision, the oldest first.
	Episodes   []Entry[Episode]
	Plans      []Entry[Plan]
	Clearances []Entry[Clearance]
	Sessions   []Entry[Session] // one per session id
	Readings   []Entry[Reading]
	Pains      []Entry[Pain]
	Signs      []Entry[Sign]
	Slings     []Entry[SlingReport]
	Questions  []Entry[Question]
	Seens      []Entry[Seen]
	Adoptions  []Entry[Adopted]
	Installs   []Entry[Install]
	Therapies  []Entry[Therapy]
	Visits     []Entry[Visit]
	Notes      []Entry[Note]
	Tasks      []Entry[Task]
	Scores     []Entry[Score]
	// Voided lists the records taken back; Unknown those of kinds or
	// versions that this program does not understand yet; Damaged those
	// whose body is not what their kind promises.
	Voided, Unknown, Damaged []Ref
}

// Episode returns the newest version of the episode with the given id.
func (h History) Episode(id EpisodeID) (Episode, bool) {
	var out Episode
	for _, e := range h.Episodes {
		if e.Body.ID == id && e.Body.Version > out.Version {
			out = e.Body
		}
	}
	return out, out.Version > 0
}

// Current returns the episode that a phone shows on a date: one whose
// operation should have taken place and is not confirmed, since it permits
// nothing, else one that was operated on, else one that is booked, else one
// that has ended. Of two alike the later operation counts, then the later
// record. It is empty when there is none.
func (h History) Current(today Date) EpisodeID {
	var best Episode
	rank := -1
	for _, id := range h.EpisodeIDs() {
		e, ok := h.Episode(id)
		if !ok {
			continue
		}
		r := 1
		switch {
		case e.State.Ended():
			r = 0
		case e.State.Operated():
			r = 2
		case !e.Postponed && !e.Surgery.IsZero() && e.Surgery <= today:
			r = 3
		}
		if r > rank || r == rank && e.Surgery >= best.Surgery {
			best, rank = e, r
		}
	}
	return best.ID
}

// EpisodeIDs lists the episodes in the order of their first version.
func (h History) EpisodeIDs() []EpisodeID {
	var ids []EpisodeID
	seen := map[EpisodeID]bool{}
	for _, e := range h.Episodes {
		if !seen[e.Body.ID] {
			seen[e.Body.ID] = true
			ids = append(ids, e.Body.ID)
		}
	}
	return ids
}

// Plan returns the newest revision of the episode's plan.
func (h History) Plan(id EpisodeID) (Plan, bool) {
	return h.PlanAt(id, 1<<31-1)
}

// PlanAt returns the newest revision of the episode's plan up to rev.
func (h History) PlanAt(id EpisodeID, rev int) (Plan, bool) {
	var out Plan
	for _, p := range h.Plans {
		if p.Body.Episode == id && p.Body.Rev <= rev && p.Body.Rev > out.Rev {
			out = p.Body
		}
	}
	return out, out.Rev > 0
}

// Cleared reports whether phase was cleared by the end of day on, and since when.
// Of several acts on one phase the one with the latest date counts; on the
// same date the later of one author, and between authors a withdrawal.
func (h History) Cleared(id EpisodeID, phase string, on Date) (since Date, ok bool) {
	var best Entry[Clearance]
	for _, e := range h.Clearances {
		c := e.Body
		if c.Episode != id || c.Phase != phase || c.On > on {
			continue
		}
		if best.Body.Phase == "" || c.On > best.Body.On || (c.On == best.Body.On && overrules(e, best)) {
			best = e
		}
	}
	return best.Body.On, best.Body.Phase != "" && !best.Body.Withdrawn
}

func overrules(c, other Entry[Clearance]) bool {
	if c.Ref.Author == other.Ref.Author {
		return c.Ref.N > other.Ref.N
	}
	return c.Body.Withdrawn
}

package replica

import "unsling/engine/rom"

// Adoption says which revision the phone obeys now.
type Adoption struct {
	Plan rom.Plan
	// New says that the phone has not recorded yet that it follows Plan: it
	// appends an "adopted" record and names the revision from then on.
	New bool
	// Narrowed says that Plan takes the place of the one a running session
	// began with, because it permits less.
	Narrowed bool
}

// Adopt picks the plan to obey for an episode (rule 10). running is the plan
// of the session that is running, nil if there is none: it stays until the
// session ends, except that a stop or a narrower limit applies at once. ok is
// false if there is no plan.
func Adopt(h rom.History, id rom.EpisodeID, running *rom.Plan) (a Adoption, ok bool) {
	newest, ok := h.Plan(id)
	if running != nil {
		if !ok || !newest.Narrows(*running) {
			return Adoption{Plan: *running}, true
		}
		a.Narrowed = true
	}
	a.Plan, a.New = newest, ok && newest.Rev > Followed(h, id)
	return a, ok
}

// Followed returns the highest revision that a phone recorded to follow for
// an episode; 0 for none.
func Followed(h rom.History, id rom.EpisodeID) int {
	rev := 0
	for _, e := range h.Adoptions {
		if e.Body.Episode == id && !e.Ref.Author.FromClinic() {
			rev = max(rev, e.Body.Rev)
		}
	}
	return rev
}

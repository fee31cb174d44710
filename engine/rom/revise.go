package rom

import (
	"errors"
	"slices"
)

// ErrStale means that a change was made on a revision that is no longer the
// newest; nothing was changed and the author must look at the newest first.
var ErrStale = errors.New("the plan was changed by someone else in the meantime")

// Revise returns the revision that replaces p with the content of next.
// base is the revision the author looked at, and rev the number of the new
// one, which must exceed every revision of this patient. It returns ErrStale
// when base is not p.Rev, and an *InvalidError when the result is no valid
// plan. Neither p nor next is changed.
func (p Plan) Revise(next Plan, base, rev int) (Plan, error) {
	if base != p.Rev {
		return Plan{}, ErrStale
	}
	if rev <= p.Rev {
		return Plan{}, invalid("rev", "must exceed the revision it replaces")
	}
	next.Episode, next.Base, next.Rev = p.Episode, p.Rev, rev
	if next.Reason == "" {
		return Plan{}, invalid("reason", "must say why the plan is changed")
	}
	if err := next.Validate(); err != nil {
		return Plan{}, err
	}
	return next, nil
}

// Narrows reports whether q permits less than p anywhere: a stop, a pause, a
// lower class, ceiling or pain cap in a phase, a later phase or one that now
// needs clearance, a closed exercise. Such a change applies at once, also to a
// session that is running.
func (q Plan) Narrows(p Plan) bool {
	if q.State.rank() > p.State.rank() {
		return true
	}
	for _, e := range q.Closed {
		if !slices.Contains(p.Closed, e) {
			return true
		}
	}
	for _, e := range p.Opened {
		if !slices.Contains(q.Opened, e) {
			return true
		}
	}
	for _, was := range p.Phases {
		now, ok := q.Phase(was.Key)
		if !ok || now.From > was.From || now.PainCap < was.PainCap || (now.Gate.closed() && !was.Gate.closed()) {
			return true
		}
		for _, l := range was.Limits {
			if now.Limit(l.Motion).NarrowerThan(l) {
				return true
			}
		}
	}
	return false
}

// rank orders the states by how much they forbid.
func (s PlanState) rank() int {
	switch s {
	case Running:
		return 0
	case Paused:
		return 1
	}
	return 2
}

// closed reports whether the gate needs a clearance.
func (g Gate) closed() bool { return g.Clearance && g.Waived == "" }

// NeedsClearance reports whether ph stays shut until a surgeon clears it.
func (ph Phase) NeedsClearance() bool { return ph.Gate.closed() }

// Phase returns the phase with the given key.
func (p Plan) Phase(key string) (Phase, bool) {
	for _, ph := range p.Phases {
		if ph.Key == key {
			return ph, true
		}
	}
	return Phase{}, false
}

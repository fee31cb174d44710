package planning

import (
	"slices"

	"unsling/engine/rom"
)

// Stricter is next with everything taken back that permits more than now: a
// limit, an earlier day, a gate without clearance, more pain, less of the
// sling, an exercise or a combination that was closed.
func Stricter(now, next rom.Plan) rom.Plan {
	next.Phases = slices.Clone(next.Phases)
	from := 0
	for i, ph := range next.Phases {
		was, ok := now.Phase(ph.Key)
		if !ok {
			continue // all or nothing, see Move.Whole
		}
		ph.From = max(ph.From, was.From, from)
		from = ph.From
		if was.NeedsClearance() && !ph.NeedsClearance() {
			ph.Gate.Clearance, ph.Gate.Waived = true, ""
		}
		ph.PainCap = min(ph.PainCap, was.PainCap)
		ph.Sling = was.Sling
		if measuring(ph) > measuring(was) { // measuring loads the joint
			ph.Measures = was.Measures
		}
		var rows []rom.Limit
		for _, l := range ph.Limits {
			o := was.Limit(l.Motion)
			switch {
			case o.Class == rom.Locked:
			case o.NarrowerThan(l):
				rows = append(rows, o)
			default:
				rows = append(rows, l)
			}
		}
		ph.Limits = rows
		ph.Forbidden = slices.Clone(ph.Forbidden)
		for _, key := range was.Forbidden {
			if !slices.Contains(ph.Forbidden, key) {
				ph.Forbidden = append(ph.Forbidden, key)
			}
		}
		next.Phases[i] = ph
	}
	next.PassedFrom = now.PassedFrom
	next.Opened = slices.DeleteFunc(slices.Clone(next.Opened), func(e rom.ExerciseID) bool { return !slices.Contains(now.Opened, e) })
	next.Closed = slices.Clone(next.Closed)
	for _, e := range now.Closed {
		if !slices.Contains(next.Closed, e) {
			next.Closed = append(next.Closed, e)
		}
	}
	return next
}

// measuring is how many trials a week a phase asks for.
func measuring(ph rom.Phase) (n int) {
	for _, m := range ph.Measures {
		n += m.PerWeek * m.Trials
	}
	return n
}

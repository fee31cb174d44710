package planning

import (
	"slices"

	"unsling/engine/rom"
)

// Merge lays the changes that a person made to the revision base over a
// newer revision, row by row, so that two people who changed different things
// both keep theirs. Where both changed the same thing the person's own stays,
// and clashes names it with the other's value in From.
func Merge(base, theirs, mine rom.Plan) (merged rom.Plan, clashes []rom.Difference) {
	merged = theirs
	merged.Reason, merged.By, merged.On, merged.Rev, merged.Base = mine.Reason, mine.By, mine.On, mine.Rev, mine.Base
	merged.Contact, merged.Answers = mine.Contact, mine.Answers
	merged.State = pick(base.State, theirs.State, mine.State)
	merged.Why = pick(base.Why, theirs.Why, mine.Why)
	if !slices.Equal(base.TherapyDays, mine.TherapyDays) {
		merged.TherapyDays = mine.TherapyDays
	}
	merged.TherapyDayLess = pick(base.TherapyDayLess, theirs.TherapyDayLess, mine.TherapyDayLess)
	merged.WakeFrom = pick(base.WakeFrom, theirs.WakeFrom, mine.WakeFrom)
	merged.WakeTo = pick(base.WakeTo, theirs.WakeTo, mine.WakeTo)
	merged.LeastGap = pick(base.LeastGap, theirs.LeastGap, mine.LeastGap)
	if !slices.Equal(base.Breaks, mine.Breaks) {
		merged.Breaks = mergeList(base.Breaks, theirs.Breaks, mine.Breaks)
	}
	if !slices.Equal(base.MayI, mine.MayI) {
		merged.MayI = oneAnswer(mergeList(base.MayI, theirs.MayI, mine.MayI))
	}
	if !slices.Equal(base.Opened, mine.Opened) {
		merged.Opened = mine.Opened
	}
	if !slices.Equal(base.Closed, mine.Closed) {
		merged.Closed = mine.Closed
	}
	merged.Phases = slices.Clone(theirs.Phases)
	for i := range merged.Phases {
		key := merged.Phases[i].Key
		was, ok1 := base.Phase(key)
		own, ok2 := mine.Phase(key)
		if ok1 && ok2 {
			merged.Phases[i] = mergePhase(was, merged.Phases[i], own)
		}
	}
	for _, t := range base.Diff(theirs) {
		for _, m := range base.Diff(mine) {
			if t.Phase == m.Phase && t.What == m.What && t.Motion == m.Motion && t.Exercise == m.Exercise && t.To != m.To {
				m.From = t.To
				clashes = append(clashes, m)
			}
		}
	}
	return merged, clashes
}

// pick is mine where the person changed it, else theirs.
func pick[T comparable](base, theirs, mine T) T {
	if mine != base {
		return mine
	}
	return theirs
}

// mergeList is theirs without what the person took out and with what the
// person added.
func mergeList[T comparable](base, theirs, mine []T) []T {
	var out []T
	for _, x := range theirs {
		if !slices.Contains(base, x) || slices.Contains(mine, x) {
			out = append(out, x)
		}
	}
	for _, x := range mine {
		if !slices.Contains(base, x) && !slices.Contains(out, x) {
			out = append(out, x)
		}
	}
	return out
}

// oneAnswer keeps the last answer to each question of a phase.
func oneAnswer(list []rom.MayI) []rom.MayI {
	var out []rom.MayI
	for i, m := range list {
		if !slices.ContainsFunc(list[i+1:], func(o rom.MayI) bool { return o.Phase == m.Phase && o.Activity == m.Activity }) {
			out = append(out, m)
		}
	}
	return out
}

func mergePhase(base, theirs, mine rom.Phase) rom.Phase {
	out := theirs
	out.From = pick(base.From, theirs.From, mine.From)
	out.PainCap = pick(base.PainCap, theirs.PainCap, mine.PainCap)
	out.Sling = pick(base.Sling, theirs.Sling, mine.Sling)
	out.Gate.Waived = pick(base.Gate.Waived, theirs.Gate.Waived, mine.Gate.Waived)
	if !slices.Equal(base.Measures, mine.Measures) {
		out.Measures = mine.Measures
	}
	out.Limits, out.Prescriptions = nil, nil
	for _, m := range rom.Motions {
		if l := pick(base.Limit(m), theirs.Limit(m), mine.Limit(m)); l.Class != rom.Locked {
			out.Limits = append(out.Limits, l)
		}
	}
	of := func(ph rom.Phase, id rom.ExerciseID) (list []rom.Prescription) {
		for _, x := range ph.Prescriptions {
			if x.Exercise == id {
				list = append(list, x)
			}
		}
		return list
	}
	for _, id := range rom.Exercises {
		list := of(theirs, id)
		if own := of(mine, id); !slices.Equal(of(base, id), own) {
			list = own
		}
		out.Prescriptions = append(out.Prescriptions, list...)
	}
	return out
}

package planning

import (
	"maps"
	"slices"

	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/server/access"
)

// Acts are all that the difference between the plan in force and the next one amounts to, in a fixed order. The person
// who saves must be allowed every one of them. before and after are the conflicts of both with the clinic's protocols.
func Acts(was, next rom.Plan, before, after []protocol.Conflict) []access.Act {
	acts := map[access.Act]bool{}
	switch {
	case next.State == was.State:
	case next.State == rom.Stopped:
		acts[access.StopPlan] = true
	case next.State == rom.Paused && was.State == rom.Running:
		acts[access.PausePlan] = true
	case was.State == rom.Stopped:
		acts[access.ResumeStopped] = true
	default:
		acts[access.ResumePlan] = true
	}
	for _, ph := range next.Phases {
		if before, ok := was.Phase(ph.Key); !ok || ph.Gate.Waived != before.Gate.Waived {
			acts[access.ClearPhase] = true
		}
	}
	// What is left without the state itself.
	same := next
	same.State, same.Why = was.State, was.Why
	wider := was.Narrows(same)
	if len(was.Diff(same)) > 0 {
		if !wider && same.Narrows(was) {
			acts[access.NarrowPlan] = true
		} else {
			acts[access.ChangePlan] = true
		}
	}
	for _, x := range after {
		switch {
		case slices.Contains(before, x):
		case x.What == protocol.PastLock:
			acts[access.OpenLock] = true
		case !wider && (x.What == protocol.PastCeiling || x.What == protocol.PastClass || x.What == protocol.PastPain):
			// Less far past the protocol than before.
		default:
			acts[access.PassCeiling] = true
		}
	}
	if slices.ContainsFunc(next.Opened, func(e rom.ExerciseID) bool { return !slices.Contains(was.Opened, e) }) {
		acts[access.OpenLock] = true
	}
	return slices.Sorted(maps.Keys(acts))
}

package clinic

import (
	"errors"
	"maps"
	"slices"
	"strings"

	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/server/access"
)

// mayChange asks for every act that the difference between the present plan
// and next amounts to.
func (v *visit) mayChange(c care, next rom.Plan) error {
	acts := map[access.Act]bool{}
	was := c.Plan
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
	before, err := v.conflicts(c, was)
	if err != nil {
		return err
	}
	after, err := v.conflicts(c, next)
	if err != nil {
		return err
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
	for _, e := range next.Opened {
		if !slices.Contains(was.Opened, e) {
			acts[access.OpenLock] = true
		}
	}
	for _, act := range slices.Sorted(maps.Keys(acts)) {
		if err := v.may(act); err != nil {
			return naming(err, actWords[act])
		}
	}
	return nil
}

// naming adds to a refusal what was asked for.
func naming(err error, what string) error {
	var s *sorry
	if errors.As(err, &s) {
		return refuse(s.status, strings.TrimSuffix(s.text, ".")+" ("+what+").")
	}
	return err
}

var actWords = map[access.Act]string{
	access.StopPlan: "stopping the plan", access.PausePlan: "pausing the plan", access.ResumeStopped: "resuming after a stop",
	access.ResumePlan: "resuming the plan", access.OpenLock: "opening an exercise that the procedure locks",
	access.ClearPhase: "letting a phase open without clearance", access.PassCeiling: "going past the clinic's protocol",
	access.ChangePlan: "changing the plan", access.NarrowPlan: "narrowing the plan",
}

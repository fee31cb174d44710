package clinic

import (
	"errors"
	"strings"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/clinic/planning"
)

// mayChange asks for every act that the difference between the present plan
// and next amounts to.
func (v *visit) mayChange(c care, next rom.Plan) error {
	before, err := v.conflicts(c, c.Plan)
	if err != nil {
		return err
	}
	after, err := v.conflicts(c, next)
	if err != nil {
		return err
	}
	for _, act := range planning.Acts(c.Plan, next, before, after) {
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

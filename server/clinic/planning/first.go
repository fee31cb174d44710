package planning

import (
	"encoding/json"
	"fmt"

	"unsling/engine/protocol"
	"unsling/engine/rom"
)

// NotAdoptedError says that the clinic has no protocol in force for a procedure, so that no plan can be made.
type NotAdoptedError struct{ Procedure rom.Procedure }

func (e *NotAdoptedError) Error() string {
	return fmt.Sprintf("no protocol is adopted for %s", e.Procedure)
}

// NoPlanError says why the adopted protocols give no plan.
type NoPlanError struct{ Err error }

func (e *NoPlanError) Error() string { return e.Err.Error() }
func (e *NoPlanError) Unwrap() error { return e.Err }

// First makes a plan from the adopted protocols of an episode. A question that only the surgeon can answer counts as
// "yes", the stricter answer, until it is answered in c. Where no therapy is spared otherwise, a therapy day takes one
// session off the home dose. Of holidays as many are taken as the size of a plan permits, the earliest first.
//
// It returns a *NotAdoptedError, or a *NoPlanError where the protocols do not go together.
func First(adopted Adopted, e rom.Episode, c protocol.Choices, holidays []rom.Break) (rom.Plan, error) {
	answers := map[string]string{}
	for key, a := range c.Answers {
		answers[key] = a
	}
	c.Answers = answers
	for _, p := range e.Procedures {
		pr, ok := adopted[p]
		if !ok {
			return rom.Plan{}, &NotAdoptedError{p}
		}
		for _, q := range pr.Questions {
			if answers[q.Key] == "" {
				answers[q.Key] = "yes"
			}
		}
	}
	if c.TherapyDayLess == 0 && len(c.TherapyDays) > 0 {
		c.TherapyDayLess = 1
	}
	plan, err := protocol.MakePlan(adopted.Of(e), e, c)
	if err != nil {
		return rom.Plan{}, &NoPlanError{err}
	}
	plan.Breaks = fitting(plan, holidays)
	return plan, nil
}

// Again are the choices that make a plan anew for somebody who has one: days and hours of the patient's life stay.
func Again(plan rom.Plan) protocol.Choices {
	return protocol.Choices{
		TherapyDays: plan.TherapyDays, TherapyDayLess: plan.TherapyDayLess, WakeFrom: plan.WakeFrom, WakeTo: plan.WakeTo,
		LeastGap: plan.LeastGap, MayI: plan.MayI, Base: plan.Rev,
	}
}

// fitting are the first breaks with which the plan is small enough for a record.
func fitting(plan rom.Plan, breaks []rom.Break) []rom.Break {
	for plan.Breaks = breaks; len(plan.Breaks) > 0; plan.Breaks = plan.Breaks[:len(plan.Breaks)-1] {
		if raw, err := json.Marshal(plan); err == nil && len(raw) <= protocol.MaxPlanBytes {
			return plan.Breaks
		}
	}
	return nil
}

// NewPrescription is what a clinician begins with when adding an exercise: the usual hold of about 20 seconds is common
// practice, no source.
func NewPrescription(id rom.ExerciseID, ph rom.Phase) rom.Prescription {
	x := rom.Prescription{
		Exercise: id, Dose: rom.Dose{Hold: 20, Reps: 5, Rest: 10, PerDay: 3},
		From: rom.Source{Key: "CLINIC", Mark: rom.Clinic},
	}
	if e, ok := protocol.Lookup(id); ok {
		if m, ok := e.Motion(ph, ""); ok {
			x.Motion = m
		} else if len(e.Motions) > 0 {
			x.Motion = e.Motions[0]
		}
		if !e.EndRange {
			x.Dose.Hold = 5
		}
	}
	return x
}

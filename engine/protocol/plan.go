package protocol

import (
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"unsling/engine/rom"
)

// Choices is what the clinic decides for one patient beyond the protocol.
type Choices struct {
	// GateDays postpones phases (key to day after surgery); a day before the
	// adopted one is refused.
	GateDays map[string]int
	// Waived lets a gate open by date alone: phase key to the surgeon who
	// answers for it.
	Waived map[string]rom.StaffID
	// Answers to the questions of the protocols: key to "yes" or "no".
	Answers map[string]string
	// Opened and Closed exercises, beyond those of the protocols.
	Opened, Closed []rom.ExerciseID

	TherapyDays    []time.Weekday
	TherapyDayLess int
	// WakeFrom and WakeTo in minutes after midnight; both 0 for 08:00 to 21:00.
	WakeFrom, WakeTo int
	LeastGap         int // minutes; 0 for 120
	MayI             []rom.MayI
	Contact          rom.Contact

	Rev, Base int // Rev 0 for 1
	By        rom.StaffID
	On        rom.Date
	Reason    string
}

// MaxPlanBytes is how long the JSON of a plan may be: a record holds 8 KiB
// with its envelope.
const MaxPlanBytes = 7680

// MakePlan builds the first plan of an episode from one adopted protocol for
// each procedure done. Several are merged to the stricter value, row by row;
// with a cuff repair the cuff protocol governs. Errors: *NotAdoptedError,
// *UnansweredError, *MissingError, *rom.InvalidError.
func MakePlan(adopted []Protocol, ep rom.Episode, c Choices) (rom.Plan, error) {
	ordered, err := match(adopted, ep.Procedures)
	if err != nil {
		return rom.Plan{}, err
	}
	for _, p := range ordered {
		if !p.IsAdopted() {
			return rom.Plan{}, &NotAdoptedError{p.ID, p.Version}
		}
	}
	p, err := Merge(ordered...)
	if err != nil {
		return rom.Plan{}, err
	}
	for _, q := range p.Questions {
		switch c.Answers[q.Key] {
		case "no":
		case "yes":
			p.lock(q.Locks)
		default:
			return rom.Plan{}, &UnansweredError{p.ID, q.Key}
		}
	}
	if err := p.gates(c.GateDays, true); err != nil {
		return rom.Plan{}, err
	}
	for key, surgeon := range c.Waived {
		i := slices.IndexFunc(p.Phases, func(ph Phase) bool { return ph.Key == key })
		if i < 0 || surgeon == "" {
			return rom.Plan{}, &rom.InvalidError{Field: "waived " + key, Rule: "must name a phase and the surgeon who answers for it"}
		}
		p.Phases[i].Gate.Waived = surgeon
	}
	plan := p.plan(c)
	plan.Episode = ep.ID
	for _, o := range ordered {
		plan.Protocol = append(plan.Protocol, o.Ref())
	}
	if err := plan.Validate(); err != nil {
		return rom.Plan{}, err
	}
	b, err := json.Marshal(plan)
	if err != nil {
		return rom.Plan{}, fmt.Errorf("make plan: %w", err)
	}
	if len(b) > MaxPlanBytes {
		return rom.Plan{}, &rom.InvalidError{Field: "plan", Rule: fmt.Sprintf("is %d bytes long, more than a record can hold (%d): shorten its answers or phases", len(b), MaxPlanBytes)}
	}
	return plan, nil
}

// match finds one protocol for each procedure, the governing one first.
func match(ps []Protocol, procedures []rom.Procedure) ([]Protocol, error) {
	if len(procedures) == 0 {
		return nil, &rom.InvalidError{Field: "procedures", Rule: "must name what was done"}
	}
	var out []Protocol
	used := 0
	for _, proc := range procedures {
		found := 0
		for _, p := range ps {
			if p.Procedure == proc {
				out, found = append(out, p), found+1
			}
		}
		switch {
		case found == 0:
			return nil, &MissingError{proc}
		case found > 1:
			return nil, &rom.InvalidError{Field: "protocols", Rule: fmt.Sprintf("must hold one protocol for %s, not %d", proc, found)}
		}
		used += found
	}
	if used != len(ps) {
		return nil, &rom.InvalidError{Field: "protocols", Rule: "must hold none for a procedure that was not done"}
	}
	slices.SortStableFunc(out, func(a, b Protocol) int { return governs(a.Procedure) - governs(b.Procedure) })
	return out, nil
}

// governs puts cuff repairs before everything else.
func governs(p rom.Procedure) int {
	if p.Cuff() {
		return 0
	}
	return 1
}

// lock takes motions out of every phase.
func (p *Protocol) lock(motions []rom.Motion) {
	for i := range p.Phases {
		ph := &p.Phases[i]
		ph.Limits = slices.DeleteFunc(ph.Limits, func(l rom.Limit) bool { return slices.Contains(motions, l.Motion) })
		ph.Prescriptions = slices.DeleteFunc(ph.Prescriptions, func(x rom.Prescription) bool {
			return blocked(ph.Phase, x, []rom.Procedure{p.Procedure}, p.Opened, p.Closed)
		})
		ph.Measures = slices.DeleteFunc(ph.Measures, func(m rom.MeasureRule) bool { return ph.Limit(m.Motion).Class == rom.Locked })
	}
}

// The patient's day when nobody chose another (common practice, no source).
const (
	wakeFrom = 8 * 60
	wakeTo   = 21 * 60
	leastGap = 120
)

// plan turns p into a plan without episode and protocol.
func (p Protocol) plan(c Choices) rom.Plan {
	plan := rom.Plan{
		Rev: max(c.Rev, 1), Base: c.Base, State: rom.Running,
		Opened: union(p.Opened, c.Opened), Closed: union(p.Closed, c.Closed),
		TherapyDays: c.TherapyDays, TherapyDayLess: c.TherapyDayLess,
		WakeFrom: c.WakeFrom, WakeTo: c.WakeTo, LeastGap: c.LeastGap,
		MayI: c.MayI, Contact: c.Contact, PassedFrom: p.PassedFrom, By: c.By, On: c.On, Reason: c.Reason,
	}
	if plan.WakeFrom == 0 && plan.WakeTo == 0 {
		plan.WakeFrom, plan.WakeTo = wakeFrom, wakeTo
	}
	if plan.LeastGap == 0 {
		plan.LeastGap = leastGap
	}
	if plan.Reason == "" {
		plan.Reason = "first plan"
	}
	for _, ph := range p.Phases {
		x := ph.clone().Phase
		x.Prescriptions = slices.DeleteFunc(x.Prescriptions, func(rx rom.Prescription) bool {
			return slices.Contains(plan.Closed, rx.Exercise)
		})
		plan.Phases = append(plan.Phases, x)
	}
	plan.TellPassedFrom()
	return plan
}

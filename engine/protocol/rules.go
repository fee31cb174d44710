package protocol

import (
	"errors"
	"fmt"
	"slices"

	"unsling/engine/rom"
)

// firstSixWeeks is the day after surgery until which measuring counts as
// loading after a repair (derived: design choice of this project).
const firstSixWeeks = 42

// rules checks the sense of a protocol whose form is sound and names each
// fault by its path.
type rules struct {
	p      Protocol
	faults []Fault
}

func (r *rules) fault(path, reason string, args ...any) {
	r.faults = append(r.faults, Fault{Path: path, Reason: fmt.Sprintf(reason, args...)})
}

// invalid turns an error of rom into a fault below a path.
func (r *rules) invalid(path string, err error) {
	var e *rom.InvalidError
	if errors.As(err, &e) {
		r.fault(path+"."+e.Field, "%s", e.Rule)
	} else if err != nil {
		r.fault(path, "%v", err)
	}
}

func (r *rules) run() []Fault {
	p := r.p
	if !plainKey(p.ID) {
		r.fault("id", "must be small letters, digits and hyphens")
	}
	if p.Version < 1 {
		r.fault("version", "must be 1 or more")
	}
	if !p.Procedure.Valid() {
		r.fault("procedure", "is not a procedure known here")
	}
	if p.TherapyPerWeek < 0 || p.TherapyPerWeek > 7 {
		r.fault("therapy_per_week", "must lie between 0 and 7")
	}
	if len(p.Phases) == 0 {
		r.fault("phases", "must not be empty")
	}
	if len(p.Phases) > 12 {
		r.fault("phases", "must not exceed twelve")
		return r.faults
	}
	r.exercises("opened", p.Opened)
	r.exercises("closed", p.Closed)
	for i, q := range p.Questions {
		for j, m := range q.Locks {
			if !m.Valid() {
				r.fault(fmt.Sprintf("questions[%d].locks[%d]", i, j), "is not a known motion")
			}
		}
	}
	for i := range p.Phases {
		r.phase(i)
	}
	return r.faults
}

func (r *rules) exercises(path string, list []rom.ExerciseID) {
	for i, e := range list {
		if !e.Valid() {
			r.fault(fmt.Sprintf("%s[%d]", path, i), "is not an exercise of the catalogue")
		}
	}
}

func (r *rules) phase(i int) {
	ph, at := r.p.Phases[i], fmt.Sprintf("phases[%d]", i)
	if !plainKey(ph.Key) {
		r.fault(at+".key", "must be small letters, digits and hyphens")
	}
	r.days(i, at)
	if len(ph.Limits) > len(rom.Motions) {
		r.fault(at+".limits", "must not exceed one row for each motion")
		return
	}
	if len(ph.Prescriptions) > len(rom.Exercises) {
		r.fault(at+".exercises", "must not exceed the catalogue")
		return
	}
	r.limits(i, at)
	r.prescriptions(ph, at)
	r.measures(ph, at)
	if slingRank(ph.Sling) < 0 {
		r.fault(at+".sling", "must be always, day, outdoor, comfort or off")
	}
	if ph.PainCap < 0 || ph.PainCap > 10 {
		r.fault(at+".pain_cap", "must lie between 0 and 10")
	}
	if ph.Stretching && ph.HighestClass() == rom.Locked {
		r.fault(at+".stretching", "must not be true where no motion of the shoulder is permitted")
	}
	if ph.Stretching && ph.Sling == rom.SlingAlways {
		r.fault(at+".stretching", "must not be true while the sling is worn day and night: no end-range time is counted then")
	}
	for j, f := range ph.Forbidden {
		if !slices.Contains(Forbidden, f) {
			r.fault(fmt.Sprintf("%s.forbidden[%d]", at, j), "is not a movement that the app has words for")
		}
	}
	if c := ph.Gate.Review; c != nil {
		if !c.Motion.Valid() {
			r.fault(at+".gate.review.m", "is not a known motion")
		} else if c.AtLeast < 0 || c.AtLeast > c.Motion.AnatomicalMax() {
			r.fault(at+".gate.review.at_least", "must lie between 0 and %s degrees", c.Motion.AnatomicalMax())
		}
	}
}

func (r *rules) days(i int, at string) {
	ph, last := r.p.Phases[i], i == len(r.p.Phases)-1
	for j := range i {
		if r.p.Phases[j].Key == ph.Key {
			r.fault(at+".key", "must be unique")
		}
	}
	switch {
	case ph.From < 0 || ph.From > 730:
		r.fault(at+".from_day", "must lie between day 0 and day 730")
	case i == 0 && ph.From != 0:
		r.fault(at+".from_day", "must be 0: days 0 to %d would have no phase", ph.From-1)
	case ph.To != 0 && ph.To <= ph.From:
		r.fault(at+".to_day", "must lie after from_day")
	case last && ph.To != 0:
		r.fault(at+".to_day", "must be left out: the last phase lasts until discharge")
	}
	if last {
		return
	}
	switch next := r.p.Phases[i+1].From; {
	case ph.To == 0:
		r.fault(at+".to_day", "is missing: only the last phase lasts until discharge")
	case ph.To < next:
		r.fault(fmt.Sprintf("phases[%d].from_day", i+1), "leaves a gap: days %d to %d have no phase", ph.To, next-1)
	case ph.To > next:
		r.fault(fmt.Sprintf("phases[%d].from_day", i+1), "overlaps the phase before it, which lasts to day %d", ph.To-1)
	}
}

func (r *rules) limits(i int, at string) {
	ph := r.p.Phases[i]
	for j, l := range ph.Limits {
		path := fmt.Sprintf("%s.limits[%d]", at, j)
		r.invalid(path, l.Validate())
		for k := range j {
			if ph.Limits[k].Motion == l.Motion {
				r.fault(path+".m", "must not be listed twice")
			}
		}
		if i == 0 {
			continue
		}
		was := r.p.Phases[i-1].Limit(l.Motion)
		switch {
		case l.Class < was.Class:
			r.fault(path+".class", "falls back from %s to %s", was.Class, l.Class)
		case was.Class != rom.Locked && l.NarrowerThan(was):
			r.fault(path+"."+ceilField(l), "falls back below the phase before it")
		}
	}
	if i == 0 {
		return
	}
	for _, was := range r.p.Phases[i-1].Limits {
		if ph.Limit(was.Motion).Class == rom.Locked && was.Class != rom.Locked {
			r.fault(at+".limits", "has no row for %s, which the phase before it permits: its class falls back", was.Motion)
		}
	}
	if ph.RaisesClass(r.p.Phases[i-1].Phase) && !ph.Gate.Clearance && ph.Gate.Waived == "" {
		r.fault(at+".gate", "must ask for clearance, since a class of movement rises here")
	}
}

func ceilField(l rom.Limit) string {
	if l.Motion.ByLevel() {
		return "highest"
	}
	return "ceil"
}

func (r *rules) prescriptions(ph Phase, at string) {
	for j, x := range ph.Prescriptions {
		path := fmt.Sprintf("%s.exercises[%d]", at, j)
		var e *rom.InvalidError
		if errors.As(x.Validate(), &e) {
			field := map[string]string{"dose.hold": "hold", "dose.reps": "reps", "dose.rest": "rest", "dose.per_day": "per_day"}[e.Field]
			if field == "" {
				field = e.Field
			}
			r.fault(path+"."+field, "%s", e.Rule)
			continue
		}
		for k := range j {
			if ph.Prescriptions[k].Exercise == x.Exercise {
				r.fault(path+".ex", "must not be listed twice")
			}
		}
		if reason := r.p.forbids(ph, x); reason != "" {
			r.fault(path+".ex", "%s", reason)
		}
	}
}

// forbids says why the phase does not allow its own prescription, or "".
func (p Protocol) forbids(ph Phase, x rom.Prescription) string {
	e, ok := Lookup(x.Exercise)
	switch {
	case !ok:
		return "is not an exercise of the catalogue"
	case !e.Serves(x.Motion):
		return fmt.Sprintf("does not serve %s", x.Motion)
	case slices.Contains(p.Closed, x.Exercise):
		return "is closed by this protocol"
	}
	if _, ok := e.Motion(ph.Phase, x.Motion); !ok {
		return fmt.Sprintf("is not allowed by its own phase: it is %s, and the phase does not permit that here", e.Class)
	}
	if l, locked := e.LockedBy([]rom.Procedure{p.Procedure}, ph.From); locked && !slices.Contains(p.Opened, x.Exercise) {
		if l.Until == 0 {
			return fmt.Sprintf("is locked after %s until the surgeon opens it", l.Procedure)
		}
		return fmt.Sprintf("is locked after %s to day %d unless opened", l.Procedure, l.Until)
	}
	return ""
}

func (r *rules) measures(ph Phase, at string) {
	for j, m := range ph.Measures {
		path := fmt.Sprintf("%s.measures[%d]", at, j)
		switch {
		case !m.Motion.Valid():
			r.fault(path+".m", "is not a known motion")
		case ph.Limit(m.Motion).Class == rom.Locked:
			r.fault(path+".m", "is locked in this phase: a locked motion is never measured")
		case m.PerWeek < 1 || m.PerWeek > 7:
			r.fault(path+".per_week", "must lie between 1 and 7")
		case m.Trials < 1 || m.Trials > 3:
			r.fault(path+".trials", "must lie between 1 and 3")
		}
		if !r.p.Procedure.Repair() || ph.From >= firstSixWeeks {
			continue
		}
		if m.PerWeek > 2 {
			r.fault(path+".per_week", "must not exceed 2 in the first six weeks after a repair: measuring is loading")
		}
		if m.Trials > 1 {
			r.fault(path+".trials", "must be 1 in the first six weeks after a repair: measuring is loading")
		}
		if !ph.holds(m.Motion) {
			r.fault(path+".m", "is not held by any exercise of this phase: in the first six weeks it is measured only during a prescribed hold")
		}
	}
}

// holds reports whether the phase prescribes a hold of m.
func (p Phase) holds(m rom.Motion) bool {
	for _, x := range p.Prescriptions {
		if x.Motion == m && x.Dose.Hold > 0 {
			return true
		}
	}
	return false
}

// slingRank orders the ways of wearing a sling by how much they protect; -1
// for something else.
func slingRank(s rom.Sling) int {
	return slices.Index([]rom.Sling{rom.SlingOff, rom.SlingComfort, rom.SlingOutdoor, rom.SlingDay, rom.SlingAlways}, s)
}

func plainKey(s string) bool {
	for _, c := range []byte(s) {
		if (c < 'a' || c > 'z') && (c < '0' || c > '9') && c != '-' {
			return false
		}
	}
	return s != "" && len(s) <= 40
}

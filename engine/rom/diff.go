package rom

import (
	"fmt"
	"slices"
	"strings"
)

// Difference is one thing in which a revision differs from another, for the
// person who reads what was changed.
type Difference struct {
	Phase    string     // key of the phase; empty for the plan as a whole
	What     Aspect     // what is different
	Motion   Motion     // for a limit
	Exercise ExerciseID // for a prescription or a lock
	From, To string     // printed values; empty for absent
}

// Aspect is what a Difference is about.
type Aspect string

// The aspects.
const (
	AspectState       Aspect = "state"
	AspectWhy         Aspect = "reason for the patient"
	AspectTherapyDays Aspect = "therapy days"
	AspectHours       Aspect = "waking hours"
	AspectOpened      Aspect = "opened exercise"
	AspectClosed      Aspect = "closed exercise"
	AspectPhase       Aspect = "phase"
	AspectDay         Aspect = "first day"
	AspectGate        Aspect = "gate"
	AspectSling       Aspect = "sling"
	AspectPain        Aspect = "highest pain"
	AspectLimit       Aspect = "limit"
	AspectDose        Aspect = "prescription"
	AspectMeasures    Aspect = "measuring"
	AspectContact     Aspect = "contact"
	AspectMayI        Aspect = "daily questions"
	AspectBreaks      Aspect = "break"
	AspectPassedFrom  Aspect = "a limit counts as passed"
)

// Diff lists in what q differs from p, in the order of the phases. Numbers,
// author and reason of the revision are no difference.
func (p Plan) Diff(q Plan) []Difference {
	var out []Difference
	add := func(phase string, what Aspect, from, to string) {
		if from != to {
			out = append(out, Difference{Phase: phase, What: what, From: from, To: to})
		}
	}
	add("", AspectState, string(p.State), string(q.State))
	add("", AspectWhy, p.Why, q.Why)
	add("", AspectTherapyDays, fmt.Sprint(p.TherapyDays, " less ", p.TherapyDayLess), fmt.Sprint(q.TherapyDays, " less ", q.TherapyDayLess))
	add("", AspectHours, fmt.Sprint(p.WakeFrom, "-", p.WakeTo, ", gap ", p.LeastGap), fmt.Sprint(q.WakeFrom, "-", q.WakeTo, ", gap ", q.LeastGap))
	add("", AspectContact, fmt.Sprint(p.Contact), fmt.Sprint(q.Contact))
	out = append(out, diffBreaks(p.Breaks, q.Breaks)...)
	out = append(out, diffMayI(p.MayI, q.MayI)...)
	add("", AspectPassedFrom, "from a chance of "+p.PassedFrom.String(), "from a chance of "+q.PassedFrom.String())
	out = append(out, diffExercises(AspectOpened, p.Opened, q.Opened)...)
	out = append(out, diffExercises(AspectClosed, p.Closed, q.Closed)...)
	for _, now := range q.Phases {
		was, ok := p.Phase(now.Key)
		if !ok {
			add(now.Key, AspectPhase, "", fmt.Sprint("from day ", now.From))
			continue
		}
		out = append(out, was.diff(now)...)
	}
	for _, was := range p.Phases {
		if _, ok := q.Phase(was.Key); !ok {
			add(was.Key, AspectPhase, fmt.Sprint("from day ", was.From), "")
		}
	}
	return out
}

// diffBreaks lists the breaks that are only in one of the two.
func diffBreaks(p, q []Break) []Difference {
	var out []Difference
	for _, b := range p {
		if !slices.Contains(q, b) {
			out = append(out, Difference{What: AspectBreaks, From: b.String()})
		}
	}
	for _, b := range q {
		if !slices.Contains(p, b) {
			out = append(out, Difference{What: AspectBreaks, To: b.String()})
		}
	}
	return out
}

// String prints a break: "2026-12-24 to 2027-01-02, no-therapy".
func (b Break) String() string {
	return fmt.Sprintf("%s to %s, %s", b.From, b.To, b.Kind)
}

// diffMayI lists the daily questions whose answer differs, by phase.
func diffMayI(p, q []MayI) []Difference {
	var out []Difference
	answer := func(list []MayI, of MayI) string {
		for _, m := range list {
			if m.Phase == of.Phase && m.Activity == of.Activity {
				return m.Activity + " " + m.Answer
			}
		}
		return ""
	}
	for _, m := range q {
		if was := answer(p, m); was != m.Activity+" "+m.Answer {
			out = append(out, Difference{Phase: m.Phase, What: AspectMayI, From: was, To: m.Activity + " " + m.Answer})
		}
	}
	for _, m := range p {
		if answer(q, m) == "" {
			out = append(out, Difference{Phase: m.Phase, What: AspectMayI, From: m.Activity + " " + m.Answer})
		}
	}
	return out
}

func (p Phase) diff(q Phase) []Difference {
	var out []Difference
	add := func(d Difference) {
		if d.From != d.To {
			d.Phase = q.Key
			out = append(out, d)
		}
	}
	add(Difference{What: AspectDay, From: fmt.Sprint(p.From), To: fmt.Sprint(q.From)})
	add(Difference{What: AspectGate, From: p.Gate.String(), To: q.Gate.String()})
	add(Difference{What: AspectSling, From: string(p.Sling), To: string(q.Sling)})
	add(Difference{What: AspectPain, From: fmt.Sprint(p.PainCap), To: fmt.Sprint(q.PainCap)})
	add(Difference{What: AspectMeasures, From: fmt.Sprint(p.Measures), To: fmt.Sprint(q.Measures)})
	for _, m := range Motions {
		add(Difference{What: AspectLimit, Motion: m, From: p.Limit(m).String(), To: q.Limit(m).String()})
	}
	doses := func(ph Phase, id ExerciseID) string {
		var s []string
		for _, x := range ph.Prescriptions {
			if x.Exercise == id {
				s = append(s, x.Dose.String())
			}
		}
		return strings.Join(s, "; ")
	}
	for _, id := range Exercises {
		add(Difference{What: AspectDose, Exercise: id, From: doses(p, id), To: doses(q, id)})
	}
	return out
}

func diffExercises(what Aspect, p, q []ExerciseID) []Difference {
	var out []Difference
	for _, id := range Exercises {
		was, now := slices.Contains(p, id), slices.Contains(q, id)
		if was != now {
			d := Difference{What: what, Exercise: id, From: "no", To: "yes"}
			if was {
				d.From, d.To = "yes", "no"
			}
			out = append(out, d)
		}
	}
	return out
}

// String prints a row: "passive to 90", "locked", "active, no ceiling".
func (l Limit) String() string {
	switch {
	case l.Class == Locked:
		return Locked.String()
	case l.Open:
		return l.Class.String() + ", no ceiling"
	case l.Motion.ByLevel():
		return fmt.Sprintf("%s to %s", l.Class, l.Highest)
	}
	return l.Class.String() + " to " + l.Ceiling.String()
}

// String prints a dose: "5 x 20 s, rest 10 s, 3 a day"; what is moved and not
// held is "10 times, rest 5 s, 3 a day".
func (d Dose) String() string {
	if d.Hold == 0 { // moved, not held
		return fmt.Sprintf("%d times, rest %d s, %d a day", d.Reps, d.Rest, d.PerDay)
	}
	return fmt.Sprintf("%d x %d s, rest %d s, %d a day", d.Reps, d.Hold, d.Rest, d.PerDay)
}

// String prints a gate: "date", "clearance", "waived by ...".
func (g Gate) String() string {
	switch {
	case g.Waived != "":
		return "waived by " + string(g.Waived)
	case g.Clearance:
		return "clearance"
	}
	return "date"
}

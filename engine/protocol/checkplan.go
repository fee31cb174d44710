package protocol

import (
	"fmt"
	"slices"

	"unsling/engine/rom"
)

// Conflict is one place in which a plan permits more than a protocol.
type Conflict struct {
	Phase    string     // key in the plan; empty when it is about the whole plan
	Motion   rom.Motion // empty when it is not about a motion
	What     ConflictKind
	Plan     string     // what the plan says, such as "active" or "120"
	Protocol string     // what the protocol says
	From     rom.Source // of the protocol's value
}

// ConflictKind is what a conflict is about.
type ConflictKind string

// The kinds of conflict.
const (
	PastClass     ConflictKind = "class"       // a higher class
	PastCeiling   ConflictKind = "ceiling"     // a higher ceiling
	PastGate      ConflictKind = "gate"        // a clearance left out
	PastSling     ConflictKind = "sling"       // less of the sling
	PastLock      ConflictKind = "lock"        // an exercise opened
	PastPain      ConflictKind = "pain-cap"    // more pain
	PastForbidden ConflictKind = "forbidden"   // a forbidden combination left out
	PastMeasuring ConflictKind = "measuring"   // more measuring than the first six weeks bear
	PastChance    ConflictKind = "passed-from" // a limit counts as passed later
)

// CheckPlan lists where plan goes past the protocol (merge several first). Each
// phase of the plan is compared with what the protocol permits on its first
// day, which is the strictest day it can begin. Doses are not compared: no
// source gives a ceiling for them. A therapist may make only plans without
// conflicts; a surgeon decides.
func CheckPlan(plan rom.Plan, p Protocol) []Conflict {
	if len(p.Phases) == 0 {
		return nil
	}
	var out []Conflict
	if a, b := plan.PassedFrom.Or(), p.PassedFrom.Or(); a > b {
		out = append(out, Conflict{What: PastChance, Plan: a.String(), Protocol: b.String(), From: p.PassedFromSrc})
	}
	for i, ph := range plan.Phases {
		ref := p.phaseAt(ph.From)
		add := func(m rom.Motion, what ConflictKind, plan, protocol string, from rom.Source) {
			out = append(out, Conflict{ph.Key, m, what, plan, protocol, from})
		}
		for _, l := range ph.Limits {
			r := ref.Limit(l.Motion)
			switch {
			case l.Class > r.Class:
				from := r.From
				if r.Class == rom.Locked {
					from = ref.Basis
				}
				add(l.Motion, PastClass, l.Class.String(), r.Class.String(), from)
			case r.NarrowerThan(l):
				add(l.Motion, PastCeiling, ceiling(l), ceiling(r), r.From)
			}
		}
		if i > 0 && ph.Gate.Waived == "" && !ph.Gate.Clearance && (ph.RaisesClass(plan.Phases[i-1]) || p.clears(plan.Phases[i-1].From, ph.From)) {
			add("", PastGate, "by date", "clearance", ref.Basis)
		}
		if ph.Gate.Waived != "" && p.clears(ph.From-1, ph.From) && ref.Gate.Waived != ph.Gate.Waived {
			add("", PastGate, "waived by "+string(ph.Gate.Waived), "clearance", ref.Basis)
		}
		if slingRank(ph.Sling) < slingRank(ref.Sling) {
			add("", PastSling, string(ph.Sling), string(ref.Sling), ref.SlingFrom)
		}
		if ph.PainCap > ref.PainCap {
			add("", PastPain, fmt.Sprint(ph.PainCap), fmt.Sprint(ref.PainCap), ref.PainFrom)
		}
		for _, f := range ref.Forbidden {
			if !slices.Contains(ph.Forbidden, f) {
				add("", PastForbidden, "left out", f, ref.ForbiddenFrom)
			}
		}
		if !p.Procedure.Repair() || ph.From >= firstSixWeeks {
			continue
		}
		for _, m := range ph.Measures {
			if m.PerWeek > 2 || m.Trials > 1 {
				add(m.Motion, PastMeasuring, fmt.Sprintf("%d a week, %d trials", m.PerWeek, m.Trials), "2 a week, 1 trial", rom.Source{Key: "PRACTICE", Mark: rom.Derived})
			}
		}
	}
	for _, id := range plan.Opened {
		if slices.Contains(p.Opened, id) {
			continue
		}
		c := Conflict{What: PastLock, Plan: string(id), Protocol: "locked"}
		if e, ok := Lookup(id); ok {
			c.From = e.From
		}
		out = append(out, c)
	}
	for _, id := range p.Closed {
		if !slices.Contains(plan.Closed, id) {
			out = append(out, Conflict{What: PastLock, Plan: string(id), Protocol: "closed by the protocol"})
		}
	}
	return out
}

// clears reports whether a phase of p that needs clearance begins after one
// day and not later than another.
func (p Protocol) clears(after, day int) bool {
	return slices.ContainsFunc(p.Phases, func(ph Phase) bool {
		return ph.NeedsClearance() && ph.From > after && ph.From <= day
	})
}

// ceiling prints the upper end of a row.
func ceiling(l rom.Limit) string {
	s := l.Ceiling.String()
	switch {
	case l.Open:
		s = "open"
	case l.Motion.ByLevel():
		s = l.Highest.String()
	}
	if l.ActiveCeil != 0 {
		s += ", active " + l.ActiveCeil.String()
	}
	return s
}

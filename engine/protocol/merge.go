package protocol

import (
	"errors"
	"fmt"
	"reflect"
	"slices"

	"unsling/engine/rom"
)

// Merge combines the protocols of one operation to the stricter value of each
// row, the first governing; where both contribute, both sources are kept.
//
// The merged protocol has a phase wherever any of them begins one. A motion is
// open only where every protocol has a row for it. Exercises and doses are
// those of the governing protocol, as far as the merged rows and the locks of
// all procedures allow them.
func Merge(ps ...Protocol) (Protocol, error) {
	if len(ps) == 0 {
		return Protocol{}, errors.New("no protocol was given")
	}
	out := ps[0].clone()
	if len(ps) == 1 {
		return out, nil
	}
	var cuts []int
	var procedures []rom.Procedure
	for _, p := range ps {
		if len(p.Phases) == 0 || p.Phases[0].From != 0 {
			return Protocol{}, fmt.Errorf("protocol %s has no phase on day 0", p.ID)
		}
		procedures = append(procedures, p.Procedure)
		for _, ph := range p.Phases {
			cuts = append(cuts, ph.From)
		}
	}
	slices.Sort(cuts)
	out.Phases = nil
	out.Opened = mergeOpened(ps)
	for _, p := range ps[1:] {
		out.ID += "+" + p.ID
		if p.Draft != "" {
			out.Draft += " " + p.Draft
		}
		out.Closed = union(out.Closed, p.Closed)
		switch a, b := out.PassedFrom.Or(), p.PassedFrom.Or(); { // the smaller warns earlier
		case b < a:
			out.PassedFrom, out.PassedFromSrc = p.PassedFrom, p.PassedFromSrc
		case a == b:
			out.PassedFromSrc = joined(out.PassedFromSrc, p.PassedFromSrc)
		}
		for _, q := range p.Questions {
			if !slices.ContainsFunc(out.Questions, func(o Question) bool { return o.Key == q.Key }) {
				out.Questions = append(out.Questions, q)
			}
		}
		if !p.IsAdopted() {
			out.Adopted = Adoption{}
		}
	}
	for _, day := range slices.Compact(cuts) {
		ph := mergedPhase(ps, day)
		ph.Prescriptions = slices.DeleteFunc(ph.Prescriptions, func(x rom.Prescription) bool {
			return blocked(ph.Phase, x, procedures, out.Opened, out.Closed)
		})
		ph.Measures = slices.DeleteFunc(ph.Measures, func(m rom.MeasureRule) bool {
			return ph.Limit(m.Motion).Class == rom.Locked ||
				(day < firstSixWeeks && slices.ContainsFunc(procedures, rom.Procedure.Repair) && !ph.holds(m.Motion))
		})
		out.Phases = appendPhase(out.Phases, ph)
	}
	return out, nil
}

// appendPhase adds ph unless it changes nothing, gives it a key of its own,
// and asks for clearance where a class rises.
func appendPhase(list []Phase, ph Phase) []Phase {
	if len(list) == 0 {
		return append(list, ph)
	}
	last := &list[len(list)-1]
	ph.Gate.Clearance = ph.Gate.Clearance || ph.RaisesClass(last.Phase)
	if same(last.Phase, ph.Phase) {
		return list
	}
	key := ph.Key
	for n := 2; slices.ContainsFunc(list, func(o Phase) bool { return o.Key == ph.Key }); n++ {
		ph.Key = fmt.Sprintf("%s-%d", key, n)
	}
	last.To = ph.From
	return append(list, ph)
}

// same reports whether two phases permit and ask the same.
func same(a, b rom.Phase) bool {
	a.Key, a.From, a.Gate, a.Basis = b.Key, b.From, b.Gate, b.Basis
	return reflect.DeepEqual(a, b)
}

// phaseAt returns the phase in force on a day by date alone.
func (p Protocol) phaseAt(day int) Phase {
	ph := p.Phases[0]
	for _, x := range p.Phases {
		if x.From <= day {
			ph = x
		}
	}
	return ph
}

func mergedPhase(ps []Protocol, day int) Phase {
	out := ps[0].phaseAt(day).clone()
	out.Gate.Clearance = out.Gate.Clearance && out.From == day
	if out.From != day {
		out.Gate.Review = nil
	}
	out.From, out.To = day, 0
	for _, p := range ps[1:] {
		o := p.phaseAt(day)
		if o.From == day {
			out.Gate.Clearance = out.Gate.Clearance || o.Gate.Clearance
			if out.Gate.Review == nil {
				out.Gate.Review = o.Gate.Review
			}
		}
		out.Gate.Waived = ""
		out.Limits = stricter(out.Limits, o)
		if slingRank(o.Sling) > slingRank(out.Sling) {
			out.Sling, out.SlingFrom = o.Sling, o.SlingFrom
		}
		if o.PainCap < out.PainCap {
			out.PainCap, out.PainFrom = o.PainCap, o.PainFrom
		}
		if more := union(out.Forbidden, o.Forbidden); len(more) > len(out.Forbidden) {
			out.Forbidden = more
			out.ForbiddenFrom = joined(out.ForbiddenFrom, o.ForbiddenFrom)
		}
		out.Basis = joined(out.Basis, o.Basis)
		out.Stretching = out.Stretching && o.Stretching
	}
	if out.Sling == rom.SlingAlways {
		out.Stretching = false
	}
	return out
}

// stricter keeps the rows that o has too, each at the stricter value.
func stricter(rows []rom.Limit, o Phase) []rom.Limit {
	var out []rom.Limit
	for _, l := range rows {
		other := o.Limit(l.Motion)
		if other.Class != rom.Locked {
			l = l.Stricter(other)
			out = append(out, l)
		}
	}
	return out
}

func joined(a, b rom.Source) rom.Source {
	switch {
	case a == rom.Source{}:
		return b
	case b == rom.Source{} || a == b:
		return a
	}
	return a.Join(b)
}

// blocked reports whether a phase or a lock stands against a prescription.
func blocked(ph rom.Phase, x rom.Prescription, procedures []rom.Procedure, opened, closed []rom.ExerciseID) bool {
	e, ok := Lookup(x.Exercise)
	if !ok || slices.Contains(closed, x.Exercise) {
		return true
	}
	if _, ok := e.Motion(ph, x.Motion); !ok {
		return true
	}
	_, locked := e.LockedBy(procedures, ph.From)
	return locked && !slices.Contains(opened, x.Exercise)
}

// mergeOpened keeps an exercise that one protocol opens only when every
// protocol whose procedure locks it opens it.
func mergeOpened(ps []Protocol) []rom.ExerciseID {
	var out []rom.ExerciseID
	for _, p := range ps {
		for _, id := range p.Opened {
			e, ok := Lookup(id)
			agreed := ok && !slices.Contains(out, id)
			for _, o := range ps {
				_, locks := e.LockedBy([]rom.Procedure{o.Procedure}, 0)
				agreed = agreed && (!locks || slices.Contains(o.Opened, id))
			}
			if agreed {
				out = append(out, id)
			}
		}
	}
	return out
}

func union[T comparable](a, b []T) []T {
	out := slices.Clone(a)
	for _, x := range b {
		if !slices.Contains(out, x) {
			out = append(out, x)
		}
	}
	return out
}

func (p Protocol) clone() Protocol {
	phases := make([]Phase, len(p.Phases))
	for i, ph := range p.Phases {
		phases[i] = ph.clone()
	}
	p.Phases = phases
	p.Questions = slices.Clone(p.Questions)
	p.Opened, p.Closed = slices.Clone(p.Opened), slices.Clone(p.Closed)
	return p
}

func (p Phase) clone() Phase {
	p.Limits = slices.Clone(p.Limits)
	p.Forbidden = slices.Clone(p.Forbidden)
	p.Prescriptions = slices.Clone(p.Prescriptions)
	p.Measures = slices.Clone(p.Measures)
	if p.Gate.Review != nil {
		c := *p.Gate.Review
		p.Gate.Review = &c
	}
	return p
}

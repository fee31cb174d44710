package rom

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
)

// A record holds 8 KiB, and the phases of a plan repeat most of what they say.
// So the JSON of a plan keeps each row, prescription and source once; phases
// name rows and prescriptions by their place, counted from 0:
//
//	"sources":   ["THIGPEN2016 memory", ...]
//	"rows":      [[motion, class 1-4, floor, ceiling or null if open, active ceiling, highest level, source], ...]
//	"exercises": [[exercise, motion, hold, repetitions, rest, a day, source], ...]
//	"daily":     {"shower": "nny"}   one letter per phase: y, n, a (ask), - (none)
//
// Angles are tenths of a degree, as everywhere. Rows and prescriptions written
// out inside a phase are read as well.

type planBare Plan

type planJSON struct {
	planBare
	Phases    []phaseJSON       `json:"phases"`
	Sources   []Source          `json:"sources,omitempty"`
	Rows      []json.RawMessage `json:"rows,omitempty"`
	Exercises []json.RawMessage `json:"exercises,omitempty"`
	Daily     map[string]string `json:"daily,omitempty"`
}

type phaseBare Phase

type phaseJSON struct {
	phaseBare
	Limits        []json.RawMessage `json:"limits,omitempty"`
	Prescriptions []json.RawMessage `json:"prescriptions,omitempty"`
}

// MarshalJSON writes the short form.
func (p Plan) MarshalJSON() ([]byte, error) {
	out := planJSON{planBare: planBare(p)}
	var rows []Limit
	var exercises []Prescription
	for _, ph := range p.Phases {
		x := phaseJSON{phaseBare: phaseBare(ph)}
		for _, l := range ph.Limits {
			l.PassedFrom = 0 // said once, by the plan
			x.Limits = append(x.Limits, number(place(&rows, l)))
		}
		for _, rx := range ph.Prescriptions {
			x.Prescriptions = append(x.Prescriptions, number(place(&exercises, rx)))
		}
		out.Phases = append(out.Phases, x)
	}
	for _, l := range rows {
		var ceiling any
		if !l.Open {
			ceiling = l.Ceiling
		}
		out.Rows = append(out.Rows, tuple(l.Motion, int(l.Class), l.Floor, ceiling, l.ActiveCeil, l.Highest, place(&out.Sources, l.From)))
	}
	for _, x := range exercises {
		d := x.Dose
		out.Exercises = append(out.Exercises, tuple(x.Exercise, x.Motion, d.Hold, d.Reps, d.Rest, d.PerDay, place(&out.Sources, x.From)))
	}
	out.Daily, out.MayI = p.daily()
	return json.Marshal(out)
}

// place returns the place of x in the table, adding it when it is new.
func place[T comparable](table *[]T, x T) int {
	i := slices.Index(*table, x)
	if i < 0 {
		i, *table = len(*table), append(*table, x)
	}
	return i
}

func number(i int) json.RawMessage { return json.RawMessage(strconv.Itoa(i)) }

// tuple writes texts and numbers as one array.
func tuple(values ...any) json.RawMessage {
	b, err := json.Marshal(values)
	if err != nil {
		panic("rom: texts and numbers always encode: " + err.Error())
	}
	return b
}

const dailyLetters = "-nay"

var dailyAnswers = []string{"", "no", "ask", "yes"}

// daily splits the answers into one word per activity and those that do not
// fit it: of an unknown phase, unknown, or given twice.
func (p Plan) daily() (map[string]string, []MayI) {
	words := map[string][]byte{}
	var rest []MayI
	for _, m := range p.MayI {
		i := slices.IndexFunc(p.Phases, func(ph Phase) bool { return ph.Key == m.Phase })
		a := slices.Index(dailyAnswers, m.Answer)
		if i < 0 || a < 1 || (words[m.Activity] != nil && words[m.Activity][i] != '-') {
			rest = append(rest, m)
			continue
		}
		if words[m.Activity] == nil {
			words[m.Activity] = bytes.Repeat([]byte{'-'}, len(p.Phases))
		}
		words[m.Activity][i] = dailyLetters[a]
	}
	out := map[string]string{}
	for act, w := range words {
		out[act] = string(w)
	}
	return out, rest
}

// UnmarshalJSON reads the short form and the long one.
func (p *Plan) UnmarshalJSON(b []byte) error {
	var in planJSON
	if err := json.Unmarshal(b, &in); err != nil {
		return err
	}
	out := Plan(in.planBare)
	out.Phases = nil
	rows := table[Limit]{raw: in.Rows, read: in.row}
	exercises := table[Prescription]{raw: in.Exercises, read: in.exercise}
	for i, x := range in.Phases {
		ph := Phase(x.phaseBare)
		ph.Limits, ph.Prescriptions = nil, nil
		for _, raw := range x.Limits {
			l, err := rows.entry(raw)
			if err != nil {
				return within(fmt.Sprintf("phases[%d]", i), err)
			}
			ph.Limits = append(ph.Limits, l)
		}
		for _, raw := range x.Prescriptions {
			rx, err := exercises.entry(raw)
			if err != nil {
				return within(fmt.Sprintf("phases[%d]", i), err)
			}
			ph.Prescriptions = append(ph.Prescriptions, rx)
		}
		out.Phases = append(out.Phases, ph)
	}
	answers, err := answers(in.Daily, out.Phases)
	if err != nil {
		return err
	}
	out.MayI = append(answers, out.MayI...)
	out.TellPassedFrom()
	*p = out
	return nil
}

// TellPassedFrom repeats the plan's value in each of its rows. Reading a plan does
// it; who makes one otherwise calls it at the end.
func (p *Plan) TellPassedFrom() {
	for i := range p.Phases {
		for j := range p.Phases[i].Limits {
			p.Phases[i].Limits[j].PassedFrom = p.PassedFrom
		}
	}
}

// table has the rows that phases name by their place. Each is read once, when
// it is first named.
type table[T any] struct {
	raw  []json.RawMessage
	read func(json.RawMessage) (T, error)
	got  []*T
}

// entry returns what raw writes out, or names by its place.
func (t *table[T]) entry(raw json.RawMessage) (x T, err error) {
	if len(raw) > 0 && raw[0] == '{' {
		err = json.Unmarshal(raw, &x)
		return x, err
	}
	i, err := strconv.Atoi(string(raw))
	if err != nil || i < 0 || i >= len(t.raw) || raw[0] == '+' {
		return x, invalid("rows", "and exercises must be named by a place that exists")
	}
	if t.got == nil {
		t.got = make([]*T, len(t.raw))
	}
	if t.got[i] == nil {
		if x, err = t.read(t.raw[i]); err != nil {
			return x, err
		}
		t.got[i] = &x
	}
	return *t.got[i], nil
}

func (in planJSON) row(raw json.RawMessage) (l Limit, err error) {
	var class, source int
	var ceiling *Degrees
	if err = untuple(raw, &l.Motion, &class, &l.Floor, &ceiling, &l.ActiveCeil, &l.Highest, &source); err != nil {
		return l, err
	}
	l.Class, l.Open = Class(class), ceiling == nil
	if !l.Open {
		l.Ceiling = *ceiling
	}
	l.From, err = in.source(source)
	return l, err
}

func (in planJSON) exercise(raw json.RawMessage) (x Prescription, err error) {
	var source int
	d := &x.Dose
	if err = untuple(raw, &x.Exercise, &x.Motion, &d.Hold, &d.Reps, &d.Rest, &d.PerDay, &source); err != nil {
		return x, err
	}
	x.From, err = in.source(source)
	return x, err
}

func (in planJSON) source(i int) (Source, error) {
	if i < 0 || i >= len(in.Sources) {
		return Source{}, invalid("sources", "must be named by a place that exists")
	}
	return in.Sources[i], nil
}

// untuple reads an array of exactly as many values as are wanted.
func untuple(raw json.RawMessage, into ...any) error {
	var parts []json.RawMessage
	if err := json.Unmarshal(raw, &parts); err != nil || len(parts) != len(into) {
		return invalid("rows", "and exercises must have seven values each")
	}
	for i, part := range parts {
		if err := json.Unmarshal(part, into[i]); err != nil {
			return invalid("rows", "and exercises must hold a text or a number in each place")
		}
	}
	return nil
}

// answers puts the words of daily back in the order of phases and activities.
func answers(daily map[string]string, phases []Phase) ([]MayI, error) {
	var out []MayI
	acts := slices.Sorted(maps.Keys(daily))
	for i, ph := range phases {
		for _, act := range acts {
			word := daily[act]
			if len(word) != len(phases) {
				return nil, invalid("daily", "must have one letter for each phase")
			}
			a := strings.IndexByte(dailyLetters, word[i])
			if a < 0 {
				return nil, invalid("daily", "must be made of the letters y, n, a and -")
			}
			if a > 0 {
				out = append(out, MayI{Phase: ph.Key, Activity: act, Answer: dailyAnswers[a]})
			}
		}
	}
	return out, nil
}

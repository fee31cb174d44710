package protocol

import (
	"encoding"
	"encoding/json"

	"unsling/engine/rom"
)

// The file form of a protocol is JSON that a clinician can read: days after
// surgery, angles in degrees, one source for each value, written "KEY mark".

// UnmarshalJSON reads the file form. It checks form only; Check checks sense.
func (p *Protocol) UnmarshalJSON(b []byte) error {
	out, _, faults := readFile(b)
	if len(faults) > 0 {
		return &FaultsError{faults}
	}
	*p = out
	return nil
}

// places gives the line of a path, or of the nearest container that has one.
type places map[string]int

func (p places) add(n *node) {
	p[n.path] = n.line
	for _, c := range n.obj {
		p.add(c)
	}
	for _, c := range n.arr {
		p.add(c)
	}
}

func (p places) line(path string) int {
	for path != "" {
		if l, ok := p[path]; ok {
			return l
		}
		i := len(path) - 1
		for i > 0 && path[i] != '.' && path[i] != '[' {
			i--
		}
		path = path[:i]
	}
	return 1
}

func readFile(data []byte) (Protocol, places, []Fault) {
	root, faults := readTree(data)
	if root == nil {
		return Protocol{}, places{}, faults
	}
	at := places{}
	at.add(root)
	r := &fileReader{faults: faults}
	o := r.object(root)
	p := Protocol{
		ID: o.text("id", true), Version: o.integer("version", true),
		Procedure: rom.Procedure(o.text("procedure", true)), Variant: o.text("variant", false),
		Title: o.text("title", true), Draft: o.text("draft", false),
		TherapyPerWeek: o.integer("therapy_per_week", false),
	}
	if p.PassedFrom = o.chance("passed_from"); p.PassedFrom != 0 {
		p.PassedFromSrc = o.source("passed_from_src")
	}
	for _, n := range o.list("phases", true) {
		p.Phases = append(p.Phases, r.phase(n))
	}
	for _, n := range o.list("questions", false) {
		q := r.object(n)
		x := Question{Key: q.text("key", true), From: q.source("src")}
		for _, m := range q.texts("locks") {
			x.Locks = append(x.Locks, rom.Motion(m))
		}
		q.done()
		p.Questions = append(p.Questions, x)
	}
	for _, e := range o.texts("opened") {
		p.Opened = append(p.Opened, rom.ExerciseID(e))
	}
	for _, e := range o.texts("closed") {
		p.Closed = append(p.Closed, rom.ExerciseID(e))
	}
	if n := o.get("adopted", false); n != nil {
		a := r.object(n)
		p.Adopted.By = rom.StaffID(a.text("by", true))
		a.into("on", &p.Adopted.On, true)
		a.done()
	}
	o.done()
	return p, at, r.faults
}

func (r *fileReader) phase(n *node) Phase {
	o := r.object(n)
	var ph Phase
	ph.Key, ph.From, ph.To = o.text("key", true), o.integer("from_day", true), o.integer("to_day", false)
	ph.Basis = o.source("src")
	ph.Sling, ph.SlingFrom = rom.Sling(o.text("sling", true)), o.source("sling_src")
	if g := o.get("gate", false); g != nil {
		gate := r.object(g)
		ph.Gate.Clearance = gate.boolean("clearance")
		ph.Gate.Waived = rom.StaffID(gate.text("waived", false))
		if c := gate.get("review", false); c != nil {
			crit := r.object(c)
			ph.Gate.Review = &rom.Criterion{Motion: rom.Motion(crit.text("m", true)), AtLeast: crit.degrees("at_least", true), From: crit.source("src")}
			crit.done()
		}
		gate.done()
	}
	for _, x := range o.list("limits", true) {
		ph.Limits = append(ph.Limits, r.limit(x))
	}
	if ph.Forbidden = o.texts("forbidden"); len(ph.Forbidden) > 0 {
		ph.ForbiddenFrom = o.source("forbidden_src")
	}
	for _, x := range o.list("exercises", false) {
		e := r.object(x)
		ph.Prescriptions = append(ph.Prescriptions, rom.Prescription{
			Exercise: rom.ExerciseID(e.text("ex", true)), Motion: rom.Motion(e.text("m", false)),
			Dose: rom.Dose{Hold: e.integer("hold", true), Reps: e.integer("reps", true), Rest: e.integer("rest", false), PerDay: e.integer("per_day", true)},
			From: e.source("src"),
		})
		e.done()
	}
	for _, x := range o.list("measures", false) {
		m := r.object(x)
		ph.Measures = append(ph.Measures, rom.MeasureRule{Motion: rom.Motion(m.text("m", true)), PerWeek: m.integer("per_week", true), Trials: m.integer("trials", true)})
		m.done()
	}
	if len(ph.Measures) > 0 {
		ph.MeasuresFrom = o.source("measures_src")
	}
	ph.PainCap, ph.PainFrom = o.integer("pain_cap", true), o.source("pain_src")
	ph.Stretching = o.boolean("stretching")
	o.done()
	return ph
}

func (r *fileReader) limit(n *node) rom.Limit {
	o := r.object(n)
	l := rom.Limit{Motion: rom.Motion(o.text("m", true)), Open: o.boolean("open"), From: o.source("src")}
	o.into("class", &l.Class, true)
	l.Floor, l.ActiveCeil = o.degrees("floor", false), o.degrees("active_ceil", false)
	if h := o.text("highest", false); h != "" {
		level, ok := rom.ParseLevel(h)
		if !ok {
			r.fault(o.n.obj["highest"].line, o.path("highest"), "must be a level such as T12, L3 or sacrum")
		}
		l.Highest = level
	}
	l.Ceiling = o.degrees("ceil", !l.Open && l.Highest == 0)
	if l.Open && o.n.obj["ceil"] != nil {
		r.fault(o.n.obj["ceil"].line, o.path("ceil"), "must be left out of an open row")
	}
	o.done()
	return l
}

// source reads "KEY mark"; a value without one is a fault.
func (o *object) source(key string) rom.Source {
	var s rom.Source
	n := o.get(key, false)
	if n == nil {
		o.r.fault(o.n.line, o.path(key), "is missing: every value names its source and mark")
		return s
	}
	text, _ := n.value.(string)
	if err := s.UnmarshalText([]byte(text)); err != nil || text == "" {
		o.r.fault(n.line, n.path, "must be a source key and one of read, memory, practice, derived, clinic")
	}
	return s
}

// into reads a text into something that knows how.
func (o *object) into(key string, to encoding.TextUnmarshaler, required bool) {
	n := o.get(key, required)
	if n == nil {
		return
	}
	text, ok := n.value.(string)
	if !ok {
		o.r.fault(n.line, n.path, "must be a text in quotes")
		return
	}
	if err := to.UnmarshalText([]byte(text)); err != nil {
		o.r.fault(n.line, n.path, "%v", err)
	}
}

func (o *object) degrees(key string, required bool) rom.Degrees {
	n := o.get(key, required)
	if n == nil {
		return 0
	}
	num, _ := n.value.(json.Number)
	x, err := num.Float64()
	d, ok := rom.FromFloat(x)
	if err != nil || !ok {
		o.r.fault(n.line, n.path, "must be an angle in degrees")
	}
	return d
}

// chance reads a probability in whole percent.
func (o *object) chance(key string) rom.Chance {
	n := o.get(key, false)
	if n == nil {
		return 0
	}
	num, _ := n.value.(json.Number)
	x, err := num.Int64()
	if err != nil || x < 50 || x > 95 {
		o.r.fault(n.line, n.path, "must be a chance between 50 and 95 percent")
		return 0
	}
	return rom.Chance(x)
}

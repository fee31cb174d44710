package review

import (
	"fmt"
	"slices"
	"strings"

	"unsling/engine/rom"
	"unsling/engine/trend"
)

var stiffRules = []Rule{{
	Name: "stiffness", Class: Stiffening, Source: rom.Source{Key: "PARSONS2010+CHUNG2013+SCIREP2022+BRISLIN2007+BACK2014+KELLEY2013", Mark: rom.Read},
	Says: "a published definition of stiffness was met in its own time window, by the clinic's readings or by own readings twice running; it stays until a reading clearly does not meet it, or until a later definition is not met",
	eval: evalStiff,
}}

// judgedByReview are the definitions that make a finding; the others are
// printed by Explain only.
var judgedByReview = []trend.Definition{
	trend.Parsons2010, trend.Chung2013, trend.SciRep2022, trend.Brislin2007, trend.Back2014, trend.Capsulitis,
}

// stand is one definition over the course.
type stand struct {
	now   trend.Verdict // on the day itself
	met   trend.Verdict // the newest time it was met
	on    bool
	once  rom.Date // of the newest reading that met it the time before
	since rom.Date
}

// decided returns the day of the newest reading by which v was met.
func decided(v trend.Verdict) rom.Date {
	var d rom.Date
	for _, in := range v.Inputs {
		if slices.Contains(v.Hits, in.Motion) {
			d = max(d, in.On)
		}
	}
	return d
}

// own reports whether the patient's own readings decided v.
func own(v trend.Verdict) bool {
	return slices.ContainsFunc(v.Inputs, func(in trend.Input) bool { return in.Self && slices.Contains(v.Hits, in.Motion) })
}

// stands replays every definition over the days with readings that it looks
// at, so that one reading about a threshold does not switch it.
func (f *facts) stands() []stand {
	var days []rom.Date
	for _, m := range []rom.Motion{rom.ForwardFlexion, rom.Abduction, rom.ERSide, rom.ER90, rom.IR90, rom.IRSide, rom.HandBehindBack} {
		days = append(days, f.course.Days(m)...)
	}
	slices.Sort(days)
	days = slices.Compact(days)
	if n := len(days); n == 0 || days[n-1] != f.today {
		days = append(days, f.today)
	}
	out := make([]stand, 0, 9)
	for _, v := range f.course.Stiffness() {
		out = append(out, stand{now: v})
	}
	for _, d := range days {
		n := d.Sub(f.e.Surgery)
		if d != f.today && (n < 42 || n < 84 && n > 56 && f.e.Repair()) {
			continue // no definition looks there
		}
		for i, v := range f.course.AsOf(d).Stiffness() {
			s := &out[i]
			switch {
			case v.Answer == trend.Met:
				hit := decided(v)
				if !s.on && (!own(v) || s.once != 0 && hit > s.once) {
					s.on, s.since = true, d
				}
				s.once, s.met = hit, v
			case v.Answer == trend.NotMet:
				s.once = 0
				s.on = s.on && !settles(v, s.met)
			case s.on && settles(v, s.met):
				s.on = false
			}
			// The three-month definitions take over from that of week 6.
			if v.Answer == trend.NotMet && (v.Definition == trend.Chung2013 || v.Definition == trend.SciRep2022) {
				out[0].on = false
			}
		}
	}
	return out
}

// settles reports whether v, which does not meet the definition, says so
// clearly of every motion by which it was met.
func settles(v, met trend.Verdict) bool {
	if !v.Clearly || v.Answer != trend.NotMet && v.Answer != trend.CannotSay {
		return false
	}
	for _, m := range met.Hits {
		if !slices.ContainsFunc(v.Inputs, func(in trend.Input) bool { return in.Motion == m }) {
			return v.Answer == trend.NotMet
		}
	}
	return true
}

func evalStiff(f *facts, r Rule) []judgement {
	var out []judgement
	var on []stand
	for _, s := range f.stands() {
		v := s.now
		j := Line{Rule: r.Name, Class: r.Class, Source: v.Source, Why: string(v.Definition) + ": " + v.Why, Outcome: Quiet}
		for _, in := range v.Inputs {
			j.Inputs = append(j.Inputs, num(string(in.Motion), printed(in)))
		}
		if v.Weak != "" {
			j.Why += " (" + v.Weak + ")"
		}
		ours := slices.Contains(judgedByReview, v.Definition)
		switch {
		case s.on && ours:
			on = append(on, s)
			j.Outcome, j.Key = Fires, "stiffness"
			if v.Answer != trend.Met {
				j.Why += fmt.Sprintf("; still stands since %s: %s", date(s.since), s.met.Why)
			}
		case v.Answer == trend.CannotSay:
			j.Outcome = CannotSay
		case v.Answer == trend.NotInTime:
			j.Outcome = NotApplicable
		case v.Answer == trend.Met:
			j.Why += ": met"
		}
		out = append(out, judgement{line: j})
	}
	if len(on) > 0 {
		x := f.stiffFinding(on)
		j := r.fires(f, x)
		out = append(out, judgement{line: j.line, finding: j.finding})
	}
	return out
}

func printed(in trend.Input) string {
	if in.Motion.ByLevel() {
		return in.Level.String()
	}
	return in.Value.String() + "°"
}

func (f *facts) stiffFinding(on []stand) Finding {
	var names []string
	x := Finding{Key: "stiffness", Owner: Surgeon, Patient: "", Clears: "Readings that clearly do not meet the definition, five degrees beyond it."}
	newest := on[0]
	for _, s := range on {
		names = append(names, string(s.met.Definition))
		if x.Since == 0 || s.since < x.Since {
			x.Since = s.since
		}
		for _, in := range s.met.Inputs {
			if in.On > x.Newest {
				x.Newest, newest = in.On, s
			}
		}
	}
	x.Source = newest.met.Source
	for _, in := range newest.met.Inputs {
		x.Numbers = append(x.Numbers, num(string(in.Motion), printed(in)))
	}
	x.Fingerprint = strings.Join(names, " ")
	x.Staff = fmt.Sprintf("Stiff by %s since %s: %s.", strings.Join(names, ", "), date(x.Since), newest.met.Why)
	switch {
	case f.early():
		x.Severity, x.Due, x.Owner = Watch, NextVisit, Therapist
		x.Fingerprint += " watch"
		x.Staff += " Watch, do not push: joints stiff at six weeks tore less often (MCNAMARA2016, PARSONS2010)."
	case f.release():
		x.Severity, x.Due = Urgent, TwoDays
		x.Staff += " After a release this is the fault to fear."
	default:
		x.Severity, x.Due = Call, TwoDays
	}
	return x
}

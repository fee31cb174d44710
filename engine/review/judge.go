package review

import (
	"slices"

	"unsling/engine/rom"
)

// Rule is one thing that is evaluated.
type Rule struct {
	Name   string
	Class  Class
	Source rom.Source
	// Says is the rule in one sentence.
	Says string
	// planned rules hold before surgery too.
	planned bool
	eval    func(f *facts, r Rule) []judgement
}

// judgement is one evaluation of a rule, with the finding when it fires.
type judgement struct {
	line    Line
	finding *Finding
}

// line starts a judgement of r about a motion, which may be empty.
func (r Rule) line(m rom.Motion, o Outcome, why string, in ...Number) judgement {
	return judgement{line: Line{Rule: r.Name, Class: r.Class, Motion: m, Inputs: in, Outcome: o, Why: why, Source: r.Source}}
}

// fires completes x with what r knows and makes a judgement of it. The
// inputs of the line are the numbers of the finding.
func (r Rule) fires(f *facts, x Finding) judgement {
	x.Episode, x.Rule = f.id, r.Name
	if x.Class == "" {
		x.Class = r.Class
	}
	if x.Source == (rom.Source{}) {
		x.Source = r.Source
	}
	if n := len(x.Records); n > 20 {
		x.Records = x.Records[n-20:]
	}
	j := r.line(x.Motion, Fires, x.Staff, x.Numbers...)
	j.line.Key, j.line.Source, j.line.Class = x.Key, x.Source, x.Class
	j.finding = &x
	return j
}

func judge(h rom.History, ep rom.EpisodeID, day rom.Date, in Inputs) (*facts, []judgement) {
	f, ok := gather(h, ep, day, in)
	if !ok {
		return nil, nil
	}
	var out []judgement
	for _, r := range Rules() {
		switch {
		case f.e.State.Ended():
			out = append(out, r.line("", NotApplicable, "monitoring has ended"))
		case !f.after && !r.planned:
			out = append(out, r.line("", NotApplicable, "the operation has not taken place, or is not confirmed"))
		default:
			got := r.eval(f, r)
			if len(got) == 0 {
				got = []judgement{r.line("", Quiet, "nothing of the kind")}
			}
			out = append(out, got...)
		}
	}
	return f, out
}

// Findings returns what fires for the episode on today, the most pressing
// first. It never panics and never guesses: what cannot be judged gives no
// finding, and Explain says why.
func Findings(h rom.History, ep rom.EpisodeID, today rom.Date, in Inputs) []Finding {
	f, all := judge(h, ep, today, in)
	if f == nil {
		return nil
	}
	var out []Finding
	for _, j := range all {
		if j.finding != nil {
			out = append(out, f.standing(*j.finding))
		}
	}
	out = append(out, f.overdueCalls(out)...)
	slices.SortStableFunc(out, func(a, b Finding) int { return compare(weigh(a), weigh(b)) })
	return out
}

// Explain returns every rule evaluated on day, in the order of Rules.
func Explain(h rom.History, ep rom.EpisodeID, day rom.Date, in Inputs) []Line {
	_, all := judge(h, ep, day, in)
	out := make([]Line, len(all))
	for i, j := range all {
		out[i] = j.line
	}
	return out
}

// Rules lists every rule in the order in which Explain prints them.
func Rules() []Rule {
	return slices.Concat(limitRules, painRules, signRules, stiffRules, lossRules, rotationRules, doseRules, contactRules, dataRules, gateRules)
}

package review

import (
	"fmt"

	"unsling/engine/rom"
	"unsling/engine/schedule"
)

var gateRules = []Rule{{
	Name: "gate", Class: GateReview, Source: rom.Source{Key: "DESIGN", Mark: rom.Derived},
	Says: "the next phase waits for a clearance since its day has come, or the criterion that asks for a review was reached; neither opens anything",
	eval: evalGate,
}}

func evalGate(f *facts, r Rule) []judgement {
	next := f.on.Next
	if next == nil || f.on.State != schedule.Running {
		return []judgement{r.line("", NotApplicable, "no phase is to come, or the plan does not run")}
	}
	in := []Number{num("next phase", next.Phase.Key), num("earliest", date(next.Earliest))}
	x := Finding{
		Key: "gate:" + next.Phase.Key, Severity: Note, Owner: Surgeon, Due: NextVisit, Fingerprint: "waits",
		Clears: "A surgeon clears the phase, or moves its day in the plan.",
	}
	if c := next.Review; c != nil {
		s := f.course.Summary(f.course.Passive(c.Motion))
		in = append(in, num("criterion", fmt.Sprintf("%s at least %s", c.Motion, deg(c.AtLeast))))
		if s.Known && !c.Motion.ByLevel() {
			in = append(in, num("level", deg(s.Now.Mid)))
		}
		if s.Known && !c.Motion.ByLevel() && s.Now.Mid >= c.AtLeast {
			x.Since, x.Newest, x.Motion, x.Source = s.Last, s.Last, c.Motion, c.From
			x.Staff = fmt.Sprintf("%s is %s and meets the criterion of %s to review the next phase; it opens nothing by itself.", first(motion(c.Motion)), deg(s.Now.Mid), deg(c.AtLeast))
			x.Fingerprint = "criterion"
		}
	}
	waits := next.Waits == schedule.ForClearance || next.Waits == schedule.ForBoth
	if late := f.today.Sub(next.Earliest); waits && late >= 0 {
		x.Since, x.Newest = next.Earliest, next.Earliest
		x.Staff = fmt.Sprintf("The next phase waits for clearance since %s (%s).", date(next.Earliest), plural(late, "day", "days"))
		x.Fingerprint = "waits"
		if late >= f.set.ClearanceDays {
			x.Severity, x.Due, x.Fingerprint = Watch, TwoDays, "waits long"
		}
	}
	if x.Staff == "" {
		return []judgement{r.line("", Quiet, "its day has not come and no criterion was met", in...)}
	}
	x.Numbers = in
	j := r.fires(f, x)
	if x.Due == TwoDays {
		j.finding.from = moment{next.Earliest.Add(f.set.ClearanceDays), 0}
	}
	return []judgement{j}
}

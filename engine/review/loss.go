package review

import (
	"fmt"
	"slices"

	"unsling/engine/rom"
	"unsling/engine/trend"
)

var lossRules = []Rule{
	{
		Name: "losing-range", Class: Losing, Source: rom.Source{Key: "PMC6558857", Mark: rom.Derived},
		Says: "a mean of three own days lies more than MDC95 below an earlier one of five, or a clinic's reading that far below each of the two before; one refutes the other where they disagree; it ends when half has come back",
		eval: evalLosing,
	},
	{
		Name: "early-loss-after-release", Class: EarlyLoss, Source: rom.Source{Key: "P13+P17", Mark: rom.Derived},
		Says: "after a release, a mean of three own days lies more than MDC95 below an earlier one of three, or a clinic's reading MDC95 below each of the two before, within the first two weeks",
		eval: evalEarlyLoss,
	},
	{
		Name: "active-falls-passive-stays", Class: RetearSign, Source: rom.Source{Key: "P4", Mark: rom.Derived},
		Says: "after a cuff repair active elevation is really lost while passive elevation of the same time is not",
		eval: evalRetear,
	},
}

// lossMotions are those in which a loss is looked for.
var lossMotions = []rom.Motion{
	rom.ForwardFlexion, rom.Scaption, rom.Abduction, rom.ERSide, rom.ER20, rom.ER90, rom.IRSide, rom.IR90, rom.HandBehindBack,
}

// earlyDays is how long an early loss after a release may begin.
const earlyDays = 14

func evalLosing(f *facts, r Rule) []judgement {
	var out []judgement
	for _, m := range lossMotions {
		l := f.course.LossOf(f.course.Passive(m), false)
		j, known := f.lossLine(r, m, l)
		if !known {
			continue
		}
		if !l.Lost {
			out = append(out, j)
			continue
		}
		if _, soon := f.earlyLoss(m); soon {
			j.line.Why += "; see early loss after a release"
			out = append(out, j)
			continue
		}
		x := f.lossFinding(m, l)
		x.Key, x.Severity, x.Due, x.Owner = "losing:"+string(m), Call, TwoDays, Therapist
		if f.release() {
			x.Severity = Urgent
		}
		if f.early() {
			x.Staff += " Watch, do not push: sudden stiffening can be an infection."
		}
		out = append(out, r.fires(f, x))
	}
	return out
}

func (f *facts) lossLine(r Rule, m rom.Motion, l trend.Loss) (j judgement, known bool) {
	if !l.Known {
		if s := f.course.Summary(f.course.Passive(m)); !s.Known {
			return j, false
		}
		return r.line(m, CannotSay, l.Why), true
	}
	return r.line(m, Quiet, l.Why, lossNumbers(m, l)...), true
}

func lossNumbers(m rom.Motion, l trend.Loss) []Number {
	return []Number{
		num("before", value(m, l.Before)), num("after", value(m, l.After)),
		num("smallest real change", l.MDC.String()), num("to", date(l.To)),
	}
}

func (f *facts) lossFinding(m rom.Motion, l trend.Loss) Finding {
	how := fmt.Sprintf("a mean of %d own days", l.Count)
	if !l.Own {
		how = "measured at the clinic"
	}
	lost := deg(-l.Delta())
	if m.ByLevel() {
		lost = plural(l.Delta().Whole(), "level", "levels")
	}
	return Finding{
		Motion: m, Since: l.Since, Newest: l.To, Numbers: lossNumbers(m, l),
		Fingerprint: fmt.Sprintf("lost since %s, %d tens", l.Since, int(-l.Delta())/100),
		Staff: fmt.Sprintf("%s fell from %s to %s (%s), %s lost, more than measurement error explains.",
			first(motion(m)), value(m, l.Before), value(m, l.After), how, lost),
		Clears: "Half of what was lost has come back.",
	}
}

// earlyLoss is a loss after a release that began in the first two weeks; it
// is told as such for four weeks more.
func (f *facts) earlyLoss(m rom.Motion) (l trend.Loss, soon bool) {
	if !f.e.Has(rom.CapsularRelease) {
		return l, false
	}
	l = f.course.LossOf(f.course.Passive(m), true)
	return l, l.Lost && l.Since <= f.e.Surgery.Add(earlyDays) && f.dayN <= 3*earlyDays
}

func evalEarlyLoss(f *facts, r Rule) []judgement {
	if !f.e.Has(rom.CapsularRelease) {
		return []judgement{r.line("", NotApplicable, "no release was done")}
	}
	var out []judgement
	for _, m := range lossMotions {
		l, soon := f.earlyLoss(m)
		j, known := f.lossLine(r, m, l)
		if !known {
			continue
		}
		if !soon {
			out = append(out, j)
			continue
		}
		x := f.lossFinding(m, l)
		x.Key, x.Severity, x.Due, x.Owner, x.Patient = "early-loss:"+string(m), Urgent, TwoDays, Surgeon, ""
		x.Staff += fmt.Sprintf(" Day %d after a release: the capsule is closing again.", f.dayN)
		out = append(out, r.fires(f, x))
	}
	return out
}

func evalRetear(f *facts, r Rule) []judgement {
	if !slices.ContainsFunc(f.e.Procedures, rom.Procedure.Cuff) {
		return []judgement{r.line("", NotApplicable, "no tendon of the cuff was repaired")}
	}
	var out []judgement
	for _, m := range []rom.Motion{rom.ForwardFlexion, rom.Scaption, rom.Abduction} {
		a := f.course.LossOf(f.course.Active(m), false)
		s := f.course.Summary(f.course.Active(m))
		if !s.Known {
			continue
		}
		if !a.Known {
			out = append(out, r.line(m, CannotSay, "active: "+a.Why))
			continue
		}
		p := f.course.LossOf(f.course.Passive(m), false)
		in := append(lossNumbers(m, a), num("passive", p.Why))
		stays := p.Known && !p.Lost && 2*p.Delta() > -p.MDC
		switch {
		case !a.Lost:
			out = append(out, r.line(m, Quiet, "active: "+a.Why, in...))
			continue
		case !p.Known:
			out = append(out, r.line(m, CannotSay, "active motion fell, but passive motion is not known: "+p.Why, in...))
			continue
		case !stays:
			out = append(out, r.line(m, Quiet, "active motion fell and passive motion with it: "+p.Why, in...))
			continue
		}
		x := f.lossFinding(m, a)
		x.Key, x.Owner, x.Severity, x.Due = "re-tear:"+string(m), Surgeon, Call, TwoDays
		x.Numbers = in
		x.Staff = fmt.Sprintf("Active %s fell from %s to %s while passive stays at %s: think of a re-tear.", motion(m), value(m, a.Before), value(m, a.After), value(m, p.After))
		x.Clears = "A surgeon has examined the shoulder, or half of the active motion has come back."
		j := r.fires(f, x)
		if d, hurt := f.hurtWithin(14); hurt {
			j.finding.Severity, j.finding.Due = Urgent, Today
			j.finding.Fingerprint += " injury"
			j.finding.from = moment{max(d, a.Since), 0}
		}
		out = append(out, j)
	}
	return out
}

// hurtWithin returns the newest day of so many with a report of injury.
func (f *facts) hurtWithin(days int) (rom.Date, bool) {
	for n := range days {
		if d := f.today.Add(-n); f.hurtAbout(d) != "" {
			return d, true
		}
	}
	return 0, false
}

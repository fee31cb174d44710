package review

import (
	"fmt"
	"slices"
	"strings"

	"unsling/engine/gonio"
	"unsling/engine/rom"
	"unsling/engine/verdict"
)

// limitDays is how long a passed limit stands when nobody settles it and it
// does not happen again. Derived.
const limitDays = 28

var limitRules = []Rule{{
	Name: "limit", Class: LimitPassed, Source: rom.Source{Key: "DESIGN", Mark: rom.Derived},
	Says: "a reading or a held angle beyond the limit of its day; passed when the chance that the arm truly was beyond it, by the sets of that hold and all before, is that of the plan (" + rom.DefaultPassedFrom.String() + " unless its protocol says otherwise) or more, likely when it is more likely than not, else near; with a pop, sharp pain or fall at any angle it is broken",
	eval: evalLimits,
}}

func evalLimits(f *facts, r Rule) []judgement {
	var out []judgement
	for _, m := range rom.Motions {
		seen, overs := f.oversOf(m)
		switch {
		case len(overs) > 0:
			out = append(out, f.limitFinding(r, m, overs))
		case seen > 0:
			out = append(out, r.line(m, Quiet, fmt.Sprintf("%s in %d days, none over the limit of its day", plural(seen, "angle", "angles"), limitDays)))
		}
	}
	return out
}

// oversOf returns how many angles of m there were and the sittings over the
// limit of their own day, in order. A later sitting within the limit, on
// another day, takes back what was only near.
func (f *facts) oversOf(m rom.Motion) (seen int, overs []verdict.Sitting) {
	from := f.today.Add(-limitDays)
	for _, s := range verdict.Of(f.h, f.id, m, f.today, f.inForce) {
		if s.Day < from {
			continue
		}
		seen += len(s.Sets)
		if s.Tier != verdict.Within {
			overs = append(overs, s)
			continue
		}
		for n := len(overs); n > 0 && overs[n-1].Tier == verdict.Near && s.Day > overs[n-1].Day; n-- {
			overs = overs[:n-1]
		}
	}
	return seen, overs
}

// said is how a chance of a pass is told in words.
func said(s verdict.Sitting) string {
	word := "close to"
	switch {
	case s.Chance >= 95:
		word = "past"
	case s.Tier == verdict.Passed:
		word = "probably past"
	case s.Tier == verdict.Likely:
		word = "perhaps past"
	}
	limit := deg(s.Limit.Ceiling)
	if s.Limit.Motion.ByLevel() {
		limit = s.Limit.Highest.String()
	}
	return fmt.Sprintf("%s the limit of %s, chance of a pass %s", word, limit, percent(s))
}

func percent(s verdict.Sitting) string { return fmt.Sprintf("%d %%", min(max(s.Chance, 1), 99)) }

// gravest returns the sitting that the finding speaks of: the newest of the
// highest tier.
func gravest(overs []verdict.Sitting) verdict.Sitting {
	rank := func(t verdict.Tier) int {
		return slices.Index([]verdict.Tier{verdict.Within, verdict.Near, verdict.Likely, verdict.Passed}, t)
	}
	out := overs[0]
	for _, s := range overs[1:] {
		if rank(s.Tier) >= rank(out.Tier) {
			out = s
		}
	}
	return out
}

func (f *facts) limitFinding(r Rule, m rom.Motion, overs []verdict.Sitting) judgement {
	x := gravest(overs)
	hurt := ""
	for i := len(overs) - 1; i >= 0 && hurt == ""; i-- {
		if hurt = f.hurtAbout(overs[i].Day); hurt != "" {
			x = overs[i]
		}
	}
	news := x // what speaks up again after an answer: not what is only near
	for _, o := range overs {
		if o.Tier != verdict.Near {
			news = o
		}
	}
	out := Finding{
		Key: "limit:" + string(m), Motion: m, Since: overs[0].Day, Newest: overs[len(overs)-1].Day, Source: x.Limit.From,
		Fingerprint: fmt.Sprintf("%s %s-%d", x.Tier, news.Last().Ref.Author, news.Last().Ref.N),
	}
	days, sets := map[rom.Date]bool{}, 0
	for _, o := range overs {
		days[o.Day] = true
		sets += len(o.Sets)
		for _, y := range o.Sets {
			out.Records = append(out.Records, y.Ref)
		}
	}
	got := deg(x.Angle)
	if m.ByLevel() {
		got = x.Level.String()
	}
	where := fmt.Sprintf("%s, %s", who(x.Last()), date(x.Day))
	switch {
	case x.Limit.Class == rom.Locked:
		out.Staff = fmt.Sprintf("%s reached %s, though the phase does not permit it (%s)", first(motion(m)), got, where)
	case m.ByLevel():
		out.Staff = fmt.Sprintf("%s %s, %s (%s)", first(motion(m)), got, said(x), where)
		out.Numbers = append(out.Numbers, num("limit", x.Limit.Highest), num("chance of a pass", percent(x)))
	default:
		out.Staff = fmt.Sprintf("%s %s, %s (error %s, %s)", first(motion(m)), got, said(x), deg(gonio.ErrorOf(x.SE)), where)
		out.Numbers = append(out.Numbers, num("limit", deg(x.Limit.Ceiling)), num("error", deg(gonio.ErrorOf(x.SE))), num("chance of a pass", percent(x)))
	}
	out.Numbers = append(out.Numbers, num("reading", got), num("sets", sets), num("days over in 28", len(days)))
	if sets > 1 {
		out.Staff += fmt.Sprintf("; %d sets on %s", sets, plural(len(days), "day", "days"))
	}
	out.Staff += "."
	switch {
	case hurt != "":
		out.Class, out.Severity, out.Owner, out.Due = LimitBroken, Urgent, Surgeon, Today
		out.Fingerprint = "broken " + out.Fingerprint
		out.Staff = strings.TrimSuffix(out.Staff, ".") + ", and " + hurt + " was reported within a day of it."
		out.Patient, out.Clears = "session.call-now", "A surgeon has examined or talked to the patient and answers the report in the plan."
	case x.Tier == verdict.Passed:
		out.Class, out.Severity, out.Owner, out.Due = LimitPassed, Urgent, Therapist, Today
		out.Patient, out.Clears = "limit.over", "A clinician has talked to the patient and closes it; without another, it ends 28 days after the last."
	case x.Tier == verdict.Likely:
		out.Class, out.Severity, out.Owner, out.Due = LimitLikely, Call, Therapist, TwoDays
		out.Patient, out.Clears = "limit.likely", "A clinician has talked to the patient and closes it; without another, it ends 28 days after the last."
	default:
		out.Class, out.Severity, out.Owner, out.Due = LimitNear, Note, Therapist, NextVisit
		out.Patient, out.Clears = "limit.close", "A reading within the limit on another day."
	}
	j := r.fires(f, out)
	j.finding.from = moment{news.Day, news.Minute}
	return j
}

// who says where a set comes from.
func who(x verdict.Set) string {
	switch {
	case x.Held:
		return "held angle"
	case x.Clinic:
		return "clinic reading"
	}
	return "own reading"
}

// hurtAbout names a report of injury within a day of d.
func (f *facts) hurtAbout(d rom.Date) string {
	near := func(x rom.Date) bool { return x >= d.Add(-1) && x <= d.Add(1) }
	for _, s := range f.h.Signs {
		if (s.Body.Episode == f.id || s.Body.Episode == "") && near(f.when(s.Meta).day) && (s.Body.Sign == rom.SignPop || s.Body.Sign == rom.SignFall) {
			return signNames[s.Body.Sign]
		}
	}
	for _, s := range f.h.Sessions {
		if s.Body.Episode == f.id && near(s.Day()) && s.Body.Stop == rom.StopWrong {
			return "a session stopped because something was wrong"
		}
	}
	return ""
}

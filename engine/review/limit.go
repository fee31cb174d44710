package review

import (
	"fmt"
	"strings"

	"unsling/engine/gonio"
	"unsling/engine/rom"
)

// limitDays is how long a passed limit stands when nobody settles it and it
// does not happen again. Derived.
const limitDays = 28

var limitRules = []Rule{{
	Name: "limit", Class: LimitPassed, Source: rom.Source{Key: "DESIGN", Mark: rom.Derived},
	Says: "a reading or a held angle beyond the phase's limit: once and by no more than the plan's margin (1 standard error unless its protocol says otherwise) is near; beyond the margin, or over twice running, is passed; with a pop, sharp pain or fall at any angle it is broken",
	eval: evalLimits,
}}

// over is one angle over a limit.
type over struct {
	ref    rom.Ref
	day    rom.Date
	minute int
	rev    int // plan revision followed then, 0 if not known
	tier   gonio.Tier
	angle  rom.Degrees
	level  rom.Level
	se     rom.Degrees
	limit  rom.Limit
	who    string
}

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

// oversOf returns how many angles of m there were and those over the limit of
// their own day, in order. A later angle within the limit, on another day,
// takes back what was only near.
func (f *facts) oversOf(m rom.Motion) (seen int, overs []over) {
	from := max(f.today.Add(-limitDays), f.e.Surgery)
	for _, x := range f.anglesOf(m, from) {
		l, ok := f.limitOn(x.day, x.rev, m, x.class)
		if x.clinic && (!ok || l.Class == rom.Locked) {
			continue // a clinician examines what the patient may not do
		}
		seen++
		if !x.clinic && l.Class < x.class {
			l.Class = rom.Locked // active movement where only passive is permitted
		}
		x.limit = l
		if m.ByLevel() {
			x.tier = gonio.JudgeLevel(x.level, l, len(overs))
		} else {
			x.tier = gonio.Judge(x.angle, x.se, l, len(overs))
			worst, farthest := gonio.JudgeTrials(x.trials, x.method, l, len(overs))
			if gonio.Worst(x.tier, worst) != x.tier {
				x.tier, x.angle, x.se = worst, farthest, x.method
			}
		}
		if x.tier != gonio.Within {
			overs = append(overs, x.over)
			continue
		}
		if n := len(overs); n > 0 && overs[n-1].tier == gonio.Close && x.day > overs[n-1].day {
			overs = overs[:n-1]
		}
	}
	return seen, overs
}

type angle struct {
	over
	class  rom.Class
	clinic bool
	trials []rom.Trial // of an own reading
	method rom.Degrees // the error of one trial
}

// measuredIn names one angle of a session, which stands in its reading and
// again in its hold.
type measuredIn struct {
	session rom.SessionID
	angle   rom.Degrees
}

// anglesOf returns readings and held angles of the operated arm from a day on
// in order of time.
func (f *facts) anglesOf(m rom.Motion, from rom.Date) []angle {
	var out []angle
	read := map[measuredIn]bool{}
	for _, e := range f.h.Readings {
		b := e.Body
		if b.Episode != f.id || b.Motion != m || b.Side != f.e.Side || b.Baseline || b.Anaesthetic || b.Method == rom.Eye || b.Validate() != nil {
			continue
		}
		d := b.On
		if d.IsZero() {
			d = e.Day()
		}
		if d < from || d > f.today {
			continue
		}
		who, rater := "own reading", gonio.Self
		if !b.Self() {
			who, rater = "clinic reading", gonio.SameClinician
		}
		x := angle{class: b.Class, clinic: !b.Self()}
		x.over = over{ref: e.Ref, day: d, minute: minuteOf(e.Meta), rev: e.Rev, angle: b.Angle, level: b.Level, se: b.SE, who: who}
		if row, ok := gonio.SEMFor(b.Method, m, rater); ok {
			x.se = max(x.se, row.SEM)
			if b.Self() {
				x.trials, x.method = b.Trials, row.SEM
			}
		}
		if b.Session != "" {
			read[measuredIn{b.Session, b.Angle}] = true
		}
		out = append(out, x)
	}
	for _, s := range f.sessionsSince(from) {
		if x, ok := heldAngle(s, m); ok && !read[measuredIn{s.Body.ID, x.angle}] {
			out = append(out, x)
		}
	}
	sortByTime(out)
	return out
}

// heldSE is the error of an angle held in a session: that of any reading of
// the patient's own, by picture or tilt (gonio.SEMs). Derived.
const heldSE = rom.Degrees(70)

// heldAngle is the farthest angle held in one session.
func heldAngle(s session, m rom.Motion) (x angle, ok bool) {
	for _, it := range s.Body.Items {
		if it.Motion != m || m.ByLevel() {
			continue
		}
		for _, h := range it.Holds {
			if h.Angle != nil && (!ok || *h.Angle > x.angle) {
				x.angle, ok = *h.Angle, true
			}
		}
	}
	x.class = rom.Passive
	x.ref, x.day, x.minute, x.rev, x.who = s.Ref, s.day, minuteOf(s.Meta), s.Rev, "held angle"
	x.se = heldSE
	return x, ok
}

func (f *facts) limitFinding(r Rule, m rom.Motion, overs []over) judgement {
	x := overs[len(overs)-1]
	out := Finding{
		Key: "limit:" + string(m), Motion: m, Since: overs[0].day, Newest: x.day, Source: x.limit.From,
		Fingerprint: fmt.Sprintf("%s %s-%d", x.tier, x.ref.Author, x.ref.N),
	}
	for _, o := range overs {
		out.Records = append(out.Records, o.ref)
	}
	got := deg(x.angle)
	by := ""
	switch {
	case x.limit.Class == rom.Locked:
		by = "though the phase does not permit it"
	case m.ByLevel():
		by = "above the limit of " + x.limit.Highest.String()
	default:
		by = fmt.Sprintf("%s over the limit of %s, error %s", deg(x.angle-x.limit.Ceiling), deg(x.limit.Ceiling), deg(gonio.ErrorOf(x.se)))
		out.Numbers = append(out.Numbers, num("limit", deg(x.limit.Ceiling)), num("error", deg(gonio.ErrorOf(x.se))), num("clearly over from", deg(x.limit.Ceiling+gonio.MarginOf(x.limit, x.se))))
	}
	if m.ByLevel() {
		got = x.level.String()
	}
	out.Numbers = append(out.Numbers, num("reading", got), num("times over in 28 days", len(overs)))
	out.Staff = fmt.Sprintf("%s reached %s, %s (%s, %s)", first(motion(m)), got, by, x.who, date(x.day))
	if len(overs) > 1 {
		out.Staff += fmt.Sprintf("; %d times in %d days", len(overs), limitDays)
	}
	out.Staff += "."
	if hurt := f.hurtAbout(x.day); hurt != "" {
		out.Class, out.Severity, out.Owner, out.Due = LimitBroken, Urgent, Surgeon, Today
		out.Fingerprint = "broken " + out.Fingerprint
		out.Staff = strings.TrimSuffix(out.Staff, ".") + ", and " + hurt + " was reported within a day of it."
		out.Patient, out.Clears = "session.call-now", "A surgeon has examined or talked to the patient and answers the report in the plan."
	} else if x.tier == gonio.Over {
		out.Class, out.Severity, out.Owner, out.Due = LimitPassed, Urgent, Therapist, Today
		out.Patient, out.Clears = "limit.over", "A clinician has talked to the patient and closes it; without another, it ends 28 days after the last."
	} else {
		out.Class, out.Severity, out.Owner, out.Due = LimitNear, Note, Therapist, NextVisit
		out.Patient, out.Clears = "limit.close", "A reading within the limit on another day."
	}
	j := r.fires(f, out)
	j.finding.from = moment{x.day, x.minute}
	return j
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

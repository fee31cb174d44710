package review

import (
	"fmt"

	"unsling/engine/rom"
	"unsling/engine/schedule"
)

var contactRules = []Rule{
	{
		Name: "silence", Class: Silent, Source: rom.Source{Key: "DESIGN", Mark: rom.Derived},
		Says: "no phone of the patient has been in contact for the clinic's number of days (default 4)",
		eval: evalSilent,
	},
	{
		Name: "plan-on-the-phone", Class: PlanNotThere, Source: rom.Source{Key: "DESIGN", Mark: rom.Derived},
		Says: "the newest revision of the plan is not on a phone: at once for a stop or a narrower limit, after 14 days otherwise",
		eval: evalPlanThere,
	},
}

func evalSilent(f *facts, r Rule) []judgement {
	switch f.on.State {
	case schedule.Running, schedule.Paused, schedule.Stopped, schedule.Halted:
	default:
		return []judgement{r.line("", NotApplicable, "the programme does not run")}
	}
	if len(f.in.Phones) > 0 && len(f.phones()) == 0 {
		return []judgement{r.fires(f, Finding{
			Key: "silent", Since: f.today, Newest: f.today, Severity: Call, Owner: Assistant, Due: TwoDays, Fingerprint: "no phone",
			Staff: "No phone of this patient is in use: all were taken out of service.", Clears: "A phone is enrolled.",
		})}
	}
	last, since := f.contact, f.contact
	if last == 0 {
		last = max(f.e.Surgery, f.enrolled())
		for _, p := range f.phones() {
			last = max(last, p.Since)
		}
		since = last
	}
	n := f.today.Sub(last)
	in := []Number{num("days without contact", n), num("days allowed", f.set.SilentDays)}
	if n < f.set.SilentDays {
		return []judgement{r.line("", Quiet, fmt.Sprintf("contact %s ago", plural(n, "day", "days")), in...)}
	}
	x := Finding{
		Key: "silent", Since: since.Add(f.set.SilentDays), Newest: since, Severity: Call, Owner: Assistant, Due: TwoDays, Numbers: in,
		Staff:  fmt.Sprintf("No news for %d days, the last on %s; what was done since is not known.", n, date(since)),
		Clears: "The phone makes contact.", Fingerprint: "since " + since.String(),
	}
	if f.contact == 0 {
		x.Staff = fmt.Sprintf("The phone has never been in contact in %d days.", n)
		if len(f.phones()) == 0 {
			x.Staff = fmt.Sprintf("No phone has been enrolled in %d days.", n)
		}
	}
	if n >= 14 {
		x.Fingerprint += " two weeks"
		x.Due = Today
		x.Staff += " The plan on the phone may be old."
	}
	j := r.fires(f, x)
	if n >= 14 {
		j.finding.from = moment{last.Add(14), 0}
	}
	return []judgement{j}
}

// enrolled is the day on which the clinic wrote this episode down, 0 if it is
// not known: somebody who comes weeks after the operation was not silent before.
func (f *facts) enrolled() (d rom.Date) {
	for _, e := range f.h.Episodes {
		if e.Body.ID == f.id && (d == 0 || e.Day() < d) {
			d = e.Day()
		}
	}
	return d
}

// follows is the newest revision of this episode that a phone is known to
// follow.
func (f *facts) follows(p Phone) int {
	rev := p.Following
	for _, a := range f.h.Adoptions {
		if a.Ref.Author == p.Author && a.Body.Episode == f.id {
			rev = max(rev, a.Body.Rev)
		}
	}
	return rev
}

func evalPlanThere(f *facts, r Rule) []judgement {
	if f.plan.Rev == 0 {
		return []judgement{r.line("", NotApplicable, "there is no plan")}
	}
	phones := f.phones()
	if len(phones) == 0 {
		return []judgement{r.line("", CannotSay, "the server told of no phone")}
	}
	written := moment{f.plan.On, 0}
	for _, p := range f.h.Plans {
		if p.Body.Episode == f.id && p.Body.Rev == f.plan.Rev {
			written = moment{p.Day(), minuteOf(p.Meta)}
		}
	}
	behind, narrower, has := 0, false, 0
	for _, p := range phones {
		rev := f.follows(p)
		if rev >= f.plan.Rev || (p.Contact == 0 && rev == 0) {
			continue
		}
		behind++
		has = rev
		was, ok := f.h.PlanAt(f.id, rev)
		if ok && f.narrowsSince(was) {
			narrower = true
		}
	}
	in := []Number{num("newest revision", f.plan.Rev), num("phones behind", behind)}
	age := f.today.Sub(written.day)
	switch {
	case behind == 0:
		return []judgement{r.line("", Quiet, fmt.Sprintf("revision %d is on the phone", f.plan.Rev), in...)}
	case !narrower && age < f.set.UnconfirmedDays:
		return []judgement{r.line("", Quiet, fmt.Sprintf("revision %d is on its way since %s and narrows nothing", f.plan.Rev, date(written.day)), in...)}
	}
	x := Finding{
		Key: "plan-not-there", Since: written.day, Newest: written.day, Numbers: append(in, num("on the phone", has)),
		Fingerprint: fmt.Sprintf("rev %d", f.plan.Rev), Clears: "The phone follows the revision, or the patient has been told by telephone.",
	}
	what := "a narrower plan"
	if f.plan.State != rom.Running {
		what = "a plan that is " + string(f.plan.State)
	}
	if narrower {
		x.Severity, x.Owner, x.Due = Urgent, Assistant, Today
		x.Staff = fmt.Sprintf("Revision %d of %s, %s, is NOT on the phone yet (it follows %d): call and tell.", f.plan.Rev, date(written.day), what, has)
	} else {
		x.Class, x.Severity, x.Owner, x.Due = PlanOld, Watch, Assistant, TwoDays
		x.Staff = fmt.Sprintf("Revision %d of %s is not on the phone after %d days.", f.plan.Rev, date(written.day), age)
	}
	j := r.fires(f, x)
	j.finding.from = written
	if !narrower {
		j.finding.from = moment{written.day.Add(f.set.UnconfirmedDays), 0}
	}
	return []judgement{j}
}

// narrowsSince reports whether the newest revision permits less than was. What
// was narrowed and widened again in between is no reason to ring.
func (f *facts) narrowsSince(was rom.Plan) bool { return f.plan.Narrows(was) }

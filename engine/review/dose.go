package review

import (
	"fmt"
	"slices"

	"unsling/engine/dose"
	"unsling/engine/rom"
	"unsling/engine/schedule"
)

var doseRules = []Rule{
	{
		Name: "too-much", Class: TooMuch, Source: rom.Source{Key: "DESIGN", Mark: rom.Derived},
		Says: "after a repair, sessions beyond those asked on three of seven days, or half again as many repetitions in a week; it ends with one such day or none",
		eval: evalTooMuch,
	},
	{
		Name: "while-stopped", Class: TooMuch, Source: rom.Source{Key: "DESIGN", Mark: rom.Derived},
		Says: "a session was done on a day on which the plan was stopped or paused from its beginning",
		eval: evalWhileStopped,
	},
	{
		Name: "too-little", Class: TooLittle, Source: rom.Source{Key: "AHMAD2015", Mark: rom.Derived},
		Says: "less than half of what was asked in seven known days; it ends at 65 %",
		eval: evalTooLittle,
	},
	{
		Name: "afraid", Class: Afraid, Source: rom.Source{Key: "DESIGN", Mark: rom.Derived},
		Says: "exercises were left out for fear in two sessions of a week; it ends after a week without",
		eval: evalAfraid,
	},
}

// weekTo returns the days that asked something and are known in full among
// the seven that end with the i-th.
func (f *facts) weekTo(i int) []dose.Day {
	var out []dose.Day
	for _, d := range f.doses[max(i-6, 0) : i+1] {
		if d.Known && d.Asked && !d.Partial {
			out = append(out, d)
		}
	}
	return out
}

// lastKnown trims the days of which nobody knows yet from the end.
func (f *facts) lastKnown() int {
	n := len(f.doses)
	for n > 0 && !f.doses[n-1].Known {
		n--
	}
	return n
}

func extra(week []dose.Day) (days, counted, due int) {
	for _, d := range week {
		if d.Extra > 0 {
			days++
		}
		counted += d.Counted
		due += d.CountedDue
	}
	return days, counted, due
}

func evalTooMuch(f *facts, r Rule) []judgement {
	if !f.e.Repair() {
		return []judgement{r.line("", NotApplicable, "nothing was sutured")}
	}
	n := f.lastKnown()
	if n == 0 {
		return []judgement{r.line("", CannotSay, "no day of the programme is known")}
	}
	beyond := func(i int) bool {
		w := f.weekTo(i)
		days, counted, due := extra(w)
		return days >= 3 || len(w) >= 5 && due > 0 && 2*counted >= 3*due
	}
	too, since := held(n, beyond, func(i int) bool {
		days, counted, due := extra(f.weekTo(i))
		return days <= 1 && 5*counted < 6*max(due, 1)
	})
	days, counted, due := extra(f.weekTo(n - 1))
	in := []Number{num("days with extra sessions, of seven", days), num("repetitions done", counted), num("repetitions asked", due)}
	if !too {
		return []judgement{r.line("", Quiet, fmt.Sprintf("%s with extra sessions, %d of %d repetitions", plural(days, "day", "days"), counted, due), in...)}
	}
	x := Finding{
		Key: "too-much", Since: f.doses[since].Date, Newest: f.doses[n-1].Date, Severity: Watch, Owner: Therapist, Due: TwoDays, Numbers: in,
		Fingerprint: "since " + f.doses[since].Date.String(), Patient: "session.done",
		Staff:  fmt.Sprintf("Did more than asked: extra sessions on %d of seven days, %d repetitions where %d were asked.", days, counted, due),
		Clears: "A week with one day of extra sessions at most.",
	}
	if f.dayN < 42 {
		x.Severity = Call
	}
	return []judgement{r.fires(f, x)}
}

func evalWhileStopped(f *facts, r Rule) []judgement {
	shut := func(s schedule.State) bool {
		return s == schedule.Stopped || s == schedule.Paused || s == schedule.Halted
	}
	var list []session
	for _, s := range f.sessionsSince(f.today.Add(-7)) {
		if s.Body.Counted() > 0 && !s.Body.Therapist && shut(f.dayOn(s.day).State) && shut(f.dayOn(s.day.Add(-1)).State) {
			list = append(list, s)
		}
	}
	if len(list) == 0 {
		return nil
	}
	last := list[len(list)-1]
	x := Finding{
		Key: "while-stopped", Since: list[0].day, Newest: last.day, Severity: Urgent, Owner: Therapist, Due: Today,
		Fingerprint: fmt.Sprintf("%s-%d", last.Ref.Author, last.Ref.N), Patient: "session.by-clinic",
		Staff:   fmt.Sprintf("%s done although the plan was stopped or paused, the newest on %s.", first(plural(len(list), "session was", "sessions were")), date(last.day)),
		Clears:  "A clinician has talked to the patient.",
		Numbers: []Number{num("sessions", len(list))},
	}
	for _, s := range list {
		x.Records = append(x.Records, s.Ref)
	}
	j := r.fires(f, x)
	j.finding.from = moment{last.day, minuteOf(last.Meta)}
	return []judgement{j}
}

func evalTooLittle(f *facts, r Rule) []judgement {
	n := f.lastKnown()
	share := func(i int) (percent, days int, ok bool) {
		w := f.weekTo(i)
		a := dose.Adhere(w)
		return a.Percent, len(w), a.OK && len(w) >= 5
	}
	if n == 0 {
		return []judgement{r.line("", CannotSay, "no day of the programme is known")}
	}
	percent, days, ok := share(n - 1)
	little, since := held(n,
		func(i int) bool { p, _, ok := share(i); return ok && p < 50 },
		func(i int) bool { p, _, ok := share(i); return ok && p >= 65 })
	in := []Number{num("done of what was asked", fmt.Sprintf("%d %%", percent)), num("known days of seven", days)}
	switch {
	case !ok && !little:
		return []judgement{r.line("", CannotSay, fmt.Sprintf("needs five known days of seven that ask something; there are %d", days), in...)}
	case !little:
		return []judgement{r.line("", Quiet, fmt.Sprintf("%d %% in %s", percent, plural(days, "day", "days")), in...)}
	}
	x := Finding{
		Key: "too-little", Since: f.doses[since].Date, Newest: f.doses[n-1].Date, Severity: Watch, Owner: Assistant, Due: TwoDays, Numbers: in,
		Fingerprint: "since " + f.doses[since].Date.String(),
		Staff:       fmt.Sprintf("Did %d %% of what was asked in the last %s that are known.", percent, plural(days, "day", "days")),
		Clears:      "A week with 65 % or more.",
	}
	if f.release() {
		x.Severity, x.Owner = Call, Therapist
		x.Staff += " After a release, doing too little is the fault to fear."
	}
	return []judgement{r.fires(f, x)}
}

func evalAfraid(f *facts, r Rule) []judgement {
	list := f.sessionsSince(f.today.Add(-painDays))
	if len(list) == 0 {
		return []judgement{r.line("", CannotSay, "no sessions")}
	}
	afraid := func(s session) bool {
		return slices.ContainsFunc(s.Body.Items, func(it rom.SessionItem) bool { return it.Skipped == rom.SkipAfraid })
	}
	count := func(to rom.Date) (n int) {
		for _, s := range list {
			if s.day > to.Add(-7) && s.day <= to && afraid(s) {
				n++
			}
		}
		return n
	}
	from := list[0].day
	on, since := held(f.today.Sub(from)+1,
		func(i int) bool { return count(from.Add(i)) >= 2 },
		func(i int) bool { return count(from.Add(i)) == 0 })
	n := count(f.today)
	in := num("sessions in seven days with something left out for fear", n)
	if !on {
		return []judgement{r.line("", Quiet, plural(n, "session", "sessions")+" with something left out for fear", in)}
	}
	x := Finding{
		Key: "afraid", Since: from.Add(since), Newest: list[len(list)-1].day, Severity: Watch, Owner: Therapist, Due: TwoDays,
		Fingerprint: "since " + from.Add(since).String(), Numbers: []Number{in},
		Staff:  fmt.Sprintf("Left exercises out for fear in %s of the last seven days.", plural(n, "session", "sessions")),
		Clears: "A week in which nothing is left out for fear.",
	}
	if f.release() {
		x.Severity = Call
	}
	return []judgement{r.fires(f, x)}
}

package review

import (
	"fmt"

	"unsling/engine/rom"
)

var painRules = []Rule{
	{
		Name: "pain-in-exercise", Class: PainRule, Source: rom.Source{Key: "P25+P26", Mark: rom.Practice},
		Says: "pain above the phase's cap in two of the last five sessions, or three above it in one; it ends after five sessions within the cap",
		eval: evalPain,
	},
	{
		Name: "pain-next-day", Class: PainRule, Source: rom.Source{Key: "P27", Mark: rom.Practice},
		Says: "pain the day after two or more above that before the session, twice within a week",
		eval: evalNextDay,
	},
	{
		Name: "pain-rising", Class: PainRule, Source: rom.Source{Key: "KIM2020", Mark: rom.Derived},
		Says: "from day 10 on, mean pain at rest and at night of three days is two or more above that of the week before (smallest important change 1.5); it ends below one",
		eval: evalRising,
	},
}

const painDays = 28 // how far the pain rules look back

// worstOf is the highest pain of one session during or after it; -1 for none.
func worstOf(s session) int {
	w := -1
	for _, p := range []*int{s.Body.Worst, s.Body.After} {
		if p != nil {
			w = max(w, *p)
		}
	}
	return w
}

func evalPain(f *facts, r Rule) []judgement {
	var list []session
	for _, s := range f.sessionsSince(f.today.Add(-painDays)) {
		if worstOf(s) >= 0 {
			list = append(list, s)
		}
	}
	if len(list) == 0 {
		return []judgement{r.line("", CannotSay, fmt.Sprintf("no pain was given with a session in %d days", painDays))}
	}
	above := func(s session) int { return worstOf(s) - f.painCap(s) }
	count := func(i int) (n int, far bool) {
		for _, s := range list[max(i-4, 0) : i+1] {
			if above(s) > 0 {
				n++
			}
			far = far || above(s) >= 3
		}
		return n, far
	}
	on, since := held(len(list),
		func(i int) bool { n, far := count(i); return n >= 2 || far },
		func(i int) bool { n, _ := count(i); return n == 0 })
	n, far := count(len(list) - 1)
	last := list[len(list)-1]
	in := []Number{num("sessions above the cap, of the last five", n), num("cap", f.painCap(last))}
	if !on {
		return []judgement{r.line("", Quiet, fmt.Sprintf("%s of the last five above the cap of %d", plural(n, "session", "sessions"), f.painCap(last)), in...)}
	}
	worst, at := 0, last
	var refs []rom.Ref
	for _, s := range list[since:] {
		if above(s) > 0 {
			refs = append(refs, s.Ref)
			at = s
			worst = max(worst, worstOf(s))
		}
	}
	x := Finding{
		Key: "pain", Since: list[since].day, Newest: at.day, Severity: Call, Owner: Therapist, Due: TwoDays, Records: refs,
		Fingerprint: fmt.Sprintf("cap since %s worst %d", list[since].day, worst),
		Staff:       fmt.Sprintf("Pain reached %d of 10 in exercise, above the cap of %d, in %d of the last five sessions.", worst, f.painCap(at), n),
		Patient:     "session.pain-stop", Numbers: append(in, num("worst", worst)),
		Clears: "Five sessions in a row within the cap.",
	}
	if far && n > 0 {
		x.Severity, x.Due = Urgent, Today
	}
	return []judgement{r.fires(f, x)}
}

func evalNextDay(f *facts, r Rule) []judgement {
	from := f.today.Add(-7)
	before := map[rom.Date]int{}
	for _, s := range f.sessionsSince(from.Add(-1)) {
		if s.Body.Before != nil {
			if b, ok := before[s.day]; !ok || *s.Body.Before < b {
				before[s.day] = *s.Body.Before
			}
		}
	}
	seen, worse := 0, 0
	var newest rom.Entry[rom.Pain]
	var refs []rom.Ref
	for _, p := range f.h.Pains {
		if p.Body.Episode != f.id || p.Body.When != rom.PainNextDay || p.Day() <= from || p.Day() > f.today {
			continue
		}
		b, ok := before[p.Day().Add(-1)]
		if !ok {
			continue
		}
		seen++
		if p.Body.Score >= b+2 {
			worse++
			newest, refs = p, append(refs, p.Ref)
		}
	}
	in := []Number{num("next-day scores", seen), num("worse by 2 or more", worse)}
	switch {
	case seen == 0:
		return []judgement{r.line("", CannotSay, "no pain of the next day beside one before a session in a week")}
	case worse < 2:
		return []judgement{r.line("", Quiet, fmt.Sprintf("worse on the next day %d of %d times", worse, seen), in...)}
	}
	return []judgement{r.fires(f, Finding{
		Key: "pain-next-day", Since: newest.Day(), Newest: newest.Day(), Severity: Watch, Owner: Therapist, Due: TwoDays, Records: refs,
		Fingerprint: fmt.Sprintf("worse %d by %s", worse, newest.Day()),
		Staff:       fmt.Sprintf("Pain on the day after exercise was worse by 2 or more %d of %d times in a week.", worse, seen),
		Numbers:     in, Clears: "A week with less than two such days.",
	})}
}

func evalRising(f *facts, r Rule) []judgement {
	if f.dayN < 10 {
		return []judgement{r.line("", NotApplicable, "the first days after surgery are left out")}
	}
	mean := func(from, to rom.Date) (float64, int) {
		sum, n := 0, 0
		for _, p := range f.h.Pains {
			if p.Body.Episode == f.id && (p.Body.When == rom.PainAtRest || p.Body.When == rom.PainAtNight) && p.Day() >= from && p.Day() <= to && p.Body.Validate() == nil {
				sum, n = sum+p.Body.Score, n+1
			}
		}
		if n == 0 {
			return 0, 0
		}
		return float64(sum) / float64(n), n
	}
	// The last two weeks, day by day: entered at 2, left below 1.
	rise := func(day rom.Date) (now, was float64, ok bool) {
		now, n := mean(day.Add(-2), day)
		was, m := mean(max(day.Add(-9), f.e.Surgery.Add(3)), day.Add(-3))
		return now, was, n >= 2 && m >= 3
	}
	now, was, ok := rise(f.today)
	from := max(f.today.Add(-14), f.e.Surgery.Add(10))
	on, since := held(f.today.Sub(from)+1,
		func(i int) bool { now, was, ok := rise(from.Add(i)); return ok && now-was >= 2 },
		func(i int) bool { now, was, ok := rise(from.Add(i)); return ok && now-was < 1 })
	in := []Number{num("mean of three days", fmt.Sprintf("%.1f", now)), num("mean of the week before", fmt.Sprintf("%.1f", was))}
	switch {
	case !ok && !on:
		return []judgement{r.line("", CannotSay, "needs two scores at rest in three days and three in the week before", in...)}
	case !on:
		return []judgement{r.line("", Quiet, fmt.Sprintf("pain at rest %.1f against %.1f", now, was), in...)}
	}
	began := from.Add(since)
	now, was, _ = rise(began)
	return []judgement{r.fires(f, Finding{
		Key: "pain-rising", Since: began, Newest: began, Severity: Urgent, Owner: Surgeon, Due: Today,
		Fingerprint: "rising since " + began.String(),
		Staff:       fmt.Sprintf("Pain at rest rose from a mean of %.1f to %.1f by %s: think of infection, of the repair and of medicine that ended.", was, now, date(began)),
		Numbers:     in, Clears: "Three days less than one above the week before.",
	})}
}

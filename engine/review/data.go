package review

import (
	"fmt"
	"strings"
	"time"

	"unsling/engine/rom"
)

var dataRules = []Rule{
	{
		Name: "clock", Class: ClockWrong, Source: rom.Source{Key: "DESIGN", Mark: rom.Derived}, planned: true,
		Says: "a phone's clock was off by the clinic's number of minutes (default 10) at its last contact, or a record is dated after today",
		eval: evalClock,
	},
	{
		Name: "damaged-data", Class: Damaged, Source: rom.Source{Key: "DESIGN", Mark: rom.Derived}, planned: true,
		Says: "records are damaged, held back, or of two phones under one name",
		eval: evalDamaged,
	},
	{
		Name: "side", Class: SideMismatch, Source: rom.Source{Key: "DESIGN", Mark: rom.Derived}, planned: true,
		Says: "the shoulder that the patient tapped is not that of the episode",
		eval: evalSide,
	},
}

func evalClock(f *facts, r Rule) []judgement {
	var worst time.Duration
	for _, p := range f.phones() {
		if p.ClockAhead.Abs() > worst.Abs() {
			worst = p.ClockAhead
		}
	}
	future := 0
	var refs []rom.Ref
	ahead := func(m rom.Meta) {
		if !m.Ref.Author.FromClinic() && m.Day() > max(f.today, f.contact).Add(1) {
			future++
			refs = append(refs, m.Ref)
		}
	}
	for _, e := range f.h.Sessions {
		ahead(e.Meta)
	}
	for _, e := range f.h.Readings {
		ahead(e.Meta)
	}
	for _, e := range f.h.Signs {
		ahead(e.Meta)
	}
	minutes := int(worst.Abs().Minutes())
	in := []Number{num("minutes off", minutes), num("records dated in the future", future)}
	if minutes < f.set.ClockMinutes && future == 0 {
		return []judgement{r.line("", Quiet, fmt.Sprintf("%d minutes off at the last contact", minutes), in...)}
	}
	x := Finding{
		Key: "clock", Since: f.today, Newest: f.today, Severity: Note, Owner: Assistant, Due: NextVisit, Numbers: in, Records: refs,
		Fingerprint: "clock", Clears: "The phone's clock is set right; its records keep the order in which they were written.",
	}
	switch {
	case future > 0:
		x.Staff = fmt.Sprintf("%s dated in the future: the phone's date is wrong, and so may be what it shows as due.", first(plural(future, "record is", "records are")))
		x.Severity, x.Due = Watch, TwoDays
	case worst > 0:
		x.Staff = fmt.Sprintf("The phone's clock is %s ahead.", span(worst))
	default:
		x.Staff = fmt.Sprintf("The phone's clock is %s behind.", span(worst))
	}
	if worst.Abs() >= 20*time.Hour {
		x.Severity, x.Due, x.Fingerprint = Watch, TwoDays, "date"
	}
	return []judgement{r.fires(f, x)}
}

func span(d time.Duration) string {
	d = d.Abs()
	switch {
	case d < 2*time.Hour:
		return plural(int(d.Minutes()), "minute", "minutes")
	case d < 48*time.Hour:
		return plural(int(d.Hours()), "hour", "hours")
	}
	return plural(int(d.Hours()/24), "day", "days")
}

func evalDamaged(f *facts, r Rule) []judgement {
	in := []Number{
		num("held back", f.in.Quarantined), num("not readable", len(f.h.Damaged)), num("not understood yet", len(f.h.Unknown)), num("two phones under one name", f.in.Forked),
	}
	if f.in.Quarantined+len(f.h.Damaged) == 0 && !f.in.Forked {
		return []judgement{r.line("", Quiet, "every record is whole", in...)}
	}
	x := Finding{
		Key: "damaged", Since: f.today, Newest: f.today, Severity: Watch, Owner: Administrator, Due: TwoDays, Numbers: in, Records: f.h.Damaged,
		Fingerprint: fmt.Sprintf("%d %d %v", f.in.Quarantined, len(f.h.Damaged), f.in.Forked),
		Clears:      "An administrator has looked at them and closes it.",
	}
	var what []string
	if n := f.in.Quarantined; n > 0 {
		what = append(what, plural(n, "record is", "records are")+" held back")
	}
	if n := len(f.h.Damaged); n > 0 {
		what = append(what, plural(n, "record", "records")+" cannot be read")
	}
	if f.in.Forked {
		what = append(what, "two phones wrote under one name")
	}
	x.Staff = first(strings.Join(what, ", ")) + ": something the patient did may be missing here."
	return []judgement{r.fires(f, x)}
}

// evalSide looks at the newest tap of each installation. With two running
// episodes of both shoulders a tap does not say which of them it means.
func evalSide(f *facts, r Rule) []judgement {
	for _, id := range f.h.EpisodeIDs() {
		if o, _ := f.h.Episode(id); o.ID != f.id && !o.State.Ended() && o.Side != f.e.Side {
			return []judgement{r.line("", CannotSay, "episodes of both shoulders run at once")}
		}
	}
	newest := map[rom.Author]rom.Entry[rom.Install]{}
	for _, e := range f.h.Installs {
		if e.Body.SideTapped != "" && e.Ref.N >= newest[e.Ref.Author].Ref.N {
			newest[e.Ref.Author] = e
		}
	}
	if len(newest) == 0 {
		return []judgement{r.line("", CannotSay, "the patient has not tapped a shoulder yet")}
	}
	var wrong rom.Entry[rom.Install]
	for _, e := range f.h.Installs {
		if e.Ref == newest[e.Ref.Author].Ref && e.Body.SideTapped != f.e.Side {
			wrong = e
		}
	}
	in := []Number{num("episode", string(f.e.Side))}
	if wrong.Ref.N == 0 {
		return []judgement{r.line("", Quiet, "the patient tapped the shoulder of the episode", in...)}
	}
	j := r.fires(f, Finding{
		Key: "side", Since: wrong.Day(), Newest: wrong.Day(), Severity: Urgent, Owner: Surgeon, Due: Today,
		Numbers: append(in, num("tapped", string(wrong.Body.SideTapped))), Records: []rom.Ref{wrong.Ref},
		Fingerprint: fmt.Sprintf("%s %s", f.e.Side, wrong.Body.SideTapped), Patient: "session.call-now",
		Staff:  fmt.Sprintf("The patient tapped the %s shoulder, the episode says %s: nothing may start until this is settled.", wrong.Body.SideTapped, f.e.Side),
		Clears: "The side is compared with the operation note by two people, and the patient taps again.",
	})
	j.finding.from = moment{wrong.Day(), minuteOf(wrong.Meta)}
	return []judgement{j}
}

package review

import (
	"fmt"
	"slices"

	"unsling/engine/rom"
)

// moment is a date and a minute after midnight, as the writer's clock had it.
type moment struct {
	day    rom.Date
	minute int
}

func minuteOf(m rom.Meta) int { return m.At.Hour()*60 + m.At.Minute() }

// standing completes x with the due time and with what staff did about it.
// An act answers the fingerprint that it names; without one it answers what
// stood there on its day. The newest act that answers the present fingerprint
// counts.
func (f *facts) standing(x Finding) Finding {
	if x.from.day == 0 {
		x.from.day = x.Since
	}
	x.By = f.in.Hours.By(x.Due, x.from.day, x.from.minute, f.visit)
	x.Standing = Open
	past := x.By.Passed(f.today, f.in.Minute)
	x.Overdue = past
	for _, t := range f.h.Tasks {
		b := t.Body
		if b.Episode != f.id || b.Finding != x.Key || b.On > f.today {
			continue
		}
		x.Acts = append(x.Acts, t)
		if b.To != "" {
			x.Assigned = b.To
		}
		answers := b.State == x.Fingerprint || b.State == "" && b.On >= x.Newest
		switch b.Act {
		case rom.TaskSeen, rom.TaskCall, rom.TaskSnooze, rom.TaskDone:
			if !answers {
				if x.Standing == Open {
					x.Standing = Reopened
				}
				continue
			}
		}
		switch b.Act {
		case rom.TaskSeen:
			x.Standing, x.Quiet, x.Overdue = Seen, !past, past
		case rom.TaskCall:
			x.Standing, x.Quiet, x.Overdue = Seen, true, false
		case rom.TaskSnooze:
			x.Standing, x.Until = Snoozed, b.Until
			x.Quiet = f.today < b.Until
			x.Overdue = past && !x.Quiet
			if !x.Quiet {
				x.Standing = Open
			}
		case rom.TaskDone:
			x.Standing, x.Quiet, x.Overdue = Settled, true, false
		case rom.TaskReopen:
			x.Standing, x.Quiet, x.Overdue = Reopened, false, past
		}
	}
	return x
}

// overdueCalls finds calls that were promised or tried and not made: a task
// assigned until a day that has passed, or a call that nobody answered more
// than one working day ago.
func (f *facts) overdueCalls(present []Finding) []Finding {
	if f.e.State.Ended() {
		return nil
	}
	last := map[string]rom.Entry[rom.Task]{}
	var keys []string
	for _, t := range f.h.Tasks {
		if t.Body.Episode != f.id || t.Body.On > f.today || t.Body.Act == rom.TaskComment {
			continue
		}
		if _, ok := last[t.Body.Finding]; !ok {
			keys = append(keys, t.Body.Finding)
		}
		last[t.Body.Finding] = t
	}
	slices.Sort(keys)
	var out []Finding
	for _, key := range keys {
		t := last[key]
		var by Deadline
		why := ""
		switch {
		case t.Body.Act == rom.TaskAssign && t.Body.Until != 0:
			by = Deadline{On: t.Body.Until, Minute: 24 * 60}
			why = fmt.Sprintf("was to be dealt with by %s", date(t.Body.Until))
		case t.Body.Act == rom.TaskTried:
			by = f.in.Hours.By(Today, t.Body.On.Add(1), 0, 0)
			why = fmt.Sprintf("was tried on %s without an answer", date(t.Body.On))
		default:
			continue
		}
		i := slices.IndexFunc(present, func(x Finding) bool { return x.Key == key })
		if !by.Passed(f.today, f.in.Minute) || i < 0 {
			continue
		}
		x := present[i]
		r := callRule
		j := r.fires(f, Finding{
			Key: "call:" + key, Motion: x.Motion, Severity: max(x.Severity, Call), Owner: x.Owner, Due: Today,
			Since: by.On, Newest: t.Body.On, Fingerprint: fmt.Sprintf("%s %s", t.Body.Act, t.Body.On),
			Staff:   fmt.Sprintf("The call about %s %s and is overdue.", title(x.Class), why),
			Clears:  "The call is made and recorded, or the finding is closed.",
			Numbers: []Number{num("last act", string(t.Body.Act)), num("on", date(t.Body.On))},
			Records: []rom.Ref{t.Ref},
		})
		j.finding.Assigned = t.Body.To
		out = append(out, f.standing(*j.finding))
	}
	return out
}

var callRule = Rule{
	Name: "call-overdue", Class: CallOverdue, Source: rom.Source{Key: "DESIGN", Mark: rom.Derived},
	Says: "a call promised for a day that has passed, or tried without an answer more than a working day ago",
}

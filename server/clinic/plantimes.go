package clinic

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"unsling/engine/rom"
	"unsling/engine/schedule"
)

// breaksMost bounds the breaks of one plan.
const breaksMost = 12

var breakNames = map[rom.BreakKind]string{
	rom.NoTherapy: "no supervised therapy, its days are home days", rom.NoSessions: "no sessions, limits and sling stay",
}

// BreakKinds lists them for the page.
func (p planPage) BreakKinds() []rom.BreakKind { return []rom.BreakKind{rom.NoTherapy, rom.NoSessions} }

// BreakName words a kind of break.
func (p planPage) BreakName(k rom.BreakKind) string { return name(breakNames, k) }

// times reads the hours of the patient's day, what therapy takes off it, and
// the breaks.
func (r *planReader) times(p *rom.Plan) {
	v := r.v
	if v.form("hours") == "shown" {
		p.WakeFrom, p.WakeTo = r.clock("wake_from", "The patient's day begins", p.WakeFrom), r.clock("wake_to", "The patient's day ends", p.WakeTo)
		p.LeastGap = r.whole("gap", "The least time between two sessions", 0, 720, p.LeastGap)
		p.TherapyDayLess = r.whole("less", "Sessions fewer on a therapy day", 0, 12, p.TherapyDayLess)
		if p.WakeTo-p.WakeFrom < 4*60 {
			r.bad("The patient's day must have at least four hours between its beginning and its end.")
		}
	}
	if v.form("breaks") != "shown" {
		return
	}
	var out []rom.Break
	for _, b := range p.Breaks {
		if !slices.Contains(v.r.PostForm["break-drop"], b.String()) {
			out = append(out, b)
		}
	}
	from, err1 := v.dateField("break-from", "The break begins")
	to, err2 := v.dateField("break-to", "The break ends")
	kind := rom.BreakKind(v.form("break-kind"))
	switch {
	case err1 != nil || err2 != nil:
		r.bad("A break: please write its dates as 2026-12-24.")
	case from.IsZero() && to.IsZero():
	case from.IsZero() || to.IsZero() || to < from || to.Sub(from) > 180:
		r.bad("A break has a first and a last day, at most half a year apart.")
	case to < v.today:
		r.bad("The break lies in the past: nothing would change.")
	case breakNames[kind] == "":
		r.bad("Please choose what stops during the break.")
	case len(out) >= breaksMost:
		r.bad("A plan has at most %d breaks. Remove one that is over.", breaksMost)
	default:
		out = append(out, rom.Break{From: from, To: to, Kind: kind})
	}
	if !slices.Equal(out, p.Breaks) {
		p.Breaks = out
	}
}

// clock reads a time of day as minutes after midnight.
func (r *planReader) clock(field, what string, was int) int {
	s := r.v.form(field)
	if s == "24:00" || s == "00:00" && field == "wake_to" {
		return 24 * 60
	}
	at, err := time.Parse("15:04", s)
	if err != nil {
		r.bad("%s: %q is not a time of day. Write it as 08:00.", what, s)
		return was
	}
	return at.Hour()*60 + at.Minute()
}

// Clock prints minutes after midnight for a field.
func (p planPage) Clock(minute int) string { return clockTime(minute % (24 * 60)) }

// measureRow is one motion that a phase may ask to be measured at home.
type measureRow struct {
	Motion       rom.Motion
	Week, Trials string // field names
	Rule         rom.MeasureRule
}

// MeasureRows are the motions that a phase opens, and those it measures.
func (p planPage) MeasureRows(at string, ph rom.Phase) []measureRow {
	var out []measureRow
	for _, m := range rom.Motions {
		i := slices.IndexFunc(ph.Measures, func(x rom.MeasureRule) bool { return x.Motion == m })
		distal := m == rom.ElbowFlexion || m == rom.ElbowExtension || m == rom.ForearmRotation // not measured at home
		if i < 0 && (distal || ph.Limit(m).Class == rom.Locked) {
			continue
		}
		row := measureRow{Motion: m, Week: at + "m." + string(m) + ".week", Trials: at + "m." + string(m) + ".trials", Rule: rom.MeasureRule{Motion: m, Trials: 1}}
		if i >= 0 {
			row.Rule = ph.Measures[i]
		}
		out = append(out, row)
	}
	return out
}

// measures reads how often a phase asks for readings; a motion that was not
// shown stays as it is.
func (r *planReader) measures(at, what string, from rom.Phase) []rom.MeasureRule {
	var out []rom.MeasureRule
	for _, m := range rom.Motions {
		i := slices.IndexFunc(from.Measures, func(x rom.MeasureRule) bool { return x.Motion == m })
		field := at + "m." + string(m)
		if !r.v.r.PostForm.Has(field + ".week") {
			if i >= 0 {
				out = append(out, from.Measures[i])
			}
			continue
		}
		rule := rom.MeasureRule{Motion: m, Trials: 1}
		if i >= 0 {
			rule = from.Measures[i]
		}
		named := what + "measuring " + name(motionNames, m)
		rule.PerWeek = r.whole(field+".week", named+", times a week", 0, 7, rule.PerWeek)
		if rule.PerWeek == 0 {
			continue
		}
		rule.Trials = r.whole(field+".trials", named+", trials", 1, 3, rule.Trials)
		out = append(out, rule)
	}
	if sameSet(out, from.Measures) {
		return from.Measures
	}
	return out
}

// running says what a session that is under way obeys of the change at once,
// by the schedule's own rule.
type running struct {
	Stops string   // why it ends, "" when it goes on
	Less  []string // what it loses
	Later bool     // something widens from the next session on
}

// runningUnder compares today under the plan in force with today under the
// plan as typed.
func runningUnder(during, newest schedule.Day) running {
	got := schedule.Narrow(during, newest)
	var out running
	if got.State != schedule.Running {
		out.Stops = name(dayNames, got.State)
		return out
	}
	for i, a := range got.Motions {
		was := during.Motions[i]
		switch {
		case a.Locked && !was.Locked:
			out.Less = append(out.Less, name(motionNames, a.Motion)+": locked")
		case a.Limit.NarrowerThan(was.Limit):
			out.Less = append(out.Less, name(motionNames, a.Motion)+": "+limitText(a.Limit))
		}
		if now := newest.Motion(a.Motion); !now.Locked && (a.Locked || a.Limit.NarrowerThan(now.Limit)) {
			out.Later = true
		}
	}
	for i, a := range got.Exercises {
		if a.Locked && !during.Exercises[i].Locked {
			out.Less = append(out.Less, name(exerciseNames, a.Exercise.ID)+": closed")
		}
		if !newest.Exercise(a.Exercise.ID).Locked && during.Exercises[i].Locked {
			out.Later = true
		}
	}
	if got.PainCap < during.PainCap {
		out.Less = append(out.Less, fmt.Sprintf("highest pain: %d of 10", got.PainCap))
	}
	return out
}

// aspectText words the aspects whose printed values are minutes and lists.
func aspectText(what rom.Aspect, s string) string {
	switch what {
	case rom.AspectHours:
		var from, to, gap int
		if n, _ := fmt.Sscanf(strings.NewReplacer("-", " ", ",", "").Replace(s), "%d %d gap %d", &from, &to, &gap); n == 3 {
			return fmt.Sprintf("%s to %s, %d min between sessions", clockTime(from), clockTime(to), gap)
		}
	case rom.AspectMeasures:
		var out []string
		for _, one := range strings.Split(strings.Trim(s, "[]"), "} {") {
			f := strings.Fields(strings.Trim(one, "{}"))
			if len(f) == 3 {
				week, _ := strconv.Atoi(f[1])
				trials, _ := strconv.Atoi(f[2])
				out = append(out, fmt.Sprintf("%s %d a week, %s", name(motionShort, rom.Motion(f[0])), week, plural(trials, "trial", "trials")))
			}
		}
		if len(out) > 0 {
			return strings.Join(out, "; ")
		}
		return "none"
	case rom.AspectBreaks:
		for k, words := range breakNames {
			s = strings.Replace(s, string(k), words, 1)
		}
	}
	return s
}

// planToday is the day of today under the plan in force, as the phone shows it.
func planToday(v *visit, f file, c care) schedule.Day {
	return schedule.On(f.History, c.Episode.ID, v.today, v.minute, schedule.With{LastContact: v.today})
}

// previewCleared is what the phone would show on a day if the phase were
// cleared today.
func (v *visit) previewCleared(f file, c care, phase string, on rom.Date) *preview {
	h := f.History
	h.Clearances = append(slices.Clone(h.Clearances), rom.Entry[rom.Clearance]{
		Meta: rom.Meta{Ref: rom.Ref{Author: "c-preview", N: 1}, At: v.at}, Body: rom.Clearance{Episode: c.Episode.ID, Phase: phase, On: v.today, By: v.staff.ID},
	})
	minute := 9 * 60
	if on == v.today {
		minute = v.minute
	}
	return &preview{on, schedule.On(h, c.Episode.ID, on, minute, schedule.With{LastContact: v.today})}
}

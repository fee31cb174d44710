package review

import (
	"fmt"

	"unsling/engine/protocol"
	"unsling/engine/rom"
)

var signRules = []Rule{
	{
		Name: "warning-sign", Class: WarningSign, Source: rom.Source{Key: "PRACTICE", Mark: rom.Practice}, planned: true,
		Says: "a warning sign was reported, or a session was stopped because something was wrong, and nobody has settled it",
		eval: evalSigns,
	},
	{
		Name: "unread", Class: SignsUnread, Source: rom.Source{Key: "DESIGN", Mark: rom.Derived}, planned: true,
		Says: "a report or a question has waited one working day and nobody opened it",
		eval: evalUnread,
	},
}

func evalSigns(f *facts, r Rule) []judgement {
	by := map[rom.SignID][]sign{}
	for _, s := range f.signs() {
		if !f.answered(s.Ref) {
			by[s.Body.Sign] = append(by[s.Body.Sign], s)
		}
	}
	var out []judgement
	for _, id := range rom.Signs {
		if list := by[id]; len(list) > 0 {
			out = append(out, f.signFinding(r, list))
		}
		delete(by, id)
	}
	// Signs that a newer phone knows and we do not are never dropped.
	var rest []sign
	for _, s := range f.signs() {
		if _, ok := by[s.Body.Sign]; ok {
			rest = append(rest, s)
		}
	}
	if len(rest) > 0 {
		out = append(out, f.signFinding(r, rest))
	}
	return append(out, f.stoppedWrong(r)...)
}

func (f *facts) signFinding(r Rule, list []sign) judgement {
	s := list[len(list)-1]
	name, id := signNames[s.Body.Sign], s.Body.Sign
	if name == "" {
		name, id = "a sign that this program does not know", "unknown"
	}
	out := Finding{
		Key: "sign:" + string(id), Since: list[0].at.day, Newest: s.at.day, Source: s.rule.From,
		Fingerprint: fmt.Sprintf("%s-%d", s.Ref.Author, s.Ref.N), Patient: "session.call-now",
		Clears: "A clinician has talked to the patient, answers it in the plan where it stopped the exercises, and closes it.",
	}
	for _, x := range list {
		out.Records = append(out.Records, x.Ref)
	}
	if s.Body.Sign == rom.SignFall {
		out.Class = Fall
	}
	switch s.rule.Urgency {
	case protocol.Emergency, protocol.SameDay:
		out.Severity, out.Owner, out.Due = Urgent, Surgeon, Today
	case protocol.WithinDays:
		out.Severity, out.Owner, out.Due = Call, Therapist, TwoDays
	default:
		out.Severity, out.Owner, out.Due, out.Patient = Note, Therapist, NextVisit, ""
	}
	out.Staff = fmt.Sprintf("Reported %s on %s", name, date(s.at.day))
	if f.after {
		out.Staff += fmt.Sprintf(", day %d", s.at.day.Sub(f.e.Surgery))
		out.Numbers = append(out.Numbers, num("day after surgery", s.at.day.Sub(f.e.Surgery)))
	}
	if s.rule.Suspect != "" {
		out.Staff += "; suspect: " + s.rule.Suspect
	}
	if hours := f.e.BlockHours; s.Body.Sign == rom.SignNumb && hours > 0 {
		out.Staff += fmt.Sprintf("; the nerve block was expected to end %d hours after surgery", hours)
		out.Numbers = append(out.Numbers, num("hours of the nerve block", hours))
	}
	if s.Body.Called {
		out.Staff += "; the patient says that they called"
	}
	out.Staff += "."
	out.Numbers = append(out.Numbers, num("reports", len(list)), num("urgency", string(s.rule.Urgency)))
	j := r.fires(f, out)
	j.finding.from = s.at
	return j
}

func (f *facts) stoppedWrong(r Rule) []judgement {
	var list []session
	for _, s := range f.sessionsSince(0) {
		if s.Body.Stop == rom.StopWrong && !f.answered(s.Ref) {
			list = append(list, s)
		}
	}
	if len(list) == 0 {
		return nil
	}
	s := list[len(list)-1]
	out := Finding{
		Key: "stopped-wrong", Since: list[0].day, Newest: s.day, Severity: Urgent, Owner: Surgeon, Due: Today,
		Fingerprint: fmt.Sprintf("%s-%d", s.Ref.Author, s.Ref.N), Patient: "session.call-now",
		Staff:   fmt.Sprintf("Stopped a session on %s because something was wrong; exercises are locked until the plan answers it.", date(s.day)),
		Clears:  "A surgeon has talked to the patient and answers it in the plan.",
		Numbers: []Number{num("sessions stopped so", len(list))},
	}
	for _, x := range list {
		out.Records = append(out.Records, x.Ref)
	}
	j := r.fires(f, out)
	j.finding.from = moment{s.day, minuteOf(s.Meta)}
	return []judgement{j}
}

// evalUnread: a record counts as read once a member of staff saw it, or once
// somebody acted on its finding.
func evalUnread(f *facts, r Rule) []judgement {
	if !f.in.Hours.Known() {
		return []judgement{r.line("", CannotSay, "the clinic has given no hours")}
	}
	read := map[rom.Ref]bool{}
	for _, s := range f.h.Seens {
		if s.Body.By != "" {
			read[s.Body.What] = true
		}
	}
	acted := map[string]rom.Date{}
	for _, t := range f.h.Tasks {
		if t.Body.Episode == f.id {
			acted[t.Body.Finding] = max(acted[t.Body.Finding], t.Body.On)
		}
	}
	urgent, other := 0, 0
	var oldest moment
	var refs []rom.Ref
	wait := func(m rom.Meta, grave bool) {
		at := f.when(m)
		if !f.in.Hours.By(Today, at.day, at.minute, 0).Passed(f.today, f.in.Minute) {
			return
		}
		if oldest.day == 0 || at.day < oldest.day {
			oldest = at
		}
		refs = append(refs, m.Ref)
		if grave {
			urgent++
		} else {
			other++
		}
	}
	for _, s := range f.signs() {
		if !read[s.Ref] && !f.answered(s.Ref) && acted["sign:"+string(s.Body.Sign)] < s.at.day {
			wait(s.Meta, s.rule.Urgency == protocol.Emergency || s.rule.Urgency == protocol.SameDay)
		}
	}
	answered := map[rom.Ref]bool{}
	for _, n := range f.h.Notes {
		answered[n.Body.Answers] = true
	}
	for _, q := range f.h.Questions {
		if (q.Body.Episode == f.id || q.Body.Episode == "") && f.when(q.Meta).day <= f.today && !read[q.Ref] && !answered[q.Ref] {
			wait(q.Meta, false)
		}
	}
	if urgent+other == 0 {
		return []judgement{r.line("", Quiet, "everything that came in before the clinic last closed has been opened")}
	}
	out := Finding{
		Key: "unread", Since: oldest.day, Newest: oldest.day, Severity: Call, Owner: Assistant, Due: Today,
		Fingerprint: fmt.Sprintf("%d since %s", urgent+other, oldest.day), Records: refs,
		Staff:   fmt.Sprintf("%s of the patient, the oldest of %s, %s not been opened by anybody.", plural(urgent+other, "message", "messages"), date(oldest.day), has(urgent+other)),
		Clears:  "Somebody of the clinic opens them.",
		Numbers: []Number{num("unread warning signs", urgent), num("unread others", other)},
	}
	if urgent > 0 {
		out.Severity, out.Owner = Urgent, Therapist
	}
	j := r.fires(f, out)
	j.finding.from = oldest
	return []judgement{j}
}

func has(n int) string {
	if n == 1 {
		return "has"
	}
	return "have"
}

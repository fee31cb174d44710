package screen

import (
	"strings"
	"unicode/utf8"

	"unsling/app/words"
	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/engine/schedule"
)

// helpState is what is being told to the clinic.
type helpState struct {
	sign    rom.SignID // being reported, "" for none
	text    string
	writing bool // a note is written
	problem string
	sent    *rom.Ref // what was just kept
	was     string   // "sign" or "note": what sent is
}

const (
	mostSignText = 500  // characters of what is told beside a warning sign
	mostNoteText = 1000 // of a note or a question
)

// helpView is the help screen: numbers first.
type helpView struct {
	Emergency    string
	EmergencyTel string
	Nearby       string // what the clinic says beside it
	Groups       []signGroup
	Sign         *signView // being reported
	Writing      bool
	Problem      string
	Status       string // of what was just kept
	Urgent       string // call as well
	Notes        []noteView
	Reports      []noteView
	Nobody       string // why nobody reads what is told here; "" while somebody does
	Whose        bool   // nobody has said who they are: nothing can be told
}

// signGroup is the signs of one urgency.
type signGroup struct {
	Title  string
	Urgent bool
	Signs  []signRow
}

type signRow struct {
	ID   rom.SignID
	Name string
}

type signView struct {
	Name      string
	Do        []string
	Emergency bool
}

func (a *App) viewHelp() helpView {
	s := &a.help
	name, number := a.emergency()
	v := helpView{
		Emergency: a.f(words.HelpEmerg, name), EmergencyTel: number, Nearby: a.day.Plan.Contact.Nearby, Groups: a.signGroups(),
		Writing: s.writing, Problem: s.problem, Notes: a.notes(), Reports: a.reports(),
	}
	if v.Whose = a.asksWho(); v.Whose || a.lock.locked { // help is open to all, what was written is not
		v.Notes, v.Reports = nil, nil
	}
	switch {
	case v.Whose:
		v.Nobody = a.t(words.WhoFirst)
	case a.facts.Account.State == Revoked:
		v.Nobody = a.t(words.Revoked)
	case a.day.State == schedule.Ended:
		v.Nobody = a.t(words.EndedDo)
		if t := a.day.Episode.Transfer; t != nil {
			v.Nobody = a.f(words.MovedDo, t.Clinic, t.Phone) + " " + a.t(words.MovedNobody)
		}
	}
	if s.sign != "" {
		v.Sign = a.signView(s.sign)
	}
	if s.sent != nil {
		v.Status = a.progressOf(*s.sent)
		if v.Nobody != "" {
			v.Status = v.Nobody
		}
		if s.was == "sign" {
			v.Urgent = a.t(words.SignCallToo)
		}
	}
	return v
}

// signGroups lists the warning signs by urgency, the most urgent first.
func (a *App) signGroups() []signGroup {
	heads := []struct {
		u     protocol.Urgency
		stops bool
		t     words.Text
	}{
		{protocol.Emergency, true, words.HelpNow}, {protocol.SameDay, true, words.HelpStop}, {protocol.SameDay, false, words.HelpToday},
		{protocol.WithinDays, false, words.HelpSoon}, {protocol.NextVisit, false, words.HelpVisit},
	}
	var out []signGroup
	for _, h := range heads {
		g := signGroup{Title: a.t(h.t), Urgent: h.stops}
		for _, r := range protocol.Signs() {
			if r.Urgency == h.u && (r.Stops == h.stops || h.u != protocol.SameDay) {
				g.Signs = append(g.Signs, signRow{r.Sign, words.Sign(a.lang(), r.Sign)})
			}
		}
		if len(g.Signs) > 0 {
			out = append(out, g)
		}
	}
	return out
}

// signView says what to do about a sign, stopping first.
func (a *App) signView(id rom.SignID) *signView {
	r := protocol.SignByID(id)
	v := &signView{Name: words.Sign(a.lang(), id)}
	if r.Stops {
		v.Do = append(v.Do, a.t(words.DoStop))
	}
	name, _ := a.emergency()
	switch r.Urgency {
	case protocol.Emergency:
		v.Emergency = true
		v.Do = append(v.Do, a.f(words.DoEmergency, name))
	case protocol.WithinDays:
		v.Do = append(v.Do, a.t(words.DoSoon))
	case protocol.NextVisit:
		v.Do = append(v.Do, a.t(words.DoVisit))
	default:
		do := words.DoToday
		if r.Stops {
			do = words.DoNow
		}
		v.Do = append(v.Do, a.t(do))
	}
	return v
}

func (a *App) chooseSign(id rom.SignID) {
	a.help = helpState{sign: id}
	a.aloud = strings.Join(a.signView(id).Do, " ")
}

func (a *App) helpBack() {
	if a.help.sign != "" || a.help.writing || a.help.sent != nil {
		a.help = helpState{}
		return
	}
	if a.session.waits() {
		a.goTo(PlaceSession)
		return
	}
	a.goTo(PlaceNow)
}

// sendSign keeps the report. The exercises stop where the sign says so, at once:
// neither a full disk nor one that hangs leaves them open.
func (a *App) sendSign(called bool) {
	s := &a.help
	text := strings.TrimSpace(s.text)
	if utf8.RuneCountInString(text) > mostSignText {
		s.problem = a.f(words.NoteLong, mostSignText)
		return
	}
	body := rom.Sign{Episode: a.episode, Sign: s.sign, Text: text, Called: called}
	stops := protocol.SignByID(body.Sign).Stops
	if stops {
		a.halt(body.Sign)
	}
	a.write("sign", body, func(ref rom.Ref, err error) {
		if err != nil {
			s.problem = a.storageSays(err)
			return
		}
		if stops {
			a.told = nil // the record says it
			a.look()
		}
		a.help = helpState{sent: &ref, was: "sign", sign: s.sign}
		a.aloud = a.t(words.SignKept) + " " + a.t(words.SignCallToo)
		a.applyPlan()
	})
}

// halt stops all for a report that is not kept yet, until it is, or until the
// app is started anew.
func (a *App) halt(sign rom.SignID) {
	a.told = &schedule.Halt{On: a.today(), Sign: sign}
	a.look()
	a.applyPlan()
}

// noteText is what was typed without the space around it, or what is wrong
// with it.
func (a *App) noteText(typed string) (text, problem string) {
	text = strings.TrimSpace(typed)
	switch n := utf8.RuneCountInString(text); {
	case n == 0:
		return "", a.t(words.NoteEmpty)
	case n > mostNoteText:
		return "", a.f(words.NoteLong, mostNoteText)
	}
	return text, ""
}

func (a *App) writeNote() { a.help = helpState{writing: true} }

// sendNote keeps a note to the clinic.
func (a *App) sendNote() {
	s := &a.help
	text, problem := a.noteText(s.text)
	if problem != "" {
		s.problem = problem
		return
	}
	a.write("question", rom.Question{Episode: a.episode, Text: text}, func(ref rom.Ref, err error) {
		if err != nil {
			s.problem = a.storageSays(err)
			return
		}
		a.help = helpState{sent: &ref, was: "note"}
		a.aloud = a.t(words.KeptNow)
	})
}

package clinic

import (
	"fmt"
	"slices"
	"time"

	"unsling/engine/rom"
)

// moment is one line of the record in the order of time.
type moment struct {
	At   time.Time
	Who  string
	What string
	Ref  rom.Ref
}

// message is one note between patient and clinic.
type message struct {
	At          time.Time
	FromPatient bool
	Who, Text   string
	ReadBy      string // by whom and when; "" for nobody yet
	Ref         rom.Ref
	Sign        bool
}

// messages are questions, warning signs and notes of an episode, the newest
// first.
func (v *visit) messages(h rom.History, ep rom.EpisodeID, names map[rom.StaffID]string) []message {
	read := map[rom.Ref]string{}
	for _, s := range h.Seens {
		who := names[s.Body.By]
		if s.Body.By == "" {
			who = "the patient"
		}
		if _, ok := read[s.Body.What]; !ok {
			read[s.Body.What] = who + ", " + s.At.In(v.zone).Format("2 Jan 15:04")
		}
	}
	var out []message
	for _, e := range h.Questions {
		if e.Body.Episode == ep || e.Body.Episode == "" { // written before the phone knew its episode
			out = append(out, message{At: e.At.In(v.zone), FromPatient: true, Who: "Patient", Text: e.Body.Text, ReadBy: read[e.Ref], Ref: e.Ref})
		}
	}
	for _, e := range h.Signs {
		if e.Body.Episode == ep || e.Body.Episode == "" {
			text := name(signNames, e.Body.Sign)
			if e.Body.Text != "" {
				text += ": " + e.Body.Text
			}
			out = append(out, message{At: e.At.In(v.zone), FromPatient: true, Who: "Patient", Text: text, ReadBy: read[e.Ref], Ref: e.Ref, Sign: true})
		}
	}
	for _, e := range h.Notes {
		if e.Body.Episode == ep {
			out = append(out, message{At: e.At.In(v.zone), Who: names[e.Body.By], Text: e.Body.Text, ReadBy: read[e.Ref], Ref: e.Ref})
		}
	}
	slices.SortStableFunc(out, func(a, b message) int { return b.At.Compare(a.At) })
	return out
}

// timeline is every record of a history in one line each, the newest first.
func (v *visit) timeline(h rom.History, names map[rom.StaffID]string) []moment {
	var out []moment
	add := func(m rom.Meta, by rom.StaffID, format string, args ...any) {
		who := "patient"
		if by != "" {
			who = names[by]
			if who == "" {
				who = string(by)
			}
		} else if m.Ref.Author.FromClinic() {
			who = "clinic"
		}
		what := fmt.Sprintf(format, args...)
		if !m.Amended.IsZero() {
			what += " (corrected)"
		}
		out = append(out, moment{m.At.In(v.zone), who, what, m.Ref})
	}
	for _, e := range h.Episodes {
		add(e.Meta, e.Body.By, "Episode, version %d: %s, %s shoulder", e.Body.Version, name(stateNames, e.Body.State), e.Body.Side)
	}
	for _, e := range h.Plans {
		add(e.Meta, e.Body.By, "Plan revision %d: %s", e.Body.Rev, e.Body.Reason)
	}
	for _, e := range h.Clearances {
		what := "cleared"
		if e.Body.Withdrawn {
			what = "clearance withdrawn"
		}
		add(e.Meta, e.Body.By, "Phase %s: %s", e.Body.Phase, what)
	}
	for _, e := range h.Sessions {
		add(e.Meta, "", "Session %s: %d of %d holds", e.Body.Ended, e.Body.Counted(), e.Body.Asked())
	}
	for _, e := range h.Readings {
		value := e.Body.Angle.String() + "° (SE " + e.Body.SE.String() + "°)"
		if e.Body.Motion.ByLevel() {
			value = levelName(e.Body.Level)
		}
		add(e.Meta, e.Body.By, "Reading, %s arm, %s: %s by %s", e.Body.Side, name(motionShort, e.Body.Motion), value, e.Body.Method)
	}
	for _, e := range h.Pains {
		add(e.Meta, "", "Pain %d of 10 (%s)", e.Body.Score, e.Body.When)
	}
	for _, e := range h.Signs {
		add(e.Meta, "", "Warning sign: %s", name(signNames, e.Body.Sign))
	}
	for _, e := range h.Slings {
		add(e.Meta, "", "Sling: %s", e.Body.Worn)
	}
	for _, e := range h.Questions {
		add(e.Meta, "", "Note to the clinic")
	}
	for _, e := range h.Notes {
		add(e.Meta, e.Body.By, "Note to the patient")
	}
	for _, e := range h.Adoptions {
		add(e.Meta, "", "Phone follows plan revision %d", e.Body.Rev)
	}
	for _, e := range h.Installs {
		add(e.Meta, "", "App installed, version %s", e.Body.App)
	}
	for _, e := range h.Therapies {
		add(e.Meta, e.Body.By, "Therapy on %s: %s", e.Body.On, e.Body.Outcome)
	}
	for _, e := range h.Visits {
		add(e.Meta, e.Body.By, "Visit on %s", e.Body.On)
	}
	for _, e := range h.Tasks {
		add(e.Meta, e.Body.By, "Finding %s: %s", e.Body.Finding, actName(e.Body.Act))
	}
	slices.SortStableFunc(out, func(a, b moment) int { return b.At.Compare(a.At) })
	return out
}

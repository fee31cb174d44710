package clinic

import (
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
	addAll(&out, v, names, h.Episodes)
	addAll(&out, v, names, h.Plans)
	addAll(&out, v, names, h.Clearances)
	addAll(&out, v, names, h.Sessions)
	addAll(&out, v, names, h.Readings)
	addAll(&out, v, names, h.Pains)
	addAll(&out, v, names, h.Signs)
	addAll(&out, v, names, h.Slings)
	addAll(&out, v, names, h.Questions)
	addAll(&out, v, names, h.Notes)
	addAll(&out, v, names, h.Adoptions)
	addAll(&out, v, names, h.Installs)
	addAll(&out, v, names, h.Therapies)
	addAll(&out, v, names, h.Visits)
	addAll(&out, v, names, h.Tasks)
	slices.SortStableFunc(out, func(a, b moment) int { return b.At.Compare(a.At) })
	return out
}

func addAll[T any](out *[]moment, v *visit, names map[rom.StaffID]string, list []rom.Entry[T]) {
	for _, e := range list {
		what, by := recordText(e.Body)
		who := "patient"
		if by != "" {
			who = names[by]
			if who == "" {
				who = string(by)
			}
		} else if e.Ref.Author.FromClinic() {
			who = "clinic"
		}
		if !e.Amended.IsZero() {
			what += " (corrected)"
		}
		*out = append(*out, moment{e.At.In(v.zone), who, what, e.Ref})
	}
}

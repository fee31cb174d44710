package screen

import (
	"sort"
	"time"

	"unsling/app/words"
	"unsling/engine/rom"
)

// noteView is one note between patient and clinic. Its text was typed by a
// person: it is shown as text only.
type noteView struct {
	ID    string
	Head  string
	Text  string
	State string // how far an own note has come
	Own   bool
	at    time.Time
}

// notes lists what was written, the newest first.
func (a *App) notes() []noteView {
	var out []noteView
	for _, n := range a.facts.History.Notes {
		head := a.f(words.NotesTheirs, words.Moment(a.lang(), n.At.In(a.now.Location()), a.now))
		if who := words.Person(a.lang(), n.Body.Signed.Name, n.Body.Signed.Role); who != "" {
			head += " · " + who
		}
		out = append(out, noteView{
			ID: refID(n.Ref), Head: head,
			Text: n.Body.Text, at: n.At,
		})
	}
	for _, q := range a.facts.History.Questions {
		out = append(out, noteView{
			ID: refID(q.Ref), Head: a.f(words.NotesYours, words.Moment(a.lang(), q.At.In(a.now.Location()), a.now)),
			Text: q.Body.Text, State: a.progressOf(q.Ref), Own: true, at: q.At,
		})
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].at.After(out[j].at) })
	return out
}

// newestNote is the newest note of the clinic that is not a week old.
func (a *App) newestNote() *noteView {
	for _, n := range a.notes() {
		if !n.Own && a.now.Sub(n.at) < 7*24*time.Hour {
			return &n
		}
	}
	return nil
}

// markSeen records that the patient has the clinic's notes on the screen, so
// that the clinic need not ask. The first screen shows the newest, help all.
func (a *App) markSeen() {
	at := a.Shown()
	if a.hidden || a.lock.locked || a.asksWho() || !a.started || !a.facts.Loaded || at != PlaceNow && at != PlaceHelp {
		return
	}
	seen := map[rom.Ref]bool{}
	for _, s := range a.facts.History.Seens {
		if s.Body.By == "" {
			seen[s.Body.What] = true
		}
	}
	newest := a.newestNote()
	for _, n := range a.facts.History.Notes {
		if seen[n.Ref] || a.noted[n.Ref] || at == PlaceNow && (newest == nil || newest.ID != refID(n.Ref)) {
			continue
		}
		a.noted[n.Ref] = true
		ref := n.Ref
		a.write("seen", rom.Seen{What: ref}, func(_ rom.Ref, err error) {
			if err != nil {
				delete(a.noted, ref)
			}
		})
	}
}

// reports lists the warning signs that the patient told, the newest first.
func (a *App) reports() []noteView {
	var out []noteView
	list := a.facts.History.Signs
	for i := len(list) - 1; i >= 0 && len(out) < 5; i-- {
		s := list[i]
		out = append(out, noteView{
			ID: refID(s.Ref), Head: words.Sign(a.lang(), s.Body.Sign), Own: true, Text: s.Body.Text,
			State: words.Capital(words.Moment(a.lang(), s.At.In(a.now.Location()), a.now)) + ". " + a.progressOf(s.Ref),
		})
	}
	return out
}

func refID(r rom.Ref) string { return string(r.Author) + "-" + itoa(int(r.N)) }

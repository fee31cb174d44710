package screen

import (
	"errors"

	"unsling/app/words"
	"unsling/engine/rom"
)

func isFull(err error) bool { return errors.Is(err, ErrFull) }

// statusLine says in one or two sentences how far the records have come.
// "Received" is never said so that it looks like "read".
func (a *App) statusLine() string {
	s := a.facts.Sending
	n := int(s.Written - s.Acked)
	switch {
	case s.Written == 0:
		return a.t(words.NothingYet)
	case n <= 0:
		return a.t(words.AllReceived)
	case s.Busy:
		return words.KeptWaiting.In(a.lang(), n) + " " + a.t(words.SendingNow)
	case s.Failed == FailedRefused:
		return words.KeptWaiting.In(a.lang(), n) + " " + a.t(words.ServerNo)
	}
	return words.KeptWaiting.In(a.lang(), n)
}

// progressOf says how far one record has come: kept, received, or read by whom.
func (a *App) progressOf(ref rom.Ref) string {
	for i := len(a.facts.History.Seens) - 1; i >= 0; i-- {
		s := a.facts.History.Seens[i]
		if s.Body.What == ref && s.Body.By != "" {
			return a.f(words.ReadBy, a.reader(s.Body), words.Moment(a.lang(), s.At.In(a.now.Location()), a.now))
		}
	}
	if ref.N <= a.facts.Sending.Acked && ref.Author == a.facts.Sending.Author {
		return a.t(words.ReceivedNow)
	}
	return a.t(words.KeptNow) + " " + a.t(words.ReadByNobody)
}

// reader is who has read a record, by name and role where the clinic said so.
// Older records name staff by ids only, which mean nothing to the patient.
func (a *App) reader(s rom.Seen) string {
	if who := words.Person(a.lang(), s.Signed.Name, s.Signed.Role); who != "" {
		return who
	}
	if name, _ := a.clinic(); name != "" {
		return name
	}
	return a.t(words.YourClinic)
}

// contactLine says when the clinic was last in touch.
func (a *App) contactLine() string {
	if a.facts.Sending.Contact.IsZero() {
		return a.t(words.NoContactYet)
	}
	return a.f(words.LastContact, words.Moment(a.lang(), a.facts.Sending.Contact.In(a.now.Location()), a.now))
}

// unsentLine names what waits, by kind.
func (a *App) unsentLine() string {
	if len(a.facts.Sending.Unsent) == 0 {
		return a.t(words.SetAllSent)
	}
	return a.f(words.SetWaiting, a.unsentKinds())
}

// unsentKinds are the records that wait, counted by kind.
func (a *App) unsentKinds() string {
	count := map[string]int{}
	var order []string
	for _, w := range a.facts.Sending.Unsent {
		kind := w.Kind
		if !words.KnownKind(kind) {
			kind = "other"
		}
		if count[kind] == 0 {
			order = append(order, kind)
		}
		count[kind]++
	}
	var parts []string
	for _, k := range order {
		parts = append(parts, words.Records(a.lang(), k, count[k]))
	}
	return words.Join(a.lang(), parts)
}

// troubleLine is what is wrong with the phone's storage, if anything.
func (a *App) troubleLine() string {
	switch a.facts.Trouble {
	case TroubleRefused:
		return a.t(words.TroubleRefused)
	case TroubleFull:
		return a.t(words.StorageFull)
	case TroubleLost:
		return a.t(words.TroubleLost) + a.onlyMine()
	case TroubleKeyLost:
		return a.t(words.TroubleKeyLost) + a.onlyMine()
	}
	if a.facts.Account.Forgotten && a.place != PlaceEnrol { // there the new code is being used
		return a.t(words.Forgotten)
	}
	return ""
}

// onlyMine ends a sentence of loss where others share the phone.
func (a *App) onlyMine() string {
	if !a.shared() {
		return ""
	}
	return " " + a.t(words.WhoOnly)
}

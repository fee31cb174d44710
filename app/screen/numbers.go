package screen

import "unsling/app/words"

// clinic is the clinic's name and the number to call now.
func (a *App) clinic() (name, number string) {
	name, number = a.facts.Account.Clinic, a.facts.Account.Phone
	if c := a.day.Plan.Contact; c.Phone != "" {
		number = c.Phone
		if c.Clinic != "" {
			name = c.Clinic
		}
	}
	gone := a.facts.Trouble == TroubleLost // the records are, the number must not be
	if number == "" && (gone || a.facts.Account.State != Unknown) || !a.facts.Loaded {
		name, number = a.about.LastClinic, a.about.LastPhone
	}
	return name, number
}

// emergency is the emergency number of the place as a noun, and as a number
// to dial where the clinic gave one.
func (a *App) emergency() (name, number string) {
	if e := a.day.Plan.Contact.Emergency; e != "" {
		return e, e
	}
	return a.t(words.EmergencyName), ""
}

package screen

import (
	"errors"
	"strings"

	"unsling/app/words"
)

// enrolState is the joining of a clinic.
type enrolState struct {
	secret  string // from the link's fragment
	typing  bool   // the patient types though the link holds a secret
	code    string // as typed
	pin     string
	wantPin bool // a number goes with the link
	busy    bool
	problem string
	other   otherRecord // what is asked about the records on this phone
}

// otherRecord is where the question stands whose the records on this phone
// are, after a code of another record.
type otherRecord string

const (
	otherAsked otherRecord = "asked" // nothing is sent before the answer
	otherNot   otherRecord = "not"   // they are not this person's: the clinic is called
)

// OtherRecord is the refusal of a code that is for another record than the one
// this phone was enrolled for.
const OtherRecord = "other_record"

// arrive takes the secret out of the link's fragment.
func (s *enrolState) arrive(fragment string) {
	if fragment = strings.TrimSpace(fragment); fragment != "" {
		s.secret = fragment
	}
}

// enrolView is what joining shows.
type enrolView struct {
	Tab     bool // an iPhone's browser tab: install first, send nothing
	Steps   []string
	Linked  bool
	Pending string // the number to compare
	Problem string
	Busy    bool
	Code    string
	Pin     string
	WantPin bool
	Other   otherRecord
}

func (a *App) viewEnrol() enrolView {
	s := &a.enrol
	v := enrolView{Problem: s.problem, Busy: s.busy, Code: s.code, Pin: s.pin, WantPin: s.wantPin, Linked: s.secret != "" && !s.typing, Other: s.other}
	if a.facts.Account.State == Pending {
		v.Pending = a.facts.Account.Check
		return v
	}
	if a.about.Kind == Apple && !a.about.Installed {
		v.Tab = true
		v.Steps = a.installSteps()
	}
	return v
}

// codeLetters is how many letters a typed code has (Crockford's base 32).
const codeLetters = 8

// cleanCode takes what people add to a code out of it, and reads letters that
// look like digits as those (Crockford): o is 0, i and l are 1.
func cleanCode(s string) string {
	var b strings.Builder
	for _, r := range strings.ToUpper(s) {
		switch {
		case r == 'O':
			r = '0'
		case r == 'I' || r == 'L':
			r = '1'
		}
		if r >= '0' && r <= '9' || r >= 'A' && r <= 'Z' {
			b.WriteRune(r)
		}
	}
	return b.String()
}

// join asks the clinic. What was typed stays where it is when it refuses.
func (a *App) join() { a.joinAs(false) }

// answerOther takes whose the records on this phone are.
func (a *App) answerOther(mine bool) {
	if mine || a.enrol.busy {
		a.joinAs(mine)
		return
	}
	a.enrol.other = otherNot
	a.aloud = a.t(words.OtherNot)
}

// joinAs joins; mine is said by the person, and only when asked.
func (a *App) joinAs(mine bool) {
	s := &a.enrol
	if s.busy || a.about.Kind == Apple && !a.about.Installed {
		return
	}
	code := s.secret
	if s.secret == "" || s.typing {
		code = cleanCode(s.code)
		if len(code) != codeLetters {
			s.problem = words.Refusal(a.lang(), "code_short")
			return
		}
	}
	pin := ""
	if s.wantPin {
		pin = cleanCode(s.pin)
	}
	if pin != "" && len(pin) != 6 {
		s.problem = words.Refusal(a.lang(), "pin_short")
		return
	}
	s.busy, s.problem = true, ""
	a.aloud = a.t(words.EnrolBusy)
	err := errBroken
	a.run(func() { err = a.d.Sender.Enrol(code, pin, mine) }, func() {
		s.busy = false
		a.look()
		if err != nil {
			code := refusalCode(err)
			s.problem = words.Refusal(a.lang(), code)
			s.wantPin = s.wantPin || code == "wrong_pin"
			a.aloud = s.problem
			s.other = ""
			if code == OtherRecord && !mine {
				s.other, s.problem, a.aloud = otherAsked, "", a.t(words.OtherTitle)
			}
			return
		}
		*s, a.aloud = enrolState{}, ""
		a.noteLetters()
		a.tellShell()
		a.goTo(PlaceNow)
	})
}

func refusalCode(err error) string {
	var r *Refusal
	if errors.As(err, &r) {
		return r.Code
	}
	if errors.Is(err, ErrStorage) || errors.Is(err, ErrFull) {
		return "storage"
	}
	return ""
}

// installSteps are the steps of putting the app on the home screen.
func (a *App) installSteps() []string {
	switch a.about.Kind {
	case Apple:
		return a.texts(words.AppleSteps[:]...)
	case Android:
		return a.texts(words.AndroidSteps[:]...)
	}
	return a.texts(words.OtherSteps[:]...)
}

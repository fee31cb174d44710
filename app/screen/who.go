package screen

import (
	"errors"
	"slices"
	"time"

	"unsling/app/words"
)

// PlaceWho is where somebody says who they are, or makes room for another.
const PlaceWho Place = "/who"

// MostPeople is how many people a phone holds.
const MostPeople = 4

// WhoAgain is after how long out of sight a shared phone asks again whose
// hand it is in. Choice of this project.
const WhoAgain = 30 * time.Minute

type whoState struct {
	again   bool // asked again
	busy    bool
	problem string
}

// whoView is the page of who shares the phone.
type whoView struct {
	Ask     bool // several are here: who is it now?
	Rows    []whoRow
	New     bool // there is room
	Mine    bool // somebody's app is open
	Waits   string
	Text    []string
	Problem string
	Busy    bool
}

type whoRow struct {
	ID, Letters, Sub string
}

func (a *App) viewWho() whoView {
	list := a.d.People.List()
	v := whoView{Ask: a.d.People.Asks() || a.shared(), New: len(list) < MostPeople, Mine: a.here() && !a.asksWho(), Busy: a.who.busy, Problem: a.who.problem}
	for i, p := range list {
		r := whoRow{p.ID, p.Letters, ""}
		if r.Letters == "" {
			r.Letters, r.Sub = itoa(i+1), a.t(words.WhoNone)
		}
		if v.Mine && p.ID == a.d.People.Mine() {
			r.Sub = a.t(words.WhoNow)
		}
		v.Rows = append(v.Rows, r)
	}
	if v.Mine && len(a.facts.Sending.Unsent) > 0 && a.prefs.Letters != "" {
		v.Waits = a.f(words.WhoWaits, a.prefs.Letters, a.unsentKinds())
	}
	if v.Mine {
		v.Text = a.texts(words.WhoOwn, words.WhoSees, words.WhoSends, words.WhoSpace)
	}
	if !v.New {
		v.Text = append(v.Text, a.t(words.WhoFull))
	}
	return v
}

// here reports whether the person of this window is on this phone: somebody
// new is not before they have joined.
func (a *App) here() bool {
	mine := a.d.People.Mine()
	return slices.ContainsFunc(a.d.People.List(), func(p Person) bool { return p.ID == mine })
}

// shared reports whether more than one person uses this phone.
func (a *App) shared() bool {
	n := len(a.d.People.List())
	return n > 1 || n == 1 && a.d.People.Mine() != "" && !a.here()
}

// asksWho reports whether nothing is shown before somebody has said who they
// are.
func (a *App) asksWho() bool { return a.who.again || a.d.People.Asks() }

// asksWhose reports whether a link was opened that may be for another person
// than the one whose app this is.
func (a *App) asksWhose() bool {
	at := a.facts.Account
	return a.place == PlaceEnrol && a.enrol.secret != "" && at.State != Unknown && !at.Forgotten
}

// takenLetters reports whether somebody else here has these letters.
func (a *App) takenLetters(letters string) bool {
	mine := a.d.People.Mine()
	return slices.ContainsFunc(a.d.People.List(), func(p Person) bool { return p.ID != mine && p.Letters == letters })
}

// needsLetters reports whether nobody could tell whose this app is.
func (a *App) needsLetters() bool {
	return a.shared() && a.prefs.First >= FirstDone && a.here() && (a.prefs.Letters == "" || a.takenLetters(a.prefs.Letters))
}

// onlyLetters reports whether the page of the letters is asked for alone.
func (a *App) onlyLetters() bool {
	return a.first.again || a.place == PlaceNow && !a.sideDiffers() && a.needsLetters()
}

// noteLetters tells the list of people whose app this is. Letters that only
// the list still has are taken over.
func (a *App) noteLetters() {
	mine := a.d.People.Mine()
	for _, p := range a.d.People.List() {
		if p.ID == mine && a.prefs.Letters == "" {
			a.prefs.Letters = p.Letters
		}
	}
	if s := a.facts.Account.State; s != Unknown {
		a.d.People.Note(a.prefs.Letters)
	}
}

// underWay reports whether something would end if the app were opened for
// somebody else now: a time that runs, a practice, or a measurement.
func (a *App) underWay() bool {
	s, m := &a.session, &a.measure
	switch m.step {
	case stepSetUp, stepPhoto, stepTilt, stepLevel:
		return true
	case stepResult:
		if m.state != kept {
			return true
		}
	}
	return s.running() || s.state == beingKept || s.practice && s.waits()
}

// toWho goes to the page of who it is, unless something is under way.
func (a *App) toWho() {
	if a.underWay() {
		a.say(a.t(words.WhoBusy), false)
		return
	}
	a.goTo(PlaceWho)
}

// askAgain asks who it is after a shared phone was out of sight for long.
// Whoever is in a session is not asked.
func (a *App) askAgain() {
	l := &a.lock
	if !a.shared() || l.awayAt.IsZero() || a.session.waits() || a.underWay() {
		return
	}
	gone := a.d.Clock.Now().Sub(l.awayAt)
	if gone < 0 || gone >= WhoAgain || a.d.Clock.Mono()-l.awayMono >= WhoAgain.Milliseconds() {
		a.who = whoState{again: true}
	}
}

// choosePerson takes who it is. The app of somebody else is opened anew.
func (a *App) choosePerson(id string) {
	was := a.d.People.Mine()
	if was != "" && was != id && a.underWay() {
		a.who.problem = a.t(words.WhoBusy)
		a.aloud = a.who.problem
		return
	}
	a.become(was == "" || was == id, func() error { return a.d.People.Choose(id) })
}

// addPerson makes room for somebody new, with the code that was opened here.
func (a *App) addPerson() {
	if a.underWay() {
		a.who.problem = a.t(words.WhoBusy)
		a.aloud = a.who.problem
		return
	}
	secret := a.enrol.secret
	if code := cleanCode(a.enrol.code); secret == "" && len(code) == codeLetters {
		secret = code
	}
	a.become(a.d.People.Mine() == "", func() error { return a.d.People.Add(secret) })
}

// become runs what makes this another's window; stays says that the app is not
// opened anew.
func (a *App) become(stays bool, do func() error) {
	if a.who.busy {
		return
	}
	a.who.busy, a.who.problem = true, ""
	err := errBroken
	a.run(func() { err = do() }, func() {
		a.who.busy = false
		if err != nil {
			a.who.problem = a.t(words.NotSwitched)
			if errors.Is(err, ErrCrowded) {
				a.who.problem = a.t(words.WhoFull)
			}
			a.aloud = a.who.problem
			return
		}
		if !stays {
			a.who.busy = true // the page goes away
			return
		}
		a.who = whoState{}
		a.look()
		if a.place == PlaceWho {
			a.goTo(PlaceNow)
			return
		}
		a.enter()
	})
}

// mineIsIt: the code that was opened is for whose app this is.
func (a *App) mineIsIt() {
	a.enrol = enrolState{}
	a.goTo(PlaceNow)
	a.say(a.t(words.WhoseMineSub), false)
}

// changeLetters opens the page of the letters.
func (a *App) changeLetters() {
	a.first = firstState{again: true, letters: a.prefs.Letters}
}

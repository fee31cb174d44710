package screen

import "unsling/app/words"

// leaveState is the emptying of this phone.
type leaveState struct {
	sure   bool
	asked  int64 // when "are you sure?" was shown, in milliseconds of the app
	busy   bool
	failed bool
	left   bool // it is empty
	told   bool // the clinic knows
	number string
	others bool // it was one person's part of a shared phone
}

type leaveView struct {
	Lost   string // what is not sent and lost
	Unsent bool
	Busy   bool
	Soon   bool // nobody can have read the question yet
	Sure   bool
	Failed string
	Told   string
	Why    string // why the phone must be emptied; "" when the patient wants it
	Locked bool
}

func (a *App) viewLeave() leaveView {
	s := &a.gone
	v := leaveView{Busy: s.busy, Sure: s.sure, Soon: a.tooSoon(), Told: a.t(words.LeftUntold), Locked: a.lock.locked}
	if s.told {
		v.Told = a.t(words.LeftTold)
	}
	if s.failed {
		v.Failed = a.t(words.LeaveFailed)
	}
	switch {
	case a.facts.Trouble == TroubleKeyLost:
		v.Why, v.Lost = a.t(words.KeyLostDo), a.t(words.LeaveUnknown)
	case len(a.facts.Sending.Unsent) > 0:
		v.Unsent, v.Lost = true, a.f(words.LeaveUnsent, a.unsentKinds())
	default:
		v.Lost = a.t(words.LeaveAllSent)
	}
	return v
}

// sureTime is how long, in milliseconds, the last question stands before it can be answered with yes: a tap that comes
// twice has not read it.
const sureTime = 1000

// askErase shows the last question.
func (a *App) askErase() { a.gone.sure, a.gone.asked = true, a.d.Clock.Mono() }

// tooSoon reports whether nobody can have read the last question yet.
func (a *App) tooSoon() bool { return a.gone.sure && a.d.Clock.Mono()-a.gone.asked < sureTime }

// leaveNow erases the phone after the patient has said so twice. The clinic is
// told first, while there is a key to sign with; without a connection the
// phone is emptied all the same and says what to do.
func (a *App) leaveNow() {
	s := &a.gone
	if s.busy || !s.sure || s.left || a.tooSoon() {
		return
	}
	_, s.number = a.clinic()
	s.others = a.shared()
	s.busy, s.failed = true, false
	a.aloud = a.t(words.LeaveBusy)
	told, wiped := errBroken, errBroken
	a.run(func() {
		told = a.d.Sender.Leave()
		wiped = a.d.Guard.Wipe()
	}, func() {
		s.busy = false
		s.told = s.told || told == nil && a.facts.Trouble != TroubleKeyLost // without its key it could say nothing
		if wiped != nil {
			s.failed = true
			a.aloud = a.t(words.LeaveFailed)
			return
		}
		s.left = true
		a.notice, a.urgent, a.aloud = "", false, a.t(a.leaveWord(words.LeftTitle, words.WhoGone))
	})
}

// leaveWord is what is said where the phone is one person's, or mine where
// others share it.
func (a *App) leaveWord(all, mine words.Text) words.Text {
	if a.gone.others || !a.gone.left && a.shared() {
		return mine
	}
	return all
}

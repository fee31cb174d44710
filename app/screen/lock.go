package screen

import (
	"crypto/subtle"
	"encoding/json"
	"strings"
	"time"

	"unsling/app/words"
)

// The app lock hides the records from people who pick up an unlocked phone.
// It is a convenience: the records are encrypted under a key that this very
// program can use, and who controls the browser can pass the lock. It never
// stands before help, warning signs, the numbers to call, or a session.

// lockKind is how the owner is recognised.
type lockKind string

const (
	lockNone  lockKind = ""
	lockByPIN lockKind = "pin"
	lockByOwn lockKind = "own" // the phone's own check
)

// lockKept is what stands on the disk.
type lockKept struct {
	Kind    lockKind  `json:"kind"`
	Salt    []byte    `json:"salt,omitempty"`
	Hash    []byte    `json:"hash,omitempty"`
	ID      []byte    `json:"id,omitempty"` // what the phone asks for
	Minutes int       `json:"minutes"`      // away before it locks
	Wrong   int       `json:"wrong,omitempty"`
	WrongAt time.Time `json:"wrong_at,omitzero"`
}

const lockName = "lock"

var lockMinutes = []int{1, 5, 15}

type lockState struct {
	kept     lockKept
	locked   bool
	forgot   bool
	choosing bool // a PIN is being chosen
	can      bool // the phone can check its owner; known once asked
	pin      string
	again    string
	code     string
	problem  string
	busy     bool
	awayAt   time.Time
	awayMono int64
}

func readLock(data []byte) lockKept {
	var k lockKept
	if json.Unmarshal(data, &k) != nil {
		return lockKept{}
	}
	whole := k.Kind == lockByPIN && len(k.Salt) > 0 && len(k.Hash) > 0 || k.Kind == lockByOwn && len(k.ID) > 0
	if !whole {
		return lockKept{}
	}
	if k.Minutes < 1 {
		k.Minutes = 5
	}
	return k
}

// keepLock writes what holds from now on.
func (a *App) keepLock(k lockKept, then func(error)) {
	var data []byte
	if k.Kind != lockNone {
		data, _ = json.Marshal(k) // plain values: cannot fail
	}
	err := errBroken
	a.run(func() { err = a.d.Journal.Keep(lockName, data) }, func() { then(err) })
}

// lockAtStart locks an app that was just opened.
func (a *App) lockAtStart(data []byte) {
	a.lock.kept = readLock(data)
	a.lock.locked = a.lock.kept.Kind != lockNone
}

// away notes when the app left the screen.
func (a *App) away() { a.lock.awayAt, a.lock.awayMono = a.d.Clock.Now(), a.d.Clock.Mono() }

// lockIfLong locks when the app was away too long. A clock that was set back
// counts as too long. A session that runs is never locked.
func (a *App) lockIfLong() {
	l := &a.lock
	if l.kept.Kind == lockNone || l.locked || l.awayAt.IsZero() || a.session.waits() {
		return
	}
	limit := time.Duration(l.kept.Minutes) * time.Minute
	gone := a.d.Clock.Now().Sub(l.awayAt)
	if gone < 0 || gone >= limit || a.d.Clock.Mono()-l.awayMono >= limit.Milliseconds() {
		l.locked, l.pin, l.problem, l.forgot = true, "", "", false
		a.notice, a.urgent, a.aloud = "", false, ""
	}
}

// waitAfter is how long to wait after so many wrong tries in a row.
func waitAfter(wrong int) time.Duration {
	steps := []time.Duration{0, 0, 0, 30 * time.Second, time.Minute, 5 * time.Minute, 15 * time.Minute}
	if wrong < len(steps) {
		return steps[wrong]
	}
	return time.Hour
}

// lockWait is how long the next try has to wait now.
func (a *App) lockWait() time.Duration {
	k := a.lock.kept
	since := a.d.Clock.Now().Sub(k.WrongAt)
	return max(0, waitAfter(k.Wrong)-max(0, since))
}

// unlockPIN tries the PIN that was typed. The try is counted on the disk
// before it is judged, so that closing the app does not undo it.
func (a *App) unlockPIN() {
	l := &a.lock
	if l.busy || !l.locked {
		return
	}
	if wait := a.lockWait(); wait > 0 {
		l.problem = a.f(words.LockWait, a.waitText(wait))
		a.aloud = l.problem
		return
	}
	pin := digits(l.pin)
	l.busy, l.problem = true, ""
	l.kept.Wrong++
	l.kept.WrongAt = a.d.Clock.Now()
	k := l.kept
	a.keepLock(k, func(error) { // a full disk must not keep the owner out
		var hash []byte
		err := errBroken
		a.run(func() { hash, err = a.d.Guard.Stretch(pin, k.Salt) }, func() {
			l.busy, l.pin = false, ""
			if err != nil || subtle.ConstantTimeCompare(hash, k.Hash) != 1 {
				l.problem = a.t(words.LockWrong)
				if wait := a.lockWait(); wait > 0 {
					l.problem += " " + a.f(words.LockWait, a.waitText(wait))
				}
				a.aloud = l.problem
				return
			}
			a.unlocked()
		})
	})
}

// unlockOwn lets the phone check its owner.
func (a *App) unlockOwn() {
	l := &a.lock
	if l.busy || !l.locked {
		return
	}
	l.busy, l.problem = true, ""
	err := errBroken
	a.run(func() { err = a.d.Guard.Check(l.kept.ID) }, func() {
		l.busy = false
		if err != nil {
			l.problem = a.t(words.LockRefused)
			a.aloud = l.problem
			return
		}
		a.unlocked()
	})
}

// unlocked opens the app and forgets wrong tries.
func (a *App) unlocked() {
	l := &a.lock
	l.locked, l.forgot, l.problem, l.awayAt = false, false, "", time.Time{}
	if l.kept.Wrong > 0 {
		l.kept.Wrong, l.kept.WrongAt = 0, time.Time{}
		a.keepLock(l.kept, func(error) {})
	}
	a.look()
	a.enter()
}

// unlockByCode takes the lock off with a new code of the clinic.
func (a *App) unlockByCode() {
	l := &a.lock
	code := cleanCode(l.code)
	if l.busy {
		return
	}
	if len(code) != codeLetters {
		l.problem = words.Refusal(a.lang(), "code_short")
		return
	}
	l.busy, l.problem = true, ""
	err := errBroken
	a.run(func() { err = a.d.Sender.Vouch(code, "") }, func() {
		l.busy = false
		if err != nil {
			l.problem = words.Refusal(a.lang(), refusalCode(err))
			if refusalCode(err) == "device_taken" {
				l.problem = a.t(words.ForgotNo)
			}
			a.aloud = l.problem
			return
		}
		l.code = ""
		a.lockOff()
	})
}

// lockOff takes the lock off for good.
func (a *App) lockOff() {
	a.keepLock(lockKept{}, func(err error) {
		if err != nil {
			a.say(a.storageSays(err), false)
			return
		}
		a.lock = lockState{can: a.lock.can}
		a.aloud = a.t(words.LockIsOff)
	})
}

// setLockPIN turns the lock on with the PIN that was typed twice.
func (a *App) setLockPIN() {
	l := &a.lock
	pin := digits(l.pin)
	switch {
	case l.busy:
		return
	case len(pin) < 4 || len(pin) > 8 || len(pin) != len(strings.TrimSpace(l.pin)):
		l.problem = a.t(words.LockShort)
	case simplePIN(pin):
		l.problem = a.t(words.LockSimple)
	case digits(l.again) != pin:
		l.problem, l.again = a.t(words.LockDiffer), ""
	default:
		l.problem = ""
	}
	if l.problem != "" {
		a.aloud = l.problem
		return
	}
	l.busy = true
	k := lockKept{Kind: lockByPIN, Salt: a.d.Guard.Salt(), Minutes: l.minutes()}
	err := errBroken
	a.run(func() { k.Hash, err = a.d.Guard.Stretch(pin, k.Salt) }, func() { a.lockOn(k, err) })
}

// setLockOwn turns the lock on with the phone's own check.
func (a *App) setLockOwn() {
	l := &a.lock
	if l.busy {
		return
	}
	l.busy, l.problem = true, ""
	k := lockKept{Kind: lockByOwn, Minutes: l.minutes()}
	err := errBroken
	a.run(func() { k.ID, err = a.d.Guard.Bind() }, func() {
		if err != nil {
			l.busy, l.problem = false, a.t(words.LockNoOwn)
			a.aloud = l.problem
			return
		}
		a.lockOn(k, nil)
	})
}

func (l *lockState) minutes() int {
	if l.kept.Minutes > 0 {
		return l.kept.Minutes
	}
	return 5
}

func (a *App) lockOn(k lockKept, err error) {
	l := &a.lock
	fail := func() {
		l.busy, l.problem = false, a.t(words.LockNotKept)
		a.aloud = l.problem
	}
	if err != nil {
		fail()
		return
	}
	a.keepLock(k, func(err error) {
		if err != nil {
			fail()
			return
		}
		a.lock = lockState{kept: k, can: l.can}
		a.aloud = a.t(words.LockIsOn)
	})
}

func (a *App) setLockMinutes(n int) {
	k := a.lock.kept
	k.Minutes = n
	a.keepLock(k, func(err error) {
		if err != nil {
			a.say(a.storageSays(err), false)
			return
		}
		a.lock.kept = k
	})
}

// digits keeps the digits of what was typed.
func digits(s string) string {
	return strings.Map(func(r rune) rune {
		if r < '0' || r > '9' {
			return -1
		}
		return r
	}, s)
}

// simplePIN: all the same, or one after the other.
func simplePIN(pin string) bool {
	same, up, down := true, true, true
	for i := 1; i < len(pin); i++ {
		d := int(pin[i]) - int(pin[i-1])
		same, up, down = same && d == 0, up && d == 1, down && d == -1
	}
	return same || up || down
}

func (a *App) waitText(d time.Duration) string {
	if d > 90*time.Second {
		return words.LockMinute.In(a.lang(), int((d+time.Minute-1)/time.Minute))
	}
	return words.LockSeconds.In(a.lang(), int((d+time.Second-1)/time.Second))
}

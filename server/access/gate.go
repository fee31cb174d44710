package access

import (
	"sync"
	"time"
)

// Gate guards whatever can be guessed: sign-in, its second step, enrolment. It
// counts per account or code, per address, and for the whole server.
//
// A try is counted as wrong before it is looked at, under one lock with the
// question whether it may be looked at, and taken back when it was right: a
// thousand tries at once are judged as if they had come one after the other.
//
// What the numbers mean for a guesser who waits exactly as told: 20 tries and
// then one a minute from an address, about 1,460 a day. A typed code has 40
// bits and lives for 15 minutes; with 100 of them open a try hits one with
// 100 in 2^40, so a thousand addresses need about 20 years for an even chance.
// A number of six digits lies behind a secret of 128 bits and dies after five
// wrong tries. A password has 15 characters. So no address can close anything
// for another one: while the whole server sees too many wrong tries, an address
// that has one of them has no more free ones, and every other address still has
// its first.
type Gate struct {
	mu      sync.Mutex // held over a whole try, so that looking and counting are one
	server  flood      // wrong tries of everybody together
	pair    *Backoff   // account and address: the person who mistypes
	address *Backoff
	name    *Backoff // account or code from anywhere
}

// NewGate: five free tries per account and address, then waits from one
// second to fifteen minutes; at most a minute for an address (a whole clinic
// can have one) and for an account from anywhere, so that a stranger cannot
// lock the surgeon out for long; ten wrong tries a minute, after a burst of
// thirty, for the whole server (NIST SP 800-63B: at most 100 consecutive
// failures on one account).
func NewGate() *Gate {
	return &Gate{
		server:  flood{every: 6 * time.Second, most: 30},
		pair:    NewBackoff(5, time.Second, 15*time.Minute, 10_000),
		address: NewBackoff(20, time.Second, time.Minute, 10_000),
		name:    NewBackoff(20, time.Second, time.Minute, 10_000),
	}
}

// NewCodeGate is NewGate for six digits, behind a password that was right:
// whoever guesses there has the password already, so an account waits up to a
// quarter of an hour from wherever it is tried: 100 tries a day at most, a
// chance below 1 in 3,000 a day. Passkeys and recovery codes go on.
func NewCodeGate() *Gate {
	g := NewGate()
	g.name = NewBackoff(5, time.Second, 15*time.Minute, 10_000)
	return g
}

// Try is one try that may be looked at. It stands as a wrong one until Right
// or Undo.
type Try struct {
	g                   *Gate
	name, pair, address string
	at                  time.Time
}

// Try asks whether a try may be looked at now. wait is how long it has to wait
// when it may not, and then nothing was counted. name is the login or what the
// store knows a code by. It is for secrets that nobody guesses, as of a QR code,
// and for people who have signed in; TryShort is for the others.
func (g *Gate) Try(name, remote string, now time.Time) (*Try, time.Duration) {
	return g.try(name, remote, false, now)
}

// TryShort is Try for what is short enough to be guessed by many together: a
// password, six digits, a typed code.
func (g *Gate) TryShort(name, remote string, now time.Time) (*Try, time.Duration) {
	return g.try(name, remote, true, now)
}

func (g *Gate) try(name, remote string, short bool, now time.Time) (t *Try, wait time.Duration) {
	address := AddressKey(remote)
	t = &Try{g, name, name + "\x00" + address, address, now}
	g.mu.Lock()
	defer g.mu.Unlock()
	wait = max(g.pair.Wait(t.pair, now), g.address.Wait(address, now), g.name.Wait(name, now))
	if short && g.address.stands(address, now) > 0 {
		wait = max(wait, g.server.wait(now))
	}
	if wait > 0 {
		return nil, wait
	}
	g.pair.Wrong(t.pair, now)
	g.address.Wrong(address, now)
	g.name.Wrong(name, now)
	g.server.add(now, 1)
	return t, 0
}

// Right says that the try was right: it counts for nobody, and the account's
// wrong ones, here and from anywhere, are forgotten.
func (t *Try) Right() {
	t.g.mu.Lock()
	defer t.g.mu.Unlock()
	t.g.pair.Right(t.pair)
	t.g.name.Right(t.name)
	t.g.address.undo(t.address)
	t.g.server.add(t.at, -1)
}

// Undo says that nothing was guessed, right or wrong, such as when the store
// could not be asked.
func (t *Try) Undo() {
	t.g.mu.Lock()
	defer t.g.mu.Unlock()
	t.g.pair.undo(t.pair)
	t.g.name.undo(t.name)
	t.g.address.undo(t.address)
	t.g.server.add(t.at, -1)
}

// flood counts wrong tries of everybody, of which one is forgotten in every.
// The zero value but for its bounds has seen none.
type flood struct {
	every time.Duration
	most  float64
	seen  float64
	last  time.Time
}

func (f *flood) settle(now time.Time) {
	if past := now.Sub(f.last); past > 0 {
		f.seen = max(0, f.seen-float64(past)/float64(f.every))
		f.last = now
	}
}

// add counts n tries, and no more than most.
func (f *flood) add(now time.Time, n float64) {
	f.settle(now)
	f.seen = min(f.most, max(0, f.seen+n))
}

// wait is how long until there is room for one more.
func (f *flood) wait(now time.Time) time.Duration {
	f.settle(now)
	return max(0, time.Duration((f.seen+1-f.most)*float64(f.every)))
}

package access

import (
	"net/netip"
	"sync"
	"time"

	"golang.org/x/time/rate"
)

// Limiter is a token bucket per key within bounded memory. When the table is
// full, keys without a bucket of their own share one: an attacker with many
// addresses slows other strangers down, but can neither fill the memory nor
// push a known bucket out.
type Limiter struct {
	mu       sync.Mutex
	every    rate.Limit
	burst    int
	most     int
	buckets  map[string]*rate.Limiter
	overflow *rate.Limiter
	swept    time.Time
}

// NewLimiter allows burst acts at once and then one per every, for each of
// at most most keys.
func NewLimiter(every time.Duration, burst, most int) *Limiter {
	return &Limiter{
		every: rate.Every(every), burst: burst, most: most,
		buckets: make(map[string]*rate.Limiter), overflow: rate.NewLimiter(rate.Every(every), burst),
	}
}

// Allow takes one act from the key's bucket. When it is empty, wait says
// after how long the next one is allowed.
func (l *Limiter) Allow(key string, now time.Time) (ok bool, wait time.Duration) {
	l.mu.Lock()
	defer l.mu.Unlock()
	bucket := l.bucket(key, now)
	if bucket.AllowN(now, 1) {
		return true, 0
	}
	return false, l.missing(bucket, now)
}

// Wait returns what Allow would, without taking anything: 0 for allowed.
func (l *Limiter) Wait(key string, now time.Time) time.Duration {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.missing(l.bucket(key, now), now)
}

func (l *Limiter) missing(bucket *rate.Limiter, now time.Time) time.Duration {
	return max(0, time.Duration((1-bucket.TokensAt(now))/float64(l.every)*float64(time.Second)))
}

func (l *Limiter) bucket(key string, now time.Time) *rate.Limiter {
	if b := l.buckets[key]; b != nil {
		return b
	}
	if len(l.buckets) >= l.most && now.Sub(l.swept) > time.Second {
		l.swept = now
		for k, b := range l.buckets { // a full bucket remembers nothing
			if b.TokensAt(now) >= float64(l.burst) {
				delete(l.buckets, k)
			}
		}
	}
	if len(l.buckets) >= l.most {
		return l.overflow
	}
	b := rate.NewLimiter(l.every, l.burst)
	l.buckets[key] = b
	return b
}

// Backoff makes wrong tries on one key slower and slower: free ones first,
// then a wait that doubles from first up to longest. A right try forgets
// them, and one is forgiven for every four times longest without another.
// Memory is bounded; when the table is full the key that was wrong longest
// ago is forgotten.
type Backoff struct {
	mu             sync.Mutex
	free           int
	first, longest time.Duration
	most           int
	wrong          map[string]tries
}

type tries struct {
	count int
	last  time.Time
}

// NewBackoff remembers at most most keys.
func NewBackoff(free int, first, longest time.Duration, most int) *Backoff {
	return &Backoff{free: free, first: first, longest: longest, most: most, wrong: make(map[string]tries)}
}

// Wait returns how long the key has to wait before its next try, 0 for not
// at all.
func (b *Backoff) Wait(key string, now time.Time) time.Duration {
	b.mu.Lock()
	defer b.mu.Unlock()
	t := b.wrong[key]
	count := b.standing(t, now)
	if count < b.free {
		return 0
	}
	return max(0, t.last.Add(b.delay(count)).Sub(now))
}

// standing is the count less what time has forgiven.
func (b *Backoff) standing(t tries, now time.Time) int {
	return max(0, t.count-int(max(0, now.Sub(t.last))/(4*b.longest)))
}

func (b *Backoff) delay(count int) time.Duration {
	d := b.first
	for range count - b.free {
		if d *= 2; d >= b.longest {
			return b.longest
		}
	}
	return d
}

// Wrong counts a wrong try.
func (b *Backoff) Wrong(key string, now time.Time) {
	b.mu.Lock()
	defer b.mu.Unlock()
	t, known := b.wrong[key]
	if !known && len(b.wrong) >= b.most {
		b.forgetOldest()
	}
	b.wrong[key] = tries{count: b.standing(t, now) + 1, last: now}
}

func (b *Backoff) forgetOldest() {
	var oldest string
	var when time.Time
	for k, t := range b.wrong {
		if oldest == "" || t.last.Before(when) {
			oldest, when = k, t.last
		}
	}
	delete(b.wrong, oldest)
}

// Right forgets the key's wrong tries.
func (b *Backoff) Right(key string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	delete(b.wrong, key)
}

// AddressKey is the key of a network address: itself, or its /64 for IPv6,
// of which one household has all. Unreadable addresses share one key.
func AddressKey(remote string) string {
	ap, err := netip.ParseAddrPort(remote)
	addr := ap.Addr()
	if err != nil {
		if addr, err = netip.ParseAddr(remote); err != nil {
			return "?"
		}
	}
	addr = addr.Unmap().WithZone("")
	if addr.Is6() {
		prefix, _ := addr.Prefix(64)
		return prefix.String()
	}
	return addr.String()
}

// Gate guards the doors where something can be guessed: sign-in and
// enrolment. It counts per account or code, per address, and for the whole
// server.
type Gate struct {
	server  *Limiter // wrong tries of everybody together
	pair    *Backoff // account and address: the person who mistypes
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
		server:  NewLimiter(6*time.Second, 30, 1),
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

// Wait returns how long a try has to wait, 0 for go ahead. name is the login
// or what the store knows a code by.
func (g *Gate) Wait(name, remote string, now time.Time) time.Duration {
	address := AddressKey(remote)
	return max(g.pair.Wait(name+"\x00"+address, now), g.address.Wait(address, now), g.name.Wait(name, now))
}

// Wrong counts a wrong try.
func (g *Gate) Wrong(name, remote string, now time.Time) {
	address := AddressKey(remote)
	g.pair.Wrong(name+"\x00"+address, now)
	g.address.Wrong(address, now)
	g.name.Wrong(name, now)
	g.server.Allow("", now)
}

// Flooded returns how long whatever can be guessed should wait because the
// whole server has seen too many wrong tries lately, 0 for not at all.
func (g *Gate) Flooded(now time.Time) time.Duration { return g.server.Wait("", now) }

// Right forgets the wrong tries of this account and address.
func (g *Gate) Right(name, remote string) {
	g.pair.Right(name + "\x00" + AddressKey(remote))
	g.name.Right(name)
}

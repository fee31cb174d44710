package access

import (
	"net/netip"
	"sync"
	"time"

	lru "github.com/hashicorp/golang-lru/v2/simplelru"
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
	wrong          *lru.LRU[string, tries]
}

type tries struct {
	count int
	last  time.Time
}

// NewBackoff remembers at most most keys.
func NewBackoff(free int, first, longest time.Duration, most int) *Backoff {
	wrong, err := lru.NewLRU[string, tries](most, nil)
	if err != nil {
		panic(err) // most is below one
	}
	return &Backoff{free: free, first: first, longest: longest, wrong: wrong}
}

// Wait returns how long the key has to wait before its next try, 0 for not
// at all.
func (b *Backoff) Wait(key string, now time.Time) time.Duration {
	b.mu.Lock()
	defer b.mu.Unlock()
	t, _ := b.wrong.Peek(key)
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

// stands is how many wrong tries a key has now.
func (b *Backoff) stands(key string, now time.Time) int {
	b.mu.Lock()
	defer b.mu.Unlock()
	t, _ := b.wrong.Peek(key)
	return b.standing(t, now)
}

// Wrong counts a wrong try.
func (b *Backoff) Wrong(key string, now time.Time) {
	b.mu.Lock()
	defer b.mu.Unlock()
	t, _ := b.wrong.Peek(key)
	b.wrong.Add(key, tries{count: b.standing(t, now) + 1, last: now})
}

// undo takes one wrong try back. What it made others wait for stays.
func (b *Backoff) undo(key string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if t, ok := b.wrong.Peek(key); ok && t.count > 1 {
		b.wrong.Add(key, tries{count: t.count - 1, last: t.last})
	} else {
		b.wrong.Remove(key)
	}
}

// Right forgets the key's wrong tries.
func (b *Backoff) Right(key string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.wrong.Remove(key)
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

package access

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"sync"
	"time"
)

// NonceLife is how long a nonce out of hello is good.
const NonceLife = 5 * time.Minute

// ErrNonce means that a nonce is not ours or too old; the phone asks for
// another.
var ErrNonce = errors.New("nonce is not good any more")

// Nonces makes and checks nonces without remembering any. The key is drawn
// at every start of the server, so that nothing signed before a start can be
// replayed after it.
type Nonces struct {
	key [32]byte
}

// NewNonces draws the key.
func NewNonces(chance io.Reader) (*Nonces, error) {
	var n Nonces
	if _, err := io.ReadFull(chance, n.key[:]); err != nil {
		return nil, fmt.Errorf("draw nonce key: %w", err)
	}
	return &n, nil
}

// A nonce is 8 bytes of time (Unix milliseconds), 16 of chance and the first
// 16 of their HMAC-SHA-256.
const (
	nonceBody = 8 + 16
	nonceMAC  = 16
)

// New makes a nonce.
func (n *Nonces) New(now time.Time, chance io.Reader) (string, error) {
	raw := make([]byte, nonceBody, nonceBody+nonceMAC)
	binary.BigEndian.PutUint64(raw, uint64(now.UnixMilli()))
	if _, err := io.ReadFull(chance, raw[8:]); err != nil {
		return "", fmt.Errorf("make nonce: %w", err)
	}
	return b64.EncodeToString(append(raw, n.mac(raw)...)), nil
}

// Check returns nil or ErrNonce.
func (n *Nonces) Check(nonce string, now time.Time) error {
	raw, err := b64.DecodeString(nonce)
	if err != nil || len(raw) != nonceBody+nonceMAC || !hmac.Equal(raw[nonceBody:], n.mac(raw[:nonceBody])) {
		return ErrNonce
	}
	made := time.UnixMilli(int64(binary.BigEndian.Uint64(raw)))
	if age := now.Sub(made); age < -Leeway || age > NonceLife {
		return ErrNonce
	}
	return nil
}

func (n *Nonces) mac(body []byte) []byte {
	h := hmac.New(sha256.New, n.key[:])
	h.Write(body)
	return h.Sum(nil)[:nonceMAC]
}

// Once remembers what must not be used twice until it has run out anyway.
// The zero value is not usable; see NewOnce.
type Once struct {
	mu    sync.Mutex
	until map[string]time.Time
	most  int
	swept time.Time
}

// NewOnce remembers at most so many ids. When it is full, new ones are
// refused: a phone that has to wait a minute is better than a replay.
func NewOnce(most int) *Once { return &Once{until: make(map[string]time.Time), most: most} }

// Use reports whether id was not used before, and remembers it until then.
func (o *Once) Use(id string, now, until time.Time) bool { return o.Spend(id, now, until) == nil }

// What Spend refuses.
var (
	ErrUsedUp  = errors.New("this was used before")
	ErrCrowded = errors.New("too many are remembered right now")
)

// Spend is Use that tells what was used before (ErrUsedUp) from no room to
// remember another (ErrCrowded).
func (o *Once) Spend(id string, now, until time.Time) error {
	o.mu.Lock()
	defer o.mu.Unlock()
	if now.Sub(o.swept) >= time.Second || now.Before(o.swept) {
		for old, end := range o.until {
			if end.Before(now) {
				delete(o.until, old)
			}
		}
		o.swept = now
	}
	if _, used := o.until[id]; used {
		return ErrUsedUp
	}
	if len(o.until) >= o.most {
		return ErrCrowded
	}
	o.until[id] = until
	return nil
}

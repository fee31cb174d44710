package api

import (
	"errors"
	"net/http"
	"sync"
	"time"

	"unsling/server/ledger"
	"unsling/sync/wire"
)

// hello greets: the server's time and a nonce, for phones whose clock is
// wrong and for signatures that cannot be replayed.
func (a *API) hello(c *call) error {
	about, err := a.Store.About()
	if err != nil {
		return err
	}
	nonce, err := a.nonces.New(c.now, drawn{a})
	if err != nil {
		return err
	}
	return c.answer(http.StatusOK, wire.Hello{
		Epoch: about.Epoch, ProtoMin: wire.ProtoMin, ProtoMax: wire.Proto, ServerTime: c.now.UTC(), Nonce: nonce,
	})
}

// healthz says that the process lives. It looks at nothing.
func (a *API) healthz(c *call) error {
	return c.answer(http.StatusOK, map[string]string{"status": "ok"})
}

// healthFor is how long one look at the store is good, so that asking often
// costs nothing.
const healthFor = 5 * time.Second

type health struct {
	mu  sync.Mutex
	at  time.Time
	err error
}

var errNotReady = errors.New("the server is starting or stopping")

// readyz says whether to send phones here.
func (a *API) readyz(c *call) error {
	if !a.ready.Load() {
		c.note = errNotReady.Error()
		return unavailable()
	}
	if a.full.Load() {
		c.note = ledger.ErrFull.Error()
		return unavailable()
	}
	a.health.mu.Lock()
	defer a.health.mu.Unlock()
	if since := c.now.Sub(a.health.at); since < 0 || since > healthFor {
		_, a.health.err = a.Store.Health()
		a.health.at = c.now
	}
	if a.health.err != nil {
		return a.health.err
	}
	return c.answer(http.StatusOK, map[string]string{"status": "ready"})
}

// jwks publishes the keys that verify this server's tokens (RFC 7517).
func (a *API) jwks(c *call) error {
	h := c.w.Header()
	h.Set("Content-Type", "application/jwk-set+json")
	h.Set("Cache-Control", "public, max-age=300")
	_, _ = c.w.Write(a.Tokens.CurrentKeys().JWKS())
	return nil
}

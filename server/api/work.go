package api

import (
	"context"
	"time"
)

// exchangesAtWork is how many exchanges are unpacked, stored and packed at
// once: each takes some hundred KiB, and the store writes one after the other. A
// request that waits costs what it weighs as it was sent.
const exchangesAtWork = 8

// patience is how long an exchange waits for its turn before its phone is
// told to come again.
const patience = 15 * time.Second

// turn waits for a place among the exchanges at work. The caller gives it
// back with done.
func (a *API) turn(ctx context.Context) (done func(), err error) {
	ctx, stop := context.WithTimeout(ctx, a.patience)
	defer stop()
	select {
	case a.work <- struct{}{}:
		return func() { <-a.work }, nil
	case <-ctx.Done(): // it took too long, or the phone is gone
		return nil, tooMany(a.patience)
	}
}

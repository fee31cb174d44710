package client

import (
	"errors"
	"time"

	"unsling/sync/wire"
)

// Pace says when to try again. It is not safe for concurrent use.
type Pace struct {
	Chance func() float64 // uniform in [0, 1)
	failed int
}

// The bounds of waiting.
const (
	Idle    = 5 * time.Minute  // between contacts when all is well and the app is open
	Soonest = 2 * time.Second  // after the first failure
	Longest = 10 * time.Minute // after many
	Patient = 6 * time.Hour    // after a refusal that only people can change
)

// Next returns how long to wait after a run that came to r and err. An append
// or a new connection may call Sync earlier; that does not harm.
func (p *Pace) Next(r Result, err error) time.Duration {
	if err == nil && r.Code == "" {
		p.failed = 0
		if !r.Done {
			return Soonest
		}
		return Idle
	}
	p.failed++
	if err == nil || !errors.Is(err, ErrNoAnswer) {
		switch r.Code {
		case wire.UnknownDevice, wire.Forbidden, wire.TooOld, wire.TooNew, wire.Erased, wire.DeviceTaken:
			return p.spread(Patient)
		case wire.Pending:
			return p.spread(15 * time.Second)
		}
	}
	wait := Soonest
	for i := 1; i < p.failed && wait < Longest; i++ {
		wait *= 2
	}
	return p.spread(min(wait, Longest))
}

// spread returns d less up to half of it, so that phones do not come all at
// once after the server was away.
func (p *Pace) spread(d time.Duration) time.Duration {
	return d - time.Duration(p.Chance()*float64(d/2))
}

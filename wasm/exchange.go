package main

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"unsling/app/screen"
	"unsling/engine/rom"
	"unsling/sync/client"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// exchanger brings log and server together: after each record, when the phone comes back, and from time to time. It is a
// screen.Sender.
type exchanger struct {
	log    *phoneLog
	client *client.Client
	syncer *client.Syncer
	pace   *client.Pace
	// name is what this phone is called on the clinic's list.
	name string
	// alone runs f in at most one window at a time, and reports false when another window is at it. That saves work;
	// nothing depends on it.
	alone  func(ctx context.Context, f func()) bool
	online func() bool

	one  sync.Mutex    // one exchange at a time in this window
	wake chan struct{} // holds one
}

func newExchanger(l *phoneLog, c *client.Client, p *client.Pace) *exchanger {
	x := &exchanger{
		log: l, client: c, pace: p, wake: make(chan struct{}, 1),
		alone:  func(_ context.Context, f func()) bool { f(); return true },
		online: func() bool { return true },
	}
	x.syncer = &client.Syncer{
		Store: l.store, Server: c, App: l.version, Now: l.now,
		Following: func() int { return l.Facts().Following },
		Learned:   func(lines [][]byte) { l.learn(context.Background(), lines) },
	}
	l.wrote = x.Wake
	return x
}

// Wake asks for an exchange soon; it does not wait.
func (x *exchanger) Wake() {
	select {
	case x.wake <- struct{}{}:
	default:
	}
}

// Run exchanges until ctx ends.
func (x *exchanger) Run(ctx context.Context) {
	for {
		timer := time.NewTimer(x.turn(ctx))
		select {
		case <-timer.C:
		case <-x.wake:
		case <-ctx.Done():
			timer.Stop()
			return
		}
		timer.Stop()
	}
}

// elsewhere is how long to leave an exchange to another window before looking whether it has sent our records too.
const elsewhere = 5 * time.Second

// turn does what is to be done now, and says when to come back. A fault in it must not end the sending for good.
func (x *exchanger) turn(ctx context.Context) (next time.Duration) {
	defer func() {
		if r := recover(); r != nil {
			x.log.change(func(f *screen.Facts) { f.Sending.Busy = false })
			next = client.Longest
		}
	}()
	if !x.log.Facts().Loaded {
		if x.log.read(ctx) != nil {
			return elsewhere // the disk did not answer yet
		}
	}
	if x.log.Facts().Account.State == screen.Unknown {
		return client.Idle
	}
	next = elsewhere
	if !x.alone(ctx, func() { next = x.exchange(ctx) }) {
		_ = x.log.catchUp(ctx) // its trouble is in the facts
	}
	return next
}

// limit bounds one exchange, so that a dead connection does not hold back the next.
const limit = 90 * time.Second

// exchange exchanges once, puts what came of it into the facts, and says when to do so again.
func (x *exchanger) exchange(ctx context.Context) (next time.Duration) {
	x.one.Lock()
	defer x.one.Unlock()
	ctx, cancel := context.WithTimeout(ctx, limit)
	defer cancel()
	_ = x.log.catchUp(ctx) // before our own pull moves the cursor past what another window fetched
	before := x.log.Facts().Sending.Contact
	x.log.change(func(f *screen.Facts) { f.Sending.Busy = true })
	result, err := x.syncer.Sync(ctx)
	if err == nil && result.Code == "" {
		if x.adopt(ctx) {
			result, err = x.syncer.Sync(ctx) // the clinic learns at once which plan is followed
		}
	}
	failed := x.failure(result.Code, err)
	x.log.change(func(f *screen.Facts) { f.Sending.Busy, f.Sending.Failed = false, failed })
	_ = x.log.look(ctx) // its trouble is in the facts
	x.log.pulled(ctx)
	if contact := x.log.Facts().Sending.Contact; contact.After(before) {
		x.log.noteClock(ctx, contact)
	}
	return x.pace.Next(result, err)
}

// failure is why an exchange came to nothing, as far as a patient can use it.
func (x *exchanger) failure(code wire.Code, err error) screen.Failure {
	switch {
	case errors.Is(err, client.ErrNoAnswer), errors.Is(err, context.DeadlineExceeded):
		if !x.online() {
			return screen.FailedOffline
		}
		return screen.FailedServer
	case err != nil:
		_ = x.log.trouble(err)
		return screen.FailedNot // the disk's trouble has its own words
	}
	switch code {
	case "", wire.Pending:
		return screen.FailedNot
	case wire.Unavailable, wire.Internal, wire.TooMany, wire.TooNew, wire.NotFound:
		return screen.FailedServer
	}
	return screen.FailedRefused
}

// adopt records that a newer revision is followed from now on, of every episode that goes on, and reports whether it did.
func (x *exchanger) adopt(ctx context.Context) (done bool) {
	h := x.log.Facts().History
	for _, episode := range h.EpisodeIDs() {
		e, _ := h.Episode(episode)
		a, ok := replica.Adopt(h, episode, nil)
		if !ok || !a.New || e.State.Ended() && episode != h.Current(rom.DateOf(x.log.now())) {
			continue
		}
		line, err := x.log.writer.Append(ctx, wire.KindAdopted, rom.Adopted{Episode: episode, Rev: a.Plan.Rev})
		if err != nil {
			_ = x.log.trouble(err)
			return done
		}
		x.log.learn(ctx, [][]byte{line.Line})
		done = true
	}
	return done
}

// Exchange sends and fetches once.
func (x *exchanger) Exchange() error {
	x.exchange(context.Background())
	if f := x.log.Facts().Sending.Failed; f != screen.FailedNot {
		return fmt.Errorf("exchange: %s", f)
	}
	return nil
}

// refusalOf gives an answer that is no success the screens' form; nil for none.
func (x *exchanger) refusalOf(err error) error {
	refused, isRefused := wire.AsError(err)
	switch {
	case err == nil:
		return nil
	case isRefused:
		return &screen.Refusal{Code: string(refused.Code)}
	case errors.Is(err, client.ErrOtherPatient):
		return &screen.Refusal{Code: screen.OtherRecord}
	case errors.Is(err, client.ErrNoAnswer), errors.Is(err, context.DeadlineExceeded):
		// Nothing was refused, but what to do about it is told in the same place.
		if !x.online() {
			return &screen.Refusal{Code: "offline"}
		}
		return &screen.Refusal{Code: string(wire.Unavailable)}
	}
	return x.log.trouble(err)
}

// Vouch uses a further code of the clinic up for this phone. A refusal is a *screen.Refusal.
func (x *exchanger) Vouch(code, pin string) error {
	ctx, cancel := context.WithTimeout(context.Background(), limit)
	defer cancel()
	return x.refusalOf(x.client.Vouch(ctx, x.log.store, client.Invitation{Code: code, PIN: pin, Name: x.name}))
}

// leaveLimit is short: a phone without a connection is emptied all the same.
const leaveLimit = 20 * time.Second

// Leave tells the server that this phone leaves.
func (x *exchanger) Leave() error {
	ctx, cancel := context.WithTimeout(context.Background(), leaveLimit)
	defer cancel()
	return x.refusalOf(x.client.Leave(ctx, x.log.store))
}

// Enrol uses an invitation; mine see client.Invitation. A refusal is a *screen.Refusal.
func (x *exchanger) Enrol(code, pin string, mine bool) error {
	ctx, cancel := context.WithTimeout(context.Background(), limit)
	defer cancel()
	_, err := x.client.Join(ctx, x.log.store, client.Invitation{Code: code, PIN: pin, Name: x.name, Mine: mine})
	if err != nil && !errors.Is(err, client.ErrEnrolled) {
		return x.refusalOf(err)
	}
	if err := x.log.read(ctx); err != nil {
		return err
	}
	x.exchange(ctx) // the plan, if there is one already
	x.Wake()        // and from now on in the background
	return nil
}

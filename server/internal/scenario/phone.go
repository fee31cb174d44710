package scenario

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"time"

	"unsling/engine/rom"
	"unsling/server/internal/phonekeys"
	"unsling/sync/client"
	"unsling/sync/journal"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// phone is a simulated installation of the app: the journal in memory, the
// real replica and the real client.
type phone struct {
	ctx    context.Context
	store  *journal.Mem
	write  *journal.Writer
	sync   *client.Syncer
	client *client.Client
	fold   *replica.Folder
	now    func() time.Time
	zone   *time.Location
	rev    int
}

func newPhone(ctx context.Context, base string, hc *http.Client, clock *Clock, zone *time.Location, chance io.Reader) *phone {
	p := &phone{ctx: ctx, store: journal.NewMem(), fold: &replica.Folder{}, zone: zone}
	p.now = func() time.Time { return clock.Now().In(zone) }
	random := func() (b [16]byte) {
		_, _ = io.ReadFull(chance, b[:])
		return b
	}
	start := p.now()
	p.write = &journal.Writer{
		Store: p.store, Author: journal.Author(p.store), Run: "demo", Salt: random, Now: p.now,
		Mono: func() int64 { return p.now().Sub(start).Milliseconds() }, Zone: func() string { return zone.String() },
		Rev: func() int { return p.rev },
	}
	p.client = &client.Client{Base: base, HTTP: client.Over(hc), Keys: &phonekeys.Keys{Chance: chance}, Random: random}
	p.sync = &client.Syncer{
		Store: p.store, Server: p.client, App: "demo", Following: func() int { return p.rev }, Now: p.now,
		Learned: func(lines [][]byte) {
			for _, l := range lines {
				p.fold.Add(l)
			}
		},
	}
	return p
}

// join enrols the phone and fetches what the clinic has.
func (p *phone) join(code string) error {
	if _, err := p.client.Join(p.ctx, p.store, client.Invitation{Code: code, Name: "Invented phone"}); err != nil {
		return fmt.Errorf("enrol a phone: %w", err)
	}
	return p.exchange()
}

// keep appends one record.
func (p *phone) keep(k wire.Kind, body any) error {
	a, err := p.write.Append(p.ctx, k, body)
	if err != nil {
		return err
	}
	p.fold.Add(a.Line)
	return nil
}

// exchange sends and fetches until nothing is left, and adopts newer plans.
func (p *phone) exchange() error {
	for range 2 {
		r, err := p.sync.Sync(p.ctx)
		if err != nil {
			return fmt.Errorf("exchange: %w", err)
		}
		if r.Code != "" {
			return fmt.Errorf("exchange: refused with %s", r.Code)
		}
		adopted, err := p.adopt()
		if err != nil {
			return err
		}
		if !adopted {
			return nil
		}
	}
	return nil
}

// adopt follows the newest revision and writes that it does.
func (p *phone) adopt() (bool, error) {
	h := p.history()
	did := false
	for _, id := range h.EpisodeIDs() {
		a, ok := replica.Adopt(h, id, nil)
		if !ok || !a.New {
			continue
		}
		if err := p.keep(wire.KindAdopted, rom.Adopted{Episode: id, Rev: a.Plan.Rev}); err != nil {
			return false, err
		}
		p.rev, did = max(p.rev, a.Plan.Rev), true
	}
	return did, nil
}

func (p *phone) history() rom.History { return p.fold.History() }

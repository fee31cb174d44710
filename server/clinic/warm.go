package clinic

import (
	"context"
	"errors"
	"fmt"
	"time"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

// Warm judges every patient whose judgement is not the newest, one after the
// other, so that the first list of a day does not wait for all of them. It
// changes nothing in the store and ends early with ctx.
func (d *Desk) Warm(ctx context.Context) error {
	clinic, err := d.Store.Clinic()
	if errors.Is(err, ledger.ErrUnknown) {
		return nil // nobody can be enrolled yet
	} else if err != nil {
		return fmt.Errorf("judge ahead: %w", err)
	}
	panel, err := d.Store.Heads("")
	if err != nil {
		return fmt.Errorf("judge ahead: %w", err)
	}
	zone, err := time.LoadLocation(clinic.Zone)
	if err != nil {
		zone = time.UTC
	}
	local := d.Now().In(zone)
	v := &visit{at: local, today: rom.DateOf(local), minute: local.Hour()*60 + local.Minute(), clinic: clinic, zone: zone, desk: d}
	for _, row := range panel {
		if ctx.Err() != nil {
			return nil
		}
		if _, fresh := v.fresh(row); fresh {
			continue
		}
		if _, err := v.judgeBriefs(row); err != nil {
			return fmt.Errorf("judge ahead: %w", err)
		}
	}
	return nil
}

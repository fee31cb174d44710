package clinic

import (
	"context"
	"errors"
	"fmt"

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
	a := d.source().AsOf(clinic, d.Now())
	for _, row := range panel {
		if ctx.Err() != nil {
			return nil
		}
		if _, fresh := d.judged.Get(a, row); fresh {
			continue
		}
		if _, err := d.judgeBriefs(a, row); err != nil {
			return fmt.Errorf("judge ahead: %w", err)
		}
	}
	return nil
}

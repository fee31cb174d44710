package api

import (
	"errors"
	"net/http"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// leave ends the access of the phone that asks, for good: its owner erases it. What the clinic has stays. A phone whose access
// was ended before is told the same.
func (a *API) leave(c *call) error {
	phone, err := a.phone(c)
	if err != nil {
		return err
	}
	var m wire.Leave
	if err := wire.ReadMessage(http.MaxBytesReader(c.w, c.r.Body, wire.MaxMessage+1), &m); err != nil {
		return bodyError(err)
	}
	trail := c.trail(rom.Author(phone.Author))
	trail.Reason = "left by its owner"
	err = a.Store.RevokeAuthor(rom.Author(phone.Author), trail)
	switch {
	case errors.Is(err, ledger.ErrUnknown):
		return wire.Refuse(wire.UnknownDevice)
	case err != nil && !errors.Is(err, ledger.ErrState):
		return err
	}
	return c.answer(http.StatusOK, wire.Left{State: wire.Revoked})
}

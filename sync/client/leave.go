package client

import (
	"context"

	"unsling/engine/rom"
	"unsling/sync/journal"
	"unsling/sync/wire"
)

// Leave tells the server that this phone's owner erases it: its access ends for good. What was not sent is not sent any more.
// A phone that the server does not know, or was never enrolled, has nothing to tell and gets no error. Errors are ErrNoAnswer,
// *wire.Error and those of the journal.
func (c *Client) Leave(ctx context.Context, s journal.Store) error {
	st, err := journal.LoadState(ctx, s)
	if err != nil || st.Author == "" {
		return err
	}
	err = c.withToken(ctx, st.Author, func(token string) error {
		var out wire.Left
		return c.callJSON(ctx, wire.PathLeave, token, wire.Leave{}, &out)
	})
	if refused, ok := wire.AsError(err); ok && refused.Code == wire.UnknownDevice {
		return nil
	}
	return err
}

// Vouch uses a further invitation up for this phone, which is in already: who has one was given it by the clinic. Nothing
// changes but that. Errors are those of Enrol; device_taken means that the invitation is for somebody else.
func (c *Client) Vouch(ctx context.Context, s journal.Store, inv Invitation) error {
	in, err := Load(ctx, s)
	if err != nil {
		return err
	}
	st, err := journal.LoadState(ctx, s)
	if err != nil {
		return err
	}
	if in.Enrolled == nil || st.Author != in.Identity.Author { // a copy's key is not remembered with its id
		return wire.Refuse(wire.DeviceTaken)
	}
	_, err = c.Enrol(ctx, inv, Identity{Author: rom.Author(in.Identity.Author), Key: in.Identity.Key})
	return err
}

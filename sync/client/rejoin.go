package client

import (
	"context"
	"errors"
	"fmt"

	"unsling/sync/journal"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// ErrOtherPatient means that the new code is of another patient than the one
// whose records this phone holds, as after the clinic began with an empty
// server. Nothing was sent. Join again with Mine once the person has said
// that the records on this phone are theirs.
var ErrOtherPatient = errors.New("the code is for another record than the one this phone was enrolled for")

// rejoin enrols a phone anew that the server does not know any more. It keeps
// all records; those that are its own go on under the new name and are sent
// again. Until the answer is on the disk the phone stays who it was.
func (c *Client) rejoin(ctx context.Context, s journal.Store, in Installation, st replica.State, inv Invitation) (wire.Enrolled, error) {
	for try := 0; ; try++ {
		if in.Next == nil || try > 0 {
			id, err := c.Keys.New(ctx)
			if err != nil {
				return wire.Enrolled{}, fmt.Errorf("make a key: %w", err)
			}
			in.Next = &id
			if err := s.Commit(ctx, journal.Batch{Meta: []journal.Item{in.item()}}); err != nil {
				return wire.Enrolled{}, fmt.Errorf("remember the key: %w", err)
			}
		}
		out, err := c.Enrol(ctx, inv, *in.Next)
		if errors.Is(err, wire.Refuse(wire.DeviceTaken)) && try == 0 {
			continue // an earlier code was used up and its answer lost
		}
		if err != nil {
			return wire.Enrolled{}, err
		}
		if out.Patient != in.Enrolled.Patient && !inv.Mine {
			return wire.Enrolled{}, ErrOtherPatient
		}
		return out, c.becomeNext(ctx, s, in, st, out)
	}
}

// becomeNext writes everything under the new name in one transaction.
func (c *Client) becomeNext(ctx context.Context, s journal.Store, in Installation, st replica.State, out wire.Enrolled) error {
	first, err := journal.First(ctx, s, st.Author)
	if err != nil {
		return err
	}
	own, err := journal.Lines(ctx, s, st.Author, max(1, first), maxTail, maxTail*wire.MaxLine)
	if err != nil {
		return err
	}
	p := replica.NewPhone(st)
	for _, f := range p.Step(replica.Rejoined{Author: in.Next.Author, Epoch: out.Epoch, First: first, Own: own}) {
		save, ok := f.(replica.Save)
		if !ok {
			continue
		}
		in.Identity, in.Next, in.Enrolled, in.Base = *in.Next, nil, &out, c.Base
		err := s.Commit(ctx, journal.Batch{
			Add: rows(save.Add), Put: rows(save.Put), Meta: append(journal.StateItems(save.State, save.Moved), in.item()),
		})
		if err != nil { // ErrExists: a window wrote meanwhile; the same code again finds it
			return fmt.Errorf("remember the enrolment: %w", err)
		}
		return nil
	}
	return ErrEnrolled
}

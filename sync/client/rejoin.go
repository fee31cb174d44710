package client

import (
	"context"
	"errors"
	"fmt"

	"unsling/engine/rom"
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
		id := *in.Next
		in.Identity, in.Next, in.Enrolled, in.Base = id, nil, &out, c.Base
		if err := Become(ctx, s, st, id.Author, out.Epoch, in.item()); err != nil {
			return wire.Enrolled{}, fmt.Errorf("remember the enrolment: %w", err)
		}
		return out, nil
	}
}

// Become makes a phone that the server does not know any more, whose state is
// st, the author next in one transaction: all that it wrote goes on under that
// name. extra is written with it. ErrExists means that another window was
// first; the same again sees what it did.
func Become(ctx context.Context, s journal.Store, st replica.State, next rom.Author, epoch string, extra ...journal.Item) error {
	first, err := journal.First(ctx, s, st.Author)
	if err != nil {
		return err
	}
	own, err := journal.Lines(ctx, s, st.Author, max(1, first), maxTail, maxTail*wire.MaxLine)
	if err != nil {
		return err
	}
	p := replica.NewPhone(st)
	for _, f := range p.Step(replica.Rejoined{Author: next, Epoch: epoch, First: first, Own: own}) {
		if save, ok := f.(replica.Save); ok {
			return s.Commit(ctx, journal.Batch{
				Add: rows(save.Add), Put: rows(save.Put), Meta: append(journal.StateItems(save.State, save.Moved), extra...),
			})
		}
	}
	return ErrEnrolled
}

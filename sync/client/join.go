package client

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"unsling/sync/journal"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// Invitation is what a person has in hand to enrol a phone.
type Invitation struct {
	Code string // out of the QR code, or typed
	PIN  string // said aloud, for an invitation taken home
	Name string // how this phone is called on the clinic's list
	// Mine says that the person has confirmed that the records on this phone
	// are theirs although the code is for another record; see ErrOtherPatient.
	Mine bool
}

// Installation is what a phone remembers of its enrolment, under
// journal.MetaDevice. Who writes today is in replica.State, since a copied
// phone gets a new id.
type Installation struct {
	Base     string         `json:"base"`
	Identity Identity       `json:"identity"` // made before the first try, used again by the next
	Enrolled *wire.Enrolled `json:"enrolled,omitempty"`
	// Next is the identity of a new enrolment that has not come through yet.
	Next *Identity `json:"next,omitempty"`
}

// ErrEnrolled means that this phone belongs to a patient already.
var ErrEnrolled = errors.New("this phone is enrolled already")

// Load returns what the phone remembers of its enrolment; the zero
// Installation if it was never tried.
func Load(ctx context.Context, s journal.Store) (Installation, error) {
	var in Installation
	text, err := s.Meta(ctx, journal.MetaDevice)
	if err != nil {
		return in, fmt.Errorf("read the enrolment: %w", err)
	}
	if len(text) == 0 {
		return in, nil
	}
	if err := json.Unmarshal(text, &in); err != nil {
		return Installation{}, fmt.Errorf("read the enrolment: %w", err)
	}
	return in, nil
}

// Join enrols this phone and remembers it. After no answer came it may be
// called again with the same code. A phone that the server does not know any
// more (replica.State.Unknown) may be enrolled anew; it keeps its records and
// sends them under its new name. Errors are ErrEnrolled, ErrOtherPatient,
// ErrNoAnswer, *wire.Error and those of the journal.
func (c *Client) Join(ctx context.Context, s journal.Store, inv Invitation) (wire.Enrolled, error) {
	in, err := Load(ctx, s)
	if err != nil {
		return wire.Enrolled{}, err
	}
	inv.Code = strings.TrimSpace(inv.Code)
	if in.Enrolled != nil {
		st, err := journal.LoadState(ctx, s)
		if err != nil {
			return wire.Enrolled{}, err
		}
		if !st.Unknown {
			return *in.Enrolled, ErrEnrolled
		}
		return c.rejoin(ctx, s, in, st, inv)
	}
	for try := 0; ; try++ {
		if in.Identity.Author == "" || try > 0 {
			if in.Identity, err = c.Keys.New(ctx); err != nil {
				return wire.Enrolled{}, fmt.Errorf("make a key: %w", err)
			}
		}
		in.Base = c.Base
		if err := s.Commit(ctx, journal.Batch{Meta: []journal.Item{in.item()}}); err != nil {
			return wire.Enrolled{}, fmt.Errorf("remember the key: %w", err)
		}
		out, err := c.Enrol(ctx, inv, in.Identity)
		if errors.Is(err, wire.Refuse(wire.DeviceTaken)) && try == 0 {
			continue // an earlier code was used up and its answer lost
		}
		if err != nil {
			return wire.Enrolled{}, err
		}
		in.Enrolled = &out
		state := replica.State{Author: in.Identity.Author, Epoch: out.Epoch}
		err = s.Commit(ctx, journal.Batch{Meta: append(journal.StateItems(state, true), in.item())})
		if err != nil {
			return wire.Enrolled{}, fmt.Errorf("remember the enrolment: %w", err)
		}
		return out, nil
	}
}

func (in Installation) item() journal.Item {
	text, err := json.Marshal(in)
	if err != nil {
		panic("enrolment does not encode: " + err.Error()) // the key was read as JSON
	}
	return journal.Item{Name: journal.MetaDevice, Value: text}
}

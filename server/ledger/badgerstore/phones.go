package badgerstore

import (
	"bytes"
	"crypto/subtle"
	"errors"
	"fmt"
	"slices"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

func authorKey(a rom.Author) []byte { return key("au", string(a)) }

// author reads a row with its marks.
func (s *Store) author(t *txn, a rom.Author) (ledger.Author, error) {
	var row ledger.Author
	if err := t.row(authorKey(a), &row); err != nil {
		return row, err
	}
	var err error
	if row.Mark, err = t.mark(markKey(row.Patient, a)); err != nil {
		return row, err
	}
	if row.State == ledger.Revoked {
		if row.SealedMark, err = t.mark(sealedMarkKey(a)); err != nil {
			return row, err
		}
	}
	if err := t.row(key("bu", string(a)), &row.BackedUp); err != nil && !errors.Is(err, ledger.ErrUnknown) {
		return row, err
	}
	return row, nil
}

func (s *Store) authors(t *txn, p rom.PatientID) ([]ledger.Author, error) {
	ids, err := t.authorIDs(p)
	if err != nil {
		return nil, err
	}
	var all []ledger.Author
	for _, id := range ids {
		row, err := s.author(t, id)
		if err != nil {
			return nil, err
		}
		all = append(all, row)
	}
	slices.SortStableFunc(all, func(a, b ledger.Author) int { return a.Enrolled.Compare(b.Enrolled) })
	return all, nil
}

// Author implements ledger.Phones.
func (s *Store) Author(a rom.Author) (ledger.Author, error) {
	var row ledger.Author
	err := s.view(func(t *txn) (err error) {
		row, err = s.author(t, a)
		return err
	})
	return row, err
}

// Authors implements ledger.Phones.
func (s *Store) Authors(p rom.PatientID) ([]ledger.Author, error) {
	var all []ledger.Author
	err := s.view(func(t *txn) (err error) {
		all, err = s.authors(t, p)
		return err
	})
	return all, err
}

// Invite implements ledger.Phones.
func (s *Store) Invite(inv ledger.Invitation, trail ledger.Trail) error {
	if err := checkID(append([]string{inv.ID, string(inv.Patient)}, inv.Secrets...)...); err != nil {
		return fmt.Errorf("invite: %w", err)
	}
	return s.update(func(t *txn) error {
		if ok, err := t.has(key("ck", string(inv.Patient))); err != nil {
			return err
		} else if !ok {
			return fmt.Errorf("invite: %w", ledger.ErrUnknown)
		}
		taken, err := t.has(key("iv", inv.ID))
		for _, secret := range inv.Secrets {
			if err == nil && !taken {
				taken, err = t.has(key("is", secret))
			}
			if err == nil && !taken {
				err = t.putRow(key("is", secret), inv.ID)
			}
		}
		if err != nil {
			return err
		}
		if taken {
			return fmt.Errorf("invite: %w", ledger.ErrTaken)
		}
		if err := t.putRow(key("iv", inv.ID), inv); err != nil {
			return err
		}
		if err := t.put(key("ip", string(inv.Patient), inv.ID), nil); err != nil {
			return err
		}
		return t.audit(trail, "phone.invite", string(inv.Patient), inv.ID)
	})
}

// Invitations implements ledger.Phones.
func (s *Store) Invitations(p rom.PatientID) ([]ledger.Invitation, error) {
	var all []ledger.Invitation
	err := s.view(func(t *txn) (err error) {
		all, err = t.invitations(p)
		return err
	})
	slices.SortStableFunc(all, func(a, b ledger.Invitation) int { return b.Made.Compare(a.Made) })
	return all, err
}

func (t *txn) invitations(p rom.PatientID) ([]ledger.Invitation, error) {
	var all []ledger.Invitation
	err := t.keys(under("ip", string(p)), func(k []byte) error {
		var inv ledger.Invitation
		err := t.row(key("iv", lastPart(k)), &inv)
		all = append(all, inv)
		return err
	})
	return all, err
}

// Enrol implements ledger.Phones.
func (s *Store) Enrol(e ledger.Enrolment, trail ledger.Trail) (ledger.Author, error) {
	if !wire.ValidAuthor(e.Author) || e.Author.FromClinic() || checkID(e.Thumbprint) != nil {
		return ledger.Author{}, fmt.Errorf("enrol: %w", errID)
	}
	var row ledger.Author
	var refusal error
	err := s.update(func(t *txn) error {
		var id string
		if err := t.row(key("is", e.Secret), &id); err != nil {
			return err
		}
		var inv ledger.Invitation
		if err := t.row(key("iv", id), &inv); err != nil {
			return err
		}
		var err error
		row, refusal, err = s.useInvitation(t, &inv, e, trail)
		if err != nil {
			return err
		}
		if refusal == nil {
			return nil
		}
		if errors.Is(refusal, ledger.ErrWrongPIN) || errors.Is(refusal, ledger.ErrDeviceTaken) {
			inv.Tries++ // kept, although the answer is no
			if err := t.putRow(key("iv", id), inv); err != nil {
				return err
			}
		}
		trail.Reason = refusal.Error()
		return t.audit(trail, "phone.refuse", string(inv.Patient), inv.ID)
	})
	if err = errors.Join(err, refusal); err != nil {
		return ledger.Author{}, fmt.Errorf("enrol: %w", err)
	}
	return row, nil
}

// useInvitation decides about one try. refusal is what the phone is told;
// err is a failure of the store.
func (s *Store) useInvitation(t *txn, inv *ledger.Invitation, e ledger.Enrolment, trail ledger.Trail) (row ledger.Author, refusal, err error) {
	if inv.Tries >= ledger.MaxTries {
		return row, ledger.ErrTooMany, nil
	}
	if inv.PIN != "" && subtle.ConstantTimeCompare([]byte(inv.PIN), []byte(e.PIN)) != 1 {
		return row, ledger.ErrWrongPIN, nil
	}
	if inv.UsedBy != "" {
		if row, err = s.author(t, inv.UsedBy); err != nil {
			return row, nil, err
		}
		if row.ID == e.Author && row.Thumbprint == e.Thumbprint {
			return row, nil, nil // the answer was lost on the way: say it again
		}
		return row, ledger.ErrUsed, nil
	}
	if !e.At.Before(inv.Until) {
		return row, ledger.ErrExpired, nil
	}
	if row, err = s.author(t, e.Author); err == nil && row.Thumbprint == e.Thumbprint && row.Patient == inv.Patient && row.State == ledger.Active {
		inv.UsedBy, inv.UsedAt = e.Author, e.At
		return row, nil, errors.Join(t.putRow(key("iv", inv.ID), *inv),
			t.audit(trail, "phone.again", string(inv.Patient), string(e.Author)))
	} else if err != nil && !errors.Is(err, ledger.ErrUnknown) {
		return row, nil, err
	}
	if taken, err := t.deviceTaken(e); err != nil {
		return row, nil, err
	} else if taken {
		return row, ledger.ErrDeviceTaken, nil
	}
	if _, err := s.contentKey(t, inv.Patient); errors.Is(err, ledger.ErrErased) {
		return row, ledger.ErrErased, nil
	} else if err != nil {
		return row, nil, err
	}
	row = ledger.Author{
		ID: e.Author, Patient: inv.Patient, State: ledger.Active, Key: bytes.Clone(e.Key), Thumbprint: e.Thumbprint,
		Name: e.Name, Check: e.Check, Invitation: inv.ID, Enrolled: e.At,
	}
	if e.Confirm {
		row.State = ledger.Pending
	}
	inv.UsedBy, inv.UsedAt = e.Author, e.At
	err = errors.Join(t.putRow(key("iv", inv.ID), *inv), t.newAuthor(row),
		t.audit(trail, "phone.enrol", string(inv.Patient), string(e.Author)))
	if err == nil && row.State == ledger.Active {
		err = s.replacePhones(t, *inv, row.ID, trail)
	}
	return row, nil, err
}

// replacePhones revokes what an invitation replaces.
func (s *Store) replacePhones(t *txn, inv ledger.Invitation, by rom.Author, trail ledger.Trail) error {
	for _, id := range inv.Replaces {
		old, err := s.author(t, id)
		if errors.Is(err, ledger.ErrUnknown) {
			continue
		}
		if err != nil {
			return err
		}
		if old.ID == by || old.Patient != inv.Patient || old.State == ledger.Revoked {
			continue
		}
		old.State, old.Revoked = ledger.Revoked, trail.At
		if err := errors.Join(t.putRow(authorKey(id), old), t.audit(trail, "phone.replace", string(inv.Patient), string(id)+" "+string(by))); err != nil {
			return err
		}
	}
	return nil
}

// deviceTaken reports whether the id or the key belongs to somebody.
func (t *txn) deviceTaken(e ledger.Enrolment) (bool, error) {
	id, err := t.has(authorKey(e.Author))
	if err != nil || id {
		return id, err
	}
	return t.has(key("kt", e.Thumbprint))
}

func (t *txn) newAuthor(row ledger.Author) error {
	ids, err := t.authorIDs(row.Patient)
	if err != nil {
		return err
	}
	return errors.Join(t.putRow(authorKey(row.ID), row), t.putRow(key("kt", row.Thumbprint), row.ID),
		t.putRow(key("ap", string(row.Patient)), append(ids, row.ID)))
}

// authorIDs is one row and not a walk, because lists of patients ask for it.
func (t *txn) authorIDs(p rom.PatientID) ([]rom.Author, error) {
	var ids []rom.Author
	if err := t.row(key("ap", string(p)), &ids); err != nil && !errors.Is(err, ledger.ErrUnknown) {
		return nil, err
	}
	return ids, nil
}

// Register implements ledger.Phones.
func (s *Store) Register(old rom.Author, e ledger.Enrolment, trail ledger.Trail) (ledger.Author, error) {
	var row ledger.Author
	err := s.update(func(t *txn) error {
		was, err := s.author(t, old)
		if err != nil {
			return err
		}
		row, err = s.author(t, e.Author)
		if err == nil && row.CopyOf == old && row.Thumbprint == e.Thumbprint {
			return nil // the answer was lost on the way: say it again
		}
		taken, err := t.deviceTaken(e)
		switch {
		case err != nil:
			return err
		case was.State != ledger.Active:
			return ledger.ErrState
		case taken:
			return ledger.ErrDeviceTaken
		case !wire.ValidAuthor(e.Author) || e.Author.FromClinic() || checkID(e.Thumbprint) != nil:
			return errID
		}
		if others, err := s.authors(t, was.Patient); err != nil {
			return err
		} else if len(others) >= ledger.MaxPhones {
			return ledger.ErrTooMany
		}
		row = ledger.Author{
			ID: e.Author, Patient: was.Patient, State: was.State, Key: bytes.Clone(e.Key), Thumbprint: e.Thumbprint,
			Name: was.Name, Check: e.Check, Invitation: was.Invitation, CopyOf: old, Enrolled: e.At,
		}
		return errors.Join(t.newAuthor(row), t.audit(trail, "phone.register", string(was.Patient), string(old)+" "+string(e.Author)))
	})
	if err != nil {
		return ledger.Author{}, fmt.Errorf("register: %w", err)
	}
	return row, nil
}

// ConfirmAuthor implements ledger.Phones.
func (s *Store) ConfirmAuthor(a rom.Author, trail ledger.Trail) error {
	return s.setState(a, trail, "phone.confirm", func(t *txn, row *ledger.Author) error {
		if row.State != ledger.Pending {
			return ledger.ErrState
		}
		row.State = ledger.Active
		var inv ledger.Invitation
		if err := t.row(key("iv", row.Invitation), &inv); err != nil && !errors.Is(err, ledger.ErrUnknown) {
			return err
		}
		return s.replacePhones(t, inv, row.ID, trail)
	})
}

// RevokeAuthor implements ledger.Phones.
func (s *Store) RevokeAuthor(a rom.Author, trail ledger.Trail) error {
	return s.setState(a, trail, "phone.revoke", func(_ *txn, row *ledger.Author) error {
		if row.State == ledger.Revoked {
			return ledger.ErrState
		}
		row.State, row.Revoked = ledger.Revoked, trail.At
		return nil
	})
}

func (s *Store) setState(a rom.Author, trail ledger.Trail, act string, change func(*txn, *ledger.Author) error) error {
	return s.update(func(t *txn) error {
		row, err := s.author(t, a)
		if err == nil {
			err = change(t, &row)
		}
		if err != nil {
			return fmt.Errorf("%s: %w", act, err)
		}
		if err := t.putRow(authorKey(a), row); err != nil {
			return err
		}
		return t.audit(trail, act, string(row.Patient), string(a))
	})
}

package badgerstore

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

// ChangeStaff implements ledger.Accounts.
func (s *Store) ChangeStaff(id rom.StaffID, act string, trail ledger.Trail, change func(*ledger.Staff) error) (ledger.Staff, error) {
	var row ledger.Staff
	err := s.update(func(t *txn) error {
		row = ledger.Staff{}
		if err := t.row(staffKey(id), &row); err != nil {
			return fmt.Errorf("change staff: %w", err)
		}
		var old ledger.Staff
		if err := t.row(staffKey(id), &old); err != nil {
			return fmt.Errorf("change staff: %w", err)
		}
		if err := change(&row); err != nil {
			return err
		}
		if row.ID != id || row.Login != old.Login {
			return errors.New("change staff: neither id nor login can change")
		}
		if err := checkStaff(row); err != nil {
			return fmt.Errorf("change staff: %w", err)
		}
		if runs(old) && !runs(row) {
			if err := t.anotherAdministrator(id); err != nil {
				return err
			}
		}
		if err := t.putRow(staffKey(id), row); err != nil {
			return err
		}
		if row.Weaker(old) {
			if err := t.endSessions(id, trail); err != nil {
				return err
			}
		}
		return t.audit(trail, act, "", string(id)+" "+string(row.Role))
	})
	if err != nil {
		return ledger.Staff{}, err
	}
	return row, nil
}

// runs reports whether the person can look after the clinic's staff.
func runs(p ledger.Staff) bool { return p.Role == ledger.Administrator && p.CanSignIn() }

func (t *txn) anotherAdministrator(than rom.StaffID) error {
	found := false
	err := t.keys([]byte("st/"), func(k []byte) error {
		var p ledger.Staff
		if err := t.row(k, &p); err != nil {
			return err
		}
		if found = p.ID != than && runs(p); found {
			return errStop
		}
		return nil
	})
	if err == nil && !found {
		err = ledger.ErrLastAdministrator
	}
	return err
}

// NextSession implements ledger.Accounts.
func (s *Store) NextSession(old string, next ledger.Session, trail ledger.Trail) error {
	if err := checkID(next.ID); err != nil {
		return fmt.Errorf("next session: %w", err)
	}
	return s.update(func(t *txn) error {
		var was ledger.Session
		var p ledger.Staff
		err := t.row(key("ss", old), &was)
		if err == nil {
			err = t.row(staffKey(was.Staff), &p)
		}
		if err != nil {
			return fmt.Errorf("next session: %w", err)
		}
		if !was.Ended.IsZero() || p.Disabled || was.Staff != next.Staff {
			return fmt.Errorf("next session: %w", ledger.ErrState)
		}
		if taken, err := t.has(key("ss", next.ID)); err != nil || taken {
			return errors.Join(err, fmt.Errorf("next session: %w", ledger.ErrTaken))
		}
		if err := t.endSession(old, trail); err != nil {
			return err
		}
		if err := t.putRow(key("ss", next.ID), next); err != nil {
			return err
		}
		if err := t.put(key("sp", string(next.Staff), next.ID), nil); err != nil {
			return err
		}
		return t.audit(trail, "session.next", "", next.ID)
	})
}

// Sessions implements ledger.Accounts.
func (s *Store) Sessions(who rom.StaffID) ([]ledger.Session, error) {
	var all []ledger.Session
	err := s.view(func(t *txn) error {
		return t.keys(under("sp", string(who)), func(k []byte) error {
			var sess ledger.Session
			err := t.row(key("ss", lastPart(k)), &sess)
			all = append(all, sess)
			return err
		})
	})
	slices.SortFunc(all, func(a, b ledger.Session) int { return b.Started.Compare(a.Started) })
	return all, err
}

// Breaks implements ledger.Accounts.
func (s *Store) Breaks() ([]ledger.Glass, error) {
	all, err := s.allGlass([]byte("gl/"))
	slices.SortStableFunc(all, func(a, b ledger.Glass) int { return b.From.Compare(a.From) })
	return all, err
}

// EndGlass implements ledger.Accounts.
func (s *Store) EndGlass(p rom.PatientID, who rom.StaffID, trail ledger.Trail) error {
	return s.update(func(t *txn) error {
		var open []ledger.Glass
		prefix := under("gl", string(p), string(who))
		if err := t.each(prefix, prefix, 10, func(_, v []byte) error {
			var g ledger.Glass
			if err := json.Unmarshal(v, &g); err != nil {
				return fmt.Errorf("%w: emergency access", ledger.ErrDamaged)
			}
			if trail.At.Before(g.Until) {
				open = append(open, g)
			}
			return nil
		}); err != nil {
			return err
		}
		if len(open) == 0 {
			return fmt.Errorf("end emergency access: %w", ledger.ErrUnknown)
		}
		for _, g := range open {
			g.Until = trail.At
			one, two := glassKeys(g)
			if err := errors.Join(t.putRow(one, g), t.putRow(two, g)); err != nil {
				return err
			}
		}
		return t.audit(trail, "glass.end", string(p), string(who))
	})
}

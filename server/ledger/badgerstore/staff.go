package badgerstore

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

// Clinic implements ledger.Staffing.
func (s *Store) Clinic() (ledger.Clinic, error) {
	var c ledger.Clinic
	err := s.view(func(t *txn) error { return t.row(metaKey("clinic"), &c) })
	return c, err
}

// SetClinic implements ledger.Staffing.
func (s *Store) SetClinic(c ledger.Clinic, trail ledger.Trail) error {
	return s.update(func(t *txn) error {
		if err := t.putRow(metaKey("clinic"), c); err != nil {
			return err
		}
		return t.audit(trail, "clinic.set", "", "")
	})
}

func staffKey(id rom.StaffID) []byte { return key("st", string(id)) }
func loginKey(login string) []byte   { return key("sl", login) }

func checkStaff(p ledger.Staff) error {
	switch {
	case checkID(string(p.ID)) != nil:
		return fmt.Errorf("staff id: %w", errID)
	case p.Login == "" || len(p.Login) > 128 || strings.ContainsAny(p.Login, "/ \x00") || p.Login != strings.ToLower(p.Login):
		return errors.New("login must be lower case and without spaces")
	case !p.Role.Valid():
		return fmt.Errorf("there is no role %q", p.Role)
	}
	return nil
}

// AddStaff implements ledger.Staffing.
func (s *Store) AddStaff(p ledger.Staff, trail ledger.Trail) error {
	if err := checkStaff(p); err != nil {
		return fmt.Errorf("add staff: %w", err)
	}
	return s.update(func(t *txn) error {
		for _, k := range [][]byte{staffKey(p.ID), loginKey(p.Login)} {
			if taken, err := t.has(k); err != nil {
				return err
			} else if taken {
				return fmt.Errorf("add staff: %w", ledger.ErrTaken)
			}
		}
		if err := t.putRow(loginKey(p.Login), p.ID); err != nil {
			return err
		}
		if err := t.putRow(staffKey(p.ID), p); err != nil {
			return err
		}
		return t.audit(trail, "staff.add", "", string(p.ID)+" "+string(p.Role))
	})
}

// PutStaff implements ledger.Staffing.
func (s *Store) PutStaff(p ledger.Staff, trail ledger.Trail) error {
	if err := checkStaff(p); err != nil {
		return fmt.Errorf("change staff: %w", err)
	}
	return s.update(func(t *txn) error {
		var old ledger.Staff
		if err := t.row(staffKey(p.ID), &old); err != nil {
			return fmt.Errorf("change staff: %w", err)
		}
		if old.Login != p.Login { // the old login stays reserved: no one else may be taken for this person
			if taken, err := t.has(loginKey(p.Login)); err != nil {
				return err
			} else if taken {
				return fmt.Errorf("change staff: %w", ledger.ErrTaken)
			}
			if err := t.putRow(loginKey(p.Login), p.ID); err != nil {
				return err
			}
		}
		if err := t.putRow(staffKey(p.ID), p); err != nil {
			return err
		}
		if p.Disabled || p.Password != old.Password || p.Role != old.Role {
			if err := t.endSessions(p.ID, trail); err != nil {
				return err
			}
		}
		what := "staff.change"
		if p.Disabled && !old.Disabled {
			what = "staff.disable"
		}
		return t.audit(trail, what, "", string(p.ID)+" "+string(p.Role))
	})
}

// Staff implements ledger.Staffing.
func (s *Store) Staff(id rom.StaffID) (ledger.Staff, error) {
	var p ledger.Staff
	err := s.view(func(t *txn) error { return t.row(staffKey(id), &p) })
	return p, err
}

// StaffByLogin implements ledger.Staffing.
func (s *Store) StaffByLogin(login string) (ledger.Staff, error) {
	var p ledger.Staff
	err := s.view(func(t *txn) error {
		var id rom.StaffID
		if err := t.row(loginKey(login), &id); err != nil {
			return err
		}
		if err := t.row(staffKey(id), &p); err != nil {
			return err
		}
		if p.Login != login {
			p = ledger.Staff{}
			return ledger.ErrUnknown
		}
		return nil
	})
	return p, err
}

// AllStaff implements ledger.Staffing.
func (s *Store) AllStaff() ([]ledger.Staff, error) {
	var all []ledger.Staff
	err := s.view(func(t *txn) error {
		return t.keys([]byte("st/"), func(k []byte) error {
			var p ledger.Staff
			err := t.row(k, &p)
			all = append(all, p)
			return err
		})
	})
	return all, err
}

// StartSession implements ledger.Staffing.
func (s *Store) StartSession(sess ledger.Session, trail ledger.Trail) error {
	if err := checkID(sess.ID); err != nil {
		return fmt.Errorf("start session: %w", err)
	}
	return s.update(func(t *txn) error {
		var p ledger.Staff
		if err := t.row(staffKey(sess.Staff), &p); err != nil {
			return fmt.Errorf("start session: %w", err)
		}
		if p.Disabled {
			return fmt.Errorf("start session: %w", ledger.ErrState)
		}
		if taken, err := t.has(key("ss", sess.ID)); err != nil {
			return err
		} else if taken {
			return fmt.Errorf("start session: %w", ledger.ErrTaken)
		}
		if err := t.putRow(key("ss", sess.ID), sess); err != nil {
			return err
		}
		if err := t.put(key("sp", string(sess.Staff), sess.ID), nil); err != nil {
			return err
		}
		return t.audit(trail, "session.start", "", sess.ID)
	})
}

// Session implements ledger.Staffing.
func (s *Store) Session(id string) (ledger.Session, ledger.Staff, error) {
	var sess ledger.Session
	var p ledger.Staff
	err := s.view(func(t *txn) error {
		if err := t.row(key("ss", id), &sess); err != nil {
			return err
		}
		return t.row(staffKey(sess.Staff), &p)
	})
	return sess, p, err
}

// EndSession implements ledger.Staffing.
func (s *Store) EndSession(id string, trail ledger.Trail) error {
	return s.update(func(t *txn) error {
		if err := t.endSession(id, trail); err != nil {
			return fmt.Errorf("end session: %w", err)
		}
		return t.audit(trail, "session.end", "", id)
	})
}

func (t *txn) endSession(id string, trail ledger.Trail) error {
	var sess ledger.Session
	if err := t.row(key("ss", id), &sess); err != nil {
		return err
	}
	if err := t.Delete(key("sp", string(sess.Staff), id)); err != nil {
		return err
	}
	if !sess.Ended.IsZero() {
		return nil
	}
	sess.Ended = trail.At
	return t.putRow(key("ss", id), sess)
}

// endSessions ends every session of a person.
func (t *txn) endSessions(who rom.StaffID, trail ledger.Trail) error {
	var ids []string
	if err := t.keys(under("sp", string(who)), func(k []byte) error {
		ids = append(ids, lastPart(k))
		return nil
	}); err != nil {
		return err
	}
	for _, id := range ids {
		if err := t.endSession(id, trail); err != nil {
			return err
		}
	}
	return nil
}

func adoptionKey(name string, version int) []byte {
	return withN(under("ad", name), int64(version))
}

// Adopt implements ledger.Staffing.
func (s *Store) Adopt(a ledger.Adoption, trail ledger.Trail) error {
	if err := checkID(a.Name); err != nil {
		return fmt.Errorf("adopt: %w", err)
	}
	return s.update(func(t *txn) error {
		newest := 0
		if err := t.keys(under("ad", a.Name), func(k []byte) error {
			newest = int(lastN(k))
			return nil
		}); err != nil {
			return err
		}
		if a.Version != newest+1 {
			return fmt.Errorf("adopt %s version %d after %d: %w", a.Name, a.Version, newest, ledger.ErrTaken)
		}
		if err := t.putRow(adoptionKey(a.Name, a.Version), a); err != nil {
			return err
		}
		return t.audit(trail, "protocol.adopt", "", a.Name+" "+strconv.Itoa(a.Version)+" "+a.Hash)
	})
}

// Adoptions implements ledger.Staffing.
func (s *Store) Adoptions() ([]ledger.Adoption, error) {
	var all []ledger.Adoption
	err := s.view(func(t *txn) error {
		return t.keys([]byte("ad/"), func(k []byte) error {
			var a ledger.Adoption
			err := t.row(k, &a)
			all = append(all, a)
			return err
		})
	})
	slices.SortStableFunc(all, func(a, b ledger.Adoption) int { return strings.Compare(a.Name, b.Name) })
	return all, err
}

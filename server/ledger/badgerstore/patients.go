package badgerstore

import (
	"crypto/cipher"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

func patientKey(p rom.PatientID) []byte { return key("pa", string(p)) }

// putPatient encrypts the row under the patient's own key, so that erasing
// the key erases the name too.
func (s *Store) putPatient(t *txn, row ledger.Patient) error {
	content, err := s.contentKey(t, row.ID)
	if err != nil {
		return err
	}
	plain, err := json.Marshal(row)
	if err != nil {
		return fmt.Errorf("write patient: %w", err)
	}
	sealed, err := seal(content, s.opt.Chance, nil, plain, "patient "+string(row.ID))
	if err != nil {
		return err
	}
	return t.put(patientKey(row.ID), sealed)
}

func (s *Store) getPatient(t *txn, p rom.PatientID) (ledger.Patient, error) {
	content, err := s.contentKey(t, p)
	if err != nil {
		return ledger.Patient{}, err
	}
	return t.patient(p, content)
}

func (t *txn) patient(p rom.PatientID, content cipher.AEAD) (ledger.Patient, error) {
	var row ledger.Patient
	sealed, err := t.get(patientKey(p))
	if err != nil {
		return row, err
	}
	plain, err := unseal(content, sealed, "patient "+string(p))
	if err != nil {
		return row, err
	}
	if err := json.Unmarshal(plain, &row); err != nil {
		return row, fmt.Errorf("%w: patient", ledger.ErrDamaged)
	}
	return row, nil
}

// CreatePatient implements ledger.Patients.
func (s *Store) CreatePatient(row ledger.Patient, team []rom.StaffID, drafts []ledger.Draft, trail ledger.Trail) error {
	if err := checkID(string(row.ID)); err != nil {
		return fmt.Errorf("create patient: %w", err)
	}
	if len(team) == 0 {
		return fmt.Errorf("create patient without a care team: %w", ledger.ErrState)
	}
	return s.updateMuch(func(t *txn) error {
		if taken, err := t.has(key("ck", string(row.ID))); err != nil {
			return err
		} else if taken {
			return fmt.Errorf("create patient: %w", ledger.ErrTaken)
		}
		if _, err := s.newContentKey(t, row.ID); err != nil {
			return err
		}
		if err := s.putPatient(t, row); err != nil {
			return err
		}
		if err := t.putRow(headKey(row.ID), head{}); err != nil {
			return err
		}
		if err := t.addTeam(row.ID, team, trail); err != nil {
			return fmt.Errorf("create patient: %w", err)
		}
		if err := t.audit(trail, "patient.create", string(row.ID), ""); err != nil {
			return err
		}
		_, err := s.appendClinic(t, row.ID, drafts, nil, trail)
		return err
	})
}

// Patient implements ledger.Patients.
func (s *Store) Patient(p rom.PatientID) (ledger.Patient, error) {
	var row ledger.Patient
	err := s.view(func(t *txn) (err error) {
		row, err = s.getPatient(t, p)
		return err
	})
	return row, err
}

// PutPatient implements ledger.Patients.
func (s *Store) PutPatient(row ledger.Patient, trail ledger.Trail) error {
	return s.update(func(t *txn) error {
		have, err := s.getPatient(t, row.ID)
		if err != nil {
			return fmt.Errorf("change patient: %w", err)
		}
		row.Restricted = have.Restricted
		if err := s.putPatient(t, row); err != nil {
			return fmt.Errorf("change patient: %w", err)
		}
		return t.audit(trail, "patient.change", string(row.ID), "")
	})
}

// Panel implements ledger.Patients.
func (s *Store) Panel(who rom.StaffID) ([]ledger.PanelRow, error) {
	var rows []ledger.PanelRow
	err := s.view(func(t *txn) error {
		return t.keys(panelPrefix(who), func(k []byte) error {
			p := rom.PatientID(lastPart(k))
			row, err := s.panelRow(t, p)
			if errors.Is(err, ledger.ErrErased) {
				return nil
			}
			if err != nil {
				return err
			}
			rows = append(rows, row)
			return nil
		})
	})
	return rows, err
}

// panelPrefix is where the patients of one person's care teams are listed, of
// everybody with "".
func panelPrefix(who rom.StaffID) []byte {
	if who == "" {
		return []byte("ck/")
	}
	return under("ts", string(who))
}

// panelRow reads every row of the patient once: lists are long.
func (s *Store) panelRow(t *txn, p rom.PatientID) (ledger.PanelRow, error) {
	row, content, err := s.headRow(t, p)
	if err == nil {
		row.Facts, err = s.factsTo(t, p, content, row.Facts.Seq)
	}
	return row, err
}

// headRow is panelRow without the facts.
func (s *Store) headRow(t *txn, p rom.PatientID) (row ledger.PanelRow, content cipher.AEAD, err error) {
	var h head
	if content, err = s.contentKey(t, p); err != nil {
		return row, nil, err
	}
	if row.Patient, err = t.patient(p, content); err != nil {
		return row, nil, err
	}
	if err := t.row(headKey(p), &h); err != nil {
		return row, nil, err
	}
	row.Facts = ledger.Facts{Version: s.opt.Fold.Version, Seq: h.Seq}
	row.Quarantined = h.Aside
	row.Phones, err = s.authors(t, p)
	return row, content, err
}

func teamKey(p rom.PatientID, who rom.StaffID) []byte { return key("tm", string(p), string(who)) }

func (t *txn) addTeam(p rom.PatientID, add []rom.StaffID, trail ledger.Trail) error {
	for _, who := range add {
		if ok, err := t.has(staffKey(who)); err != nil {
			return err
		} else if !ok {
			return fmt.Errorf("care team: %w", ledger.ErrUnknown)
		}
		if already, err := t.has(teamKey(p, who)); err != nil {
			return err
		} else if already {
			continue
		}
		m := ledger.Member{Staff: who, Since: trail.At.UTC(), By: rom.StaffID(trail.Actor)}
		if err := t.putRow(teamKey(p, who), m); err != nil {
			return err
		}
		if err := t.put(key("ts", string(who), string(p)), nil); err != nil {
			return err
		}
		if err := t.audit(trail, "team.add", string(p), string(who)); err != nil {
			return err
		}
	}
	return nil
}

func (t *txn) team(p rom.PatientID) ([]ledger.Member, error) {
	var all []ledger.Member
	err := t.keys(under("tm", string(p)), func(k []byte) error {
		var m ledger.Member
		err := t.row(k, &m)
		all = append(all, m)
		return err
	})
	return all, err
}

// Team implements ledger.Patients.
func (s *Store) Team(p rom.PatientID) ([]ledger.Member, error) {
	var all []ledger.Member
	err := s.view(func(t *txn) (err error) {
		if ok, err := t.has(key("ck", string(p))); err != nil || !ok {
			return errors.Join(err, ledger.ErrUnknown)
		}
		all, err = t.team(p)
		return err
	})
	return all, err
}

// SetTeam implements ledger.Patients.
func (s *Store) SetTeam(p rom.PatientID, add, remove []rom.StaffID, trail ledger.Trail) error {
	return s.update(func(t *txn) error {
		if ok, err := t.has(key("ck", string(p))); err != nil {
			return err
		} else if !ok {
			return fmt.Errorf("set care team: %w", ledger.ErrUnknown)
		}
		if err := t.addTeam(p, add, trail); err != nil {
			return fmt.Errorf("set care team: %w", err)
		}
		for _, who := range remove {
			if slices.Contains(add, who) {
				return fmt.Errorf("set care team: add and remove the same person: %w", ledger.ErrState)
			}
			if err := errors.Join(t.Delete(teamKey(p, who)), t.Delete(key("ts", string(who), string(p)))); err != nil {
				return fmt.Errorf("set care team: %w", err)
			}
			if err := t.audit(trail, "team.remove", string(p), string(who)); err != nil {
				return err
			}
		}
		left, err := t.team(p)
		if err == nil && len(left) == 0 {
			err = fmt.Errorf("set care team: nobody would be left: %w", ledger.ErrState)
		}
		return err
	})
}

func glassKeys(g ledger.Glass) (onPatient, ofStaff []byte) {
	return withN(under("gl", string(g.Patient), string(g.Staff)), g.From.UnixNano()),
		withN(under("gs", string(g.Staff), string(g.Patient)), g.From.UnixNano())
}

// BreakGlass implements ledger.Patients.
func (s *Store) BreakGlass(g ledger.Glass, trail ledger.Trail) error {
	if g.Reason == "" || !g.Until.After(g.From) {
		return fmt.Errorf("break glass without a reason or an end: %w", ledger.ErrState)
	}
	return s.update(func(t *txn) error {
		for _, k := range [][]byte{key("ck", string(g.Patient)), staffKey(g.Staff)} {
			if ok, err := t.has(k); err != nil {
				return err
			} else if !ok {
				return fmt.Errorf("break glass: %w", ledger.ErrUnknown)
			}
		}
		one, two := glassKeys(g)
		if err := errors.Join(t.putRow(one, g), t.putRow(two, g)); err != nil {
			return err
		}
		trail.Reason = g.Reason
		return t.audit(trail, "glass.break", string(g.Patient), string(g.Staff))
	})
}

// Glass implements ledger.Patients.
func (s *Store) Glass(who rom.StaffID, at time.Time) ([]ledger.Glass, error) {
	all, err := s.allGlass(under("gs", string(who)))
	return slices.DeleteFunc(all, func(g ledger.Glass) bool { return at.Before(g.From) || !at.Before(g.Until) }), err
}

// GlassOn implements ledger.Patients.
func (s *Store) GlassOn(p rom.PatientID) ([]ledger.Glass, error) {
	all, err := s.allGlass(under("gl", string(p)))
	slices.SortStableFunc(all, func(a, b ledger.Glass) int { return b.From.Compare(a.From) })
	return all, err
}

func (s *Store) allGlass(prefix []byte) ([]ledger.Glass, error) {
	var all []ledger.Glass
	err := s.view(func(t *txn) error {
		return t.each(prefix, prefix, 10, func(_, v []byte) error {
			var g ledger.Glass
			if err := json.Unmarshal(v, &g); err != nil {
				return fmt.Errorf("%w: emergency access", ledger.ErrDamaged)
			}
			all = append(all, g)
			return nil
		})
	})
	return all, err
}

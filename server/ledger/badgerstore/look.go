package badgerstore

import (
	"errors"
	"fmt"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

func lookKey(who rom.StaffID) []byte { return key("lk", string(who)) }

// Look implements ledger.Staffing.
func (s *Store) Look(who rom.StaffID) (ledger.Look, error) {
	var l ledger.Look
	err := s.view(func(t *txn) error { return t.row(lookKey(who), &l) })
	return l, err
}

// SetLook implements ledger.Staffing.
func (s *Store) SetLook(l ledger.Look, trail ledger.Trail) error {
	return s.update(func(t *txn) error {
		if ok, err := t.has(staffKey(l.Staff)); err != nil {
			return err
		} else if !ok {
			return fmt.Errorf("mark as seen: %w", ledger.ErrUnknown)
		}
		if err := t.putRow(lookKey(l.Staff), l); err != nil {
			return err
		}
		return t.audit(trail, "panel.seen", "", string(l.Staff))
	})
}

// Heads implements ledger.Patients.
func (s *Store) Heads(who rom.StaffID) ([]ledger.PanelRow, error) {
	var rows []ledger.PanelRow
	err := s.view(func(t *txn) error {
		return t.keys(panelPrefix(who), func(k []byte) error {
			p := rom.PatientID(lastPart(k))
			row, _, err := s.headRow(t, p)
			if errors.Is(err, ledger.ErrErased) {
				return nil
			}
			if err == nil {
				rows = append(rows, row)
			}
			return err
		})
	})
	return rows, err
}

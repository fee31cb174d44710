package badgerstore

import (
	"fmt"
	"strings"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

// Restrict implements ledger.Restricting.
func (s *Store) Restrict(p rom.PatientID, r ledger.Restriction, trail ledger.Trail) error {
	return s.restriction(p, trail, "patient.restrict", string(r.By), func(row *ledger.Patient) bool {
		if row.Restricted != nil || r.By == "" || strings.TrimSpace(r.Reason) == "" {
			return false
		}
		r.At = trail.At.UTC()
		row.Restricted = &r
		return true
	})
}

// Lift implements ledger.Restricting.
func (s *Store) Lift(p rom.PatientID, by rom.StaffID, trail ledger.Trail) error {
	return s.restriction(p, trail, "patient.lift", string(by), func(row *ledger.Patient) bool {
		if row.Restricted == nil || row.Restricted.By == by || by == "" {
			return false
		}
		row.Restricted = nil
		return true
	})
}

func (s *Store) restriction(p rom.PatientID, trail ledger.Trail, act, resource string, change func(*ledger.Patient) bool) error {
	return s.update(func(t *txn) error {
		row, err := s.getPatient(t, p)
		if err != nil {
			return fmt.Errorf("restrict: %w", err)
		}
		if !change(&row) {
			return fmt.Errorf("restrict: %w", ledger.ErrState)
		}
		if err := s.putPatient(t, row); err != nil {
			return fmt.Errorf("restrict: %w", err)
		}
		return t.audit(trail, act, string(p), resource)
	})
}

package badgerstore

import (
	"errors"
	"fmt"
	"slices"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

// backedUp is the act of SetBackedUp; an entry of it is no reason for
// another backup.
const backedUp = "backup.verified"

func extentKey(p rom.PatientID) []byte { return key("bx", string(p)) }

// Backup implements ledger.Archive.
func (s *Store) Backup() (ledger.BackupState, error) {
	var state ledger.BackupState
	err := s.view(func(t *txn) (err error) {
		if state, err = t.backup(); err != nil {
			return err
		}
		return t.each([]byte("ae/"), auditKey(state.Audit.Seq+1), 10, func(_, v []byte) error {
			e, _, err := readEntry(v)
			if err != nil {
				return err
			}
			if e.Act != backedUp {
				state.Behind = true
				return errStop
			}
			return nil
		})
	})
	return state, err
}

func (t *txn) backup() (ledger.BackupState, error) {
	var state ledger.BackupState
	if err := t.row(metaKey("backup"), &state); err != nil && !errors.Is(err, ledger.ErrUnknown) {
		return state, err
	}
	return state, nil
}

// backedUpAtOnce keeps a transaction within what badger takes.
const backedUpAtOnce = 200

// SetBackedUp implements ledger.Archive. What a verified backup holds stays
// true, so the marks may rise in steps; the state comes last.
func (s *Store) SetBackedUp(state ledger.BackupState, out ledger.Exported, trail ledger.Trail) error {
	patients := make([]rom.PatientID, 0, len(out.Logs))
	for p := range out.Logs {
		patients = append(patients, p)
	}
	slices.Sort(patients)
	for some := range slices.Chunk(patients, backedUpAtOnce) {
		if err := s.update(func(t *txn) error {
			for _, p := range some {
				extent := out.Logs[p]
				extent.Series = state.Series
				for a, n := range extent.Marks {
					if err := s.raiseBackedUp(t, a, n); err != nil {
						return err
					}
				}
				extent.Marks = nil
				if err := t.putRow(extentKey(p), extent); err != nil {
					return err
				}
			}
			return nil
		}); err != nil {
			return fmt.Errorf("set backed up: %w", err)
		}
	}
	return s.update(func(t *txn) error {
		if err := t.putRow(metaKey("backup"), state); err != nil {
			return err
		}
		return t.audit(trail, backedUp, "", fmt.Sprintf("%s %d %d %s", state.Series, state.Segment, state.Audit.Seq, state.Audit.Hash))
	})
}

func (s *Store) raiseBackedUp(t *txn, a rom.Author, n int64) error {
	row, err := s.author(t, a)
	if err != nil {
		return err
	}
	if n > row.Mark.N {
		return fmt.Errorf("backed up to %d of %d: %w", n, row.Mark.N, ledger.ErrState)
	}
	if n <= row.BackedUp {
		return nil
	}
	return t.putRow(key("bu", string(a)), n)
}

package badgerstore

import (
	"encoding/binary"
	"encoding/json"
	"fmt"
	"time"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// asideRow is what is stored before the encrypted line.
type asideRow struct {
	Author rom.Author            `json:"author"`
	N      int64                 `json:"n"`
	Hash   wire.Hash             `json:"hash"`
	Kind   ledger.QuarantineKind `json:"kind"`
	At     time.Time             `json:"at"`
}

func asideKey(p rom.PatientID, a rom.Author, n int64, h wire.Hash) []byte {
	return append(append(withN(under("qu", string(p), string(a)), n), '/'), h...)
}

// putAside stores a line of the quarantine under its hash: the same line
// again changes nothing, another one has another place.
func (s *Store) putAside(t *txn, log *logged, a rom.Author, l replica.Line, kind ledger.QuarantineKind, at time.Time) error {
	k := asideKey(log.p, a, l.N, l.Hash)
	if already, err := t.has(k); err != nil || already {
		return err
	}
	head, err := json.Marshal(asideRow{a, l.N, l.Hash, kind, at})
	if err != nil {
		return fmt.Errorf("quarantine: %w", err)
	}
	b := append(binary.BigEndian.AppendUint32(nil, uint32(len(head))), head...)
	if b, err = seal(log.content, s.opt.Chance, b, l.Bytes, belongs("aside", log.p, a, l.N)); err != nil {
		return err
	}
	log.head.Aside++
	log.changed = true
	return t.put(k, b)
}

// Quarantine implements ledger.Log.
func (s *Store) Quarantine(p rom.PatientID) ([]ledger.Quarantined, error) {
	var all []ledger.Quarantined
	err := s.view(func(t *txn) (err error) {
		all, err = s.quarantine(t, p)
		return err
	})
	return all, err
}

func (s *Store) quarantine(t *txn, p rom.PatientID) ([]ledger.Quarantined, error) {
	content, err := s.contentKey(t, p)
	if err != nil {
		return nil, err
	}
	var all []ledger.Quarantined
	prefix := under("qu", string(p))
	err = t.each(prefix, prefix, 20, func(_, v []byte) error {
		damaged := fmt.Errorf("%w: quarantine", ledger.ErrDamaged)
		if len(v) < 4 || len(v)-4 < int(binary.BigEndian.Uint32(v)) {
			return damaged
		}
		cut := 4 + int(binary.BigEndian.Uint32(v))
		var row asideRow
		if json.Unmarshal(v[4:cut], &row) != nil {
			return damaged
		}
		text, err := unseal(content, v[cut:], belongs("aside", p, row.Author, row.N))
		if err != nil {
			return err
		}
		if wire.HashOf(text) != row.Hash {
			return damaged
		}
		all = append(all, ledger.Quarantined{Author: row.Author, N: row.N, Hash: row.Hash, Kind: row.Kind, At: row.At, Bytes: text})
		return nil
	})
	return all, err
}

func sealedKey(a rom.Author, n int64) []byte { return withN(under("se", string(a)), n) }

func sealedMarkKey(a rom.Author) []byte { return key("sm", string(a)) }

// Sealed implements ledger.Log.
func (s *Store) Sealed(a rom.Author) ([]ledger.Line, error) {
	var all []ledger.Line
	err := s.view(func(t *txn) error {
		row, err := s.author(t, a)
		if err != nil {
			return err
		}
		all, err = s.sealed(t, row)
		return err
	})
	return all, err
}

// sealed returns what was not released yet.
func (s *Store) sealed(t *txn, row ledger.Author) ([]ledger.Line, error) {
	content, err := s.contentKey(t, row.Patient)
	if err != nil {
		return nil, err
	}
	var all []ledger.Line
	err = t.each(under("se", string(row.ID)), sealedKey(row.ID, row.Mark.N+1), 20, func(_, v []byte) error {
		l, err := unpackLine(content, "sealed", row.Patient, v)
		all = append(all, l)
		return err
	})
	return all, err
}

// releaseAtOnce keeps a transaction within what badger takes.
const releaseAtOnce = 200

// Release implements ledger.Log. It goes in steps of one transaction each;
// one that was interrupted is taken up again where it stopped.
func (s *Store) Release(a rom.Author, trail ledger.Trail) ([]ledger.Line, error) {
	var all []ledger.Line
	for {
		var step []ledger.Line
		rest := false
		err := s.update(func(t *txn) error {
			row, err := s.author(t, a)
			if err != nil {
				return err
			}
			if row.State != ledger.Revoked {
				return ledger.ErrState
			}
			lines, err := s.sealed(t, row)
			if err != nil || len(lines) == 0 {
				return err
			}
			if rest = len(lines) > releaseAtOnce; rest {
				lines = lines[:releaseAtOnce]
			}
			step, err = s.release(t, row, lines, trail)
			return err
		})
		if err != nil {
			return all, fmt.Errorf("release: %w", err)
		}
		if all = append(all, step...); !rest {
			return all, nil
		}
	}
}

func (s *Store) release(t *txn, row ledger.Author, lines []ledger.Line, trail ledger.Trail) ([]ledger.Line, error) {
	log, err := s.openLog(t, row.Patient)
	if err != nil {
		return nil, err
	}
	texts := make([][]byte, len(lines))
	for i, l := range lines {
		texts[i] = l.Bytes
	}
	verdict, err := replica.Accept(row.Mark, wire.Header{From: lines[0].N}, texts, func(int64) (wire.Hash, error) {
		return "", fmt.Errorf("%w: a sealed line is in the log already", ledger.ErrDamaged)
	})
	if err != nil {
		return nil, err
	}
	var out []ledger.Line
	for _, l := range verdict.Store {
		line, err := log.add(ledger.Line{Author: row.ID, N: l.N, Hash: l.Hash, Bytes: l.Bytes})
		if err != nil {
			return nil, err
		}
		out = append(out, line)
	}
	for _, q := range verdict.Quarantine {
		if err := s.setAside(t, log, row.ID, q, trail.At); err != nil {
			return nil, err
		}
	}
	if err := t.putRow(markKey(row.Patient, row.ID), verdict.Mark); err != nil {
		return nil, err
	}
	if err := t.audit(trail, "phone.release", string(row.Patient), fmt.Sprintf("%s %d lines", row.ID, len(lines))); err != nil {
		return nil, err
	}
	return out, log.close()
}

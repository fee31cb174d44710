package badgerstore

import (
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"unsling/server/ledger"
)

// auditHead is the end of the chain.
type auditHead struct {
	Seq  int64
	Hash string
}

func auditKey(seq int64) []byte { return withN([]byte("ae/"), seq) }

// audit appends an entry to the chain, in the transaction of the act itself.
func (t *txn) audit(trail ledger.Trail, act, patient, resource string) error {
	return t.note(ledger.Entry{
		At: trail.At, Actor: trail.Actor, Session: trail.Session, Act: act,
		Patient: patient, Resource: resource, Reason: trail.Reason, Request: trail.Request,
	})
}

func (t *txn) note(e ledger.Entry) error {
	var head auditHead
	if err := t.row([]byte("ah"), &head); err != nil && !errors.Is(err, ledger.ErrUnknown) {
		return fmt.Errorf("audit: %w", err)
	}
	e.Seq, e.At = head.Seq+1, e.At.UTC().Truncate(time.Millisecond)
	text, hash, err := ledger.ChainEntry(head.Hash, e)
	if err != nil {
		return err
	}
	if err := t.put(auditKey(e.Seq), append([]byte(hash), text...)); err != nil {
		return err
	}
	return t.putRow([]byte("ah"), auditHead{Seq: e.Seq, Hash: hash})
}

// Note implements ledger.Audits.
func (s *Store) Note(e ledger.Entry) error {
	return s.update(func(t *txn) error { return t.note(e) })
}

// hashLetters is the length of a hash in base64url. An entry is stored after
// the hash of the chain that it completes.
const hashLetters = 43

func readEntry(v []byte) (e ledger.Entry, text []byte, err error) {
	if len(v) < hashLetters || json.Unmarshal(v[hashLetters:], &e) != nil {
		return e, nil, fmt.Errorf("%w: audit entry", ledger.ErrDamaged)
	}
	e.Hash = string(v[:hashLetters])
	return e, v[hashLetters:], nil
}

// Audit implements ledger.Audits.
func (s *Store) Audit(from int64, max int) ([]ledger.Entry, error) {
	var all []ledger.Entry
	err := s.view(func(t *txn) error {
		return t.each([]byte("ae/"), auditKey(from), 100, func(_, v []byte) error {
			if max > 0 && len(all) == max {
				return errStop
			}
			e, _, err := readEntry(v)
			all = append(all, e)
			return err
		})
	})
	return all, err
}

// checkAudit walks the chain from its beginning and counts its entries. It
// calls fault for everything that is not as it was written.
func (t *txn) checkAudit(fault func(seq int64, what string)) (int, error) {
	var end, head auditHead
	if err := t.walkAudit(fault, &end); err != nil {
		return int(end.Seq), err
	}
	if err := t.row([]byte("ah"), &head); err != nil && !errors.Is(err, ledger.ErrUnknown) {
		return int(end.Seq), err
	}
	if head != end {
		fault(end.Seq, fmt.Sprintf("the audit log should end at entry %d", head.Seq))
	}
	return int(end.Seq), nil
}

// walkAudit walks the chain and leaves its end in end.
func (t *txn) walkAudit(fault func(seq int64, what string), end *auditHead) error {
	return t.keys([]byte("ae/"), func(k []byte) error {
		end.Seq++
		if lastN(k) != end.Seq {
			fault(end.Seq, "audit entries are missing")
			end.Seq = lastN(k)
		}
		v, err := t.get(k)
		if err != nil {
			fault(end.Seq, "an audit entry cannot be read")
			return nil
		}
		e, text, err := readEntry(v)
		if err != nil {
			fault(end.Seq, "an audit entry cannot be read")
			return nil
		}
		again, after, err := ledger.ChainEntry(end.Hash, e)
		if err != nil {
			return err
		}
		if string(again) != string(text) || after != e.Hash || e.Seq != end.Seq {
			fault(end.Seq, "an audit entry does not fit the chain")
		}
		end.Hash = e.Hash
		return nil
	})
}

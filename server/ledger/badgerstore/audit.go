package badgerstore

import (
	"crypto/sha256"
	"encoding/base64"
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
	text, hash, err := chain(head.Hash, e)
	if err != nil {
		return err
	}
	if err := t.put(auditKey(e.Seq), append([]byte(hash), text...)); err != nil {
		return err
	}
	return t.putRow([]byte("ah"), auditHead{Seq: e.Seq, Hash: hash})
}

// chain returns the entry's text and the chain's hash after it. The text is
// what encoding/json writes for the struct without Hash: fixed order of
// members, no white space, so that it is the same whoever computes it.
func chain(before string, e ledger.Entry) (text []byte, hash string, err error) {
	e.Hash = ""
	if text, err = json.Marshal(e); err != nil {
		return nil, "", fmt.Errorf("audit: %w", err)
	}
	h := sha256.New()
	h.Write([]byte(before))
	h.Write(text)
	return text, base64.RawURLEncoding.EncodeToString(h.Sum(nil)), nil
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
	var seq int64
	hash := ""
	err := t.keys([]byte("ae/"), func(k []byte) error {
		seq++
		if lastN(k) != seq {
			fault(seq, "audit entries are missing")
			seq = lastN(k)
		}
		v, err := t.get(k)
		if err != nil {
			fault(seq, "an audit entry cannot be read")
			return nil
		}
		e, text, err := readEntry(v)
		if err != nil {
			fault(seq, "an audit entry cannot be read")
			return nil
		}
		stored := e.Hash
		again, after, err := chain(hash, e)
		if err != nil {
			return err
		}
		if string(again) != string(text) || after != stored || e.Seq != seq {
			fault(seq, "an audit entry does not fit the chain")
		}
		hash = stored
		return nil
	})
	if err != nil {
		return int(seq), err
	}
	var head auditHead
	if err := t.row([]byte("ah"), &head); err != nil && !errors.Is(err, ledger.ErrUnknown) {
		return int(seq), err
	}
	if head.Seq != seq || head.Hash != hash {
		fault(seq, fmt.Sprintf("the audit log should end at entry %d", head.Seq))
	}
	return int(seq), nil
}

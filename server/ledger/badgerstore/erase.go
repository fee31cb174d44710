package badgerstore

import (
	"encoding/json"
	"errors"
	"fmt"
	"strconv"

	"github.com/dgraph-io/badger/v4"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

func erasureKey(p rom.PatientID) []byte { return key("er", string(p)) }

// AskErasure implements ledger.Erasing.
func (s *Store) AskErasure(p rom.PatientID, by rom.StaffID, trail ledger.Trail) error {
	return s.update(func(t *txn) error {
		if err := t.canErase(p, by); err != nil {
			return fmt.Errorf("ask for erasure: %w", err)
		}
		if err := t.putRow(erasureKey(p), ledger.Erasure{Patient: p, AskedBy: by, AskedAt: trail.At.UTC()}); err != nil {
			return err
		}
		return t.audit(trail, "erasure.ask", string(p), string(by))
	})
}

// canErase holds both halves of an erasure to a patient who is there and a
// person who works here.
func (t *txn) canErase(p rom.PatientID, by rom.StaffID) error {
	wrapped, err := t.get(key("ck", string(p)))
	if err != nil {
		return err
	}
	if len(wrapped) == 0 {
		return ledger.ErrErased
	}
	var who ledger.Staff
	if err := t.row(staffKey(by), &who); err != nil {
		return err
	}
	if who.Disabled {
		return ledger.ErrState
	}
	return nil
}

// DropErasure implements ledger.Erasing.
func (s *Store) DropErasure(p rom.PatientID, trail ledger.Trail) error {
	return s.update(func(t *txn) error {
		var e ledger.Erasure
		err := t.row(erasureKey(p), &e)
		if errors.Is(err, ledger.ErrUnknown) || err == nil && (e.Done() || e.AskedAt.IsZero()) {
			return fmt.Errorf("take back an erasure: %w", ledger.ErrState)
		}
		if err != nil {
			return err
		}
		if err := t.putRow(erasureKey(p), ledger.Erasure{Patient: p}); err != nil {
			return err
		}
		return t.audit(trail, "erasure.drop", string(p), "")
	})
}

// Erase implements ledger.Erasing.
func (s *Store) Erase(p rom.PatientID, by rom.StaffID, trail ledger.Trail) (ledger.Erasure, error) {
	var e ledger.Erasure
	err := s.updateAlways(func(t *txn) error {
		if err := t.canErase(p, by); err != nil {
			return err
		}
		err := t.row(erasureKey(p), &e)
		since := trail.At.Sub(e.AskedAt)
		if errors.Is(err, ledger.ErrUnknown) || err == nil && (e.AskedBy == "" || e.AskedBy == by || since < 0 || since > ledger.ErasureWindow) {
			return ledger.ErrState
		}
		if err != nil {
			return err
		}
		e.By, e.At = by, trail.At.UTC()
		if err := s.shred(t, &e); err != nil {
			return err
		}
		return t.audit(trail, "patient.erase", string(p), string(e.AskedBy)+" "+string(by)+" "+strconv.FormatInt(e.Log.Seq, 10))
	})
	if err != nil {
		return ledger.Erasure{}, fmt.Errorf("erase: %w", err)
	}
	done, err := s.purge()
	for _, x := range done {
		if x.Patient == p {
			e.Purged = true
		}
	}
	return e, err
}

// shred destroys the content key and blanks what is not encrypted under it.
// The encrypted rows stay where they are: nobody can read them any more.
func (s *Store) shred(t *txn, e *ledger.Erasure) error {
	p := e.Patient
	var h head
	if err := t.row(headKey(p), &h); err != nil {
		return err
	}
	phones, err := s.authors(t, p)
	if err != nil {
		return err
	}
	e.Log, e.Phones = h.cursor(), len(phones)
	for _, a := range phones {
		if err := t.putRow(authorKey(a.ID), blank(a)); err != nil {
			return err
		}
	}
	glass, err := t.glassOn(p)
	if err != nil {
		return err
	}
	for _, g := range glass {
		one, two := glassKeys(g)
		g.Reason = "erased"
		if err := errors.Join(t.putRow(one, g), t.putRow(two, g)); err != nil {
			return err
		}
	}
	t.done = append(t.done, func() { s.cache.drop(p) })
	return errors.Join(t.put(key("ck", string(p)), nil), t.putRow(erasureKey(p), *e))
}

// blank leaves of a phone's row what is needed to tell it that its patient
// was erased.
func blank(a ledger.Author) ledger.Author {
	return ledger.Author{ID: a.ID, Patient: a.Patient, State: a.State, Key: a.Key, Thumbprint: a.Thumbprint,
		CopyOf: a.CopyOf, Enrolled: a.Enrolled, Revoked: a.Revoked}
}

func (t *txn) glassOn(p rom.PatientID) ([]ledger.Glass, error) {
	var all []ledger.Glass
	prefix := under("gl", string(p))
	err := t.each(prefix, prefix, 10, func(_, v []byte) error {
		var g ledger.Glass
		if err := json.Unmarshal(v, &g); err != nil {
			return fmt.Errorf("%w: emergency access", ledger.ErrDamaged)
		}
		all = append(all, g)
		return nil
	})
	return all, err
}

// Erasures implements ledger.Erasing.
func (s *Store) Erasures() ([]ledger.Erasure, error) {
	var all []ledger.Erasure
	err := s.view(func(t *txn) (err error) {
		all, err = t.erasures()
		return err
	})
	return all, err
}

func (t *txn) erasures() ([]ledger.Erasure, error) {
	var all []ledger.Erasure
	prefix := []byte("er/")
	err := t.each(prefix, prefix, 10, func(_, v []byte) error {
		var e ledger.Erasure
		if err := json.Unmarshal(v, &e); err != nil {
			return fmt.Errorf("%w: erasure", ledger.ErrDamaged)
		}
		if e.AskedBy != "" {
			all = append(all, e)
		}
		return nil
	})
	return all, err
}

// purge makes badger write its files anew until no older version of a
// destroyed key is left in them, and notes for whom that is so. It can do
// nothing about old versions while a long read (Verify, Export) is under way.
func (s *Store) purge() ([]ledger.Erasure, error) {
	var open []ledger.Erasure
	err := s.view(func(t *txn) error {
		all, err := t.erasures()
		for _, e := range all {
			if e.Done() && !e.Purged {
				open = append(open, e)
			}
		}
		return err
	})
	if err != nil || len(open) == 0 {
		return nil, err
	}
	if !s.db.Opts().InMemory {
		if err := s.rewrite(open); err != nil {
			return nil, fmt.Errorf("purge: %w", err)
		}
	}
	var done []ledger.Erasure
	for _, e := range open {
		gone, err := s.keyGone(e.Patient)
		if err != nil {
			return done, err
		}
		if !gone && !s.db.Opts().InMemory {
			continue
		}
		e.Purged = true
		if err := s.updateAlways(func(t *txn) error { return t.putRow(erasureKey(e.Patient), e) }); err != nil {
			return done, err
		}
		done = append(done, e)
	}
	return done, nil
}

// rewrite flushes what is in memory and its log, and compacts everything to
// one level, which leaves out older versions. A table is written anew only if
// something newer lies over it: so the rows that were blanked are put again.
// Dropping the prefix of a row that is of no other use is badger's only way
// to flush; nobody else writes meanwhile.
func (s *Store) rewrite(erased []ledger.Erasure) error {
	if err := s.updateAlways(func(t *txn) error {
		for _, e := range erased {
			if err := s.putAgain(t, e.Patient); err != nil {
				return err
			}
		}
		return t.put([]byte("zz/flush"), nil)
	}); err != nil {
		return err
	}
	s.mu.Lock()
	err := guard(func() error { return s.db.DropPrefix([]byte("zz/")) })
	s.mu.Unlock()
	if err != nil {
		return err
	}
	return guard(func() error { return s.db.Flatten(1) })
}

func (s *Store) putAgain(t *txn, p rom.PatientID) error {
	phones, err := s.authors(t, p)
	if err != nil {
		return err
	}
	glass, err := t.glassOn(p)
	if err != nil {
		return err
	}
	for _, a := range phones {
		err = errors.Join(err, t.putRow(authorKey(a.ID), a))
	}
	for _, g := range glass {
		one, two := glassKeys(g)
		err = errors.Join(err, t.putRow(one, g), t.putRow(two, g))
	}
	return errors.Join(err, t.put(key("ck", string(p)), nil))
}

// keyGone reports whether only the empty version of a content key is left.
func (s *Store) keyGone(p rom.PatientID) (bool, error) {
	gone := true
	err := s.view(func(t *txn) error {
		k := key("ck", string(p))
		it := t.NewKeyIterator(k, badger.IteratorOptions{AllVersions: true})
		defer it.Close()
		for it.Rewind(); it.Valid(); it.Next() {
			if v, err := value(it.Item()); err != nil || len(v) > 0 {
				gone = false
				return err
			}
		}
		return nil
	})
	return gone, err
}

package badgerstore

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// imported makes a store whole after its rows are in.
type imported struct {
	s     *Store
	out   *ledger.Imported
	final ledger.Final
	trail ledger.Trail
}

func (x *imported) finish() error {
	var patients []rom.PatientID
	if err := x.s.view(func(t *txn) error { return t.importedPatients(&patients) }); err != nil {
		return err
	}
	if err := x.audit(); err != nil {
		return err
	}
	for _, e := range x.final.Erased {
		if slices.Contains(patients, e.Patient) {
			if err := x.erase(e); err != nil {
				return err
			}
		}
	}
	for _, p := range patients {
		if err := x.patient(p); err != nil {
			return fmt.Errorf("patient %s: %w", p, err)
		}
	}
	x.out.Patients = len(patients)
	if err := x.revoke(); err != nil {
		return err
	}
	return x.begin()
}

// importedPatients are those that left any row: one without a key is among them.
func (t *txn) importedPatients(all *[]rom.PatientID) error {
	seen := map[rom.PatientID]bool{}
	for _, prefix := range []string{"ck/", "pa/", "im/beside/", "im/erased/"} {
		if err := t.keys([]byte(prefix), func(k []byte) error {
			seen[rom.PatientID(lastPart(k))] = true
			return nil
		}); err != nil {
			return err
		}
	}
	for p := range seen {
		*all = append(*all, p)
	}
	slices.Sort(*all)
	return nil
}

// audit closes the chain as it was imported.
func (x *imported) audit() error {
	var bad string
	err := x.s.update(func(t *txn) error {
		var head auditHead
		err := t.walkAudit(func(seq int64, what string) {
			if bad == "" {
				bad = fmt.Sprintf("entry %d: %s", seq, what)
			}
		}, &head)
		if err != nil || head.Seq == 0 {
			return err
		}
		x.out.Audit, x.out.Entries = ledger.Head{Seq: head.Seq, Hash: head.Hash}, head.Seq
		return t.putRow([]byte("ah"), head)
	})
	if err == nil && bad != "" {
		err = fmt.Errorf("%w: %s", ledger.ErrDamaged, bad)
	}
	return err
}

// erase applies an erasure that the rows do not know of yet.
func (x *imported) erase(e ledger.Erasure) error {
	return x.s.update(func(t *txn) error {
		var was ledger.Erasure
		if err := t.row(erasureKey(e.Patient), &was); err != nil && !errors.Is(err, ledger.ErrUnknown) {
			return err
		}
		if !was.Done() {
			x.out.Erased++
		}
		e.Purged = true // the key was never written here
		return errors.Join(t.put(key("ck", string(e.Patient)), nil), t.putRow(erasureKey(e.Patient), e))
	})
}

// patient makes rows, marks and head of one patient.
func (x *imported) patient(p rom.PatientID) error {
	return x.s.update(func(t *txn) error {
		wrapped, err := t.get(key("ck", string(p)))
		var was ledger.Erasure
		if errors.Is(err, ledger.ErrUnknown) {
			if err := t.row(erasureKey(p), &was); err != nil && !errors.Is(err, ledger.ErrUnknown) {
				return err
			}
			if !was.Done() {
				x.out.Unreadable = append(x.out.Unreadable, p)
				return nil
			}
			err = t.put(key("ck", string(p)), nil)
		}
		if err != nil {
			return err
		}
		if len(wrapped) == 0 {
			err = x.rowsErased(t, p)
		} else {
			err = x.rowsBeside(t, p)
		}
		if err != nil {
			return err
		}
		return x.log(t, p, len(wrapped) == 0)
	})
}

func (x *imported) rowsBeside(t *txn, p rom.PatientID) error {
	content, err := x.s.contentKey(t, p)
	if err != nil {
		return err
	}
	sealed, err := t.get(key("im", string(ledger.SpaceBeside), string(p)))
	if err != nil {
		return err
	}
	plain, err := unseal(content, sealed, besideOf(p))
	if err != nil {
		return err
	}
	var b ledger.Beside
	if err := json.Unmarshal(plain, &b); err != nil {
		return errRow
	}
	for _, m := range b.Team {
		if err := errors.Join(t.putRow(teamKey(p, m.Staff), m), t.put(key("ts", string(m.Staff), string(p)), nil)); err != nil {
			return err
		}
	}
	for _, g := range b.Glass {
		one, two := glassKeys(g)
		if err := errors.Join(t.putRow(one, g), t.putRow(two, g)); err != nil {
			return err
		}
	}
	for _, inv := range b.Invitations {
		err := errors.Join(t.putRow(key("iv", inv.ID), inv), t.put(key("ip", string(p), inv.ID), nil))
		for _, secret := range inv.Secrets {
			err = errors.Join(err, t.putRow(key("is", secret), inv.ID))
		}
		if err != nil {
			return err
		}
	}
	return errors.Join(t.importPhones(b.Phones), t.Delete(key("im", string(ledger.SpaceBeside), string(p))))
}

// rowsErased restores the phones of an erased patient, if the rows were
// exported after the erasure.
func (x *imported) rowsErased(t *txn, p rom.PatientID) error {
	var left ledger.Erased
	err := t.row(key("im", string(ledger.SpaceErased), string(p)), &left)
	if errors.Is(err, ledger.ErrUnknown) {
		err = nil
	}
	return errors.Join(err, t.importPhones(left.Phones),
		t.Delete(key("im", string(ledger.SpaceErased), string(p))), t.Delete(key("im", string(ledger.SpaceBeside), string(p))))
}

func (t *txn) importPhones(phones []ledger.Author) error {
	for _, a := range phones {
		if err := t.newAuthor(a); err != nil {
			return err
		}
	}
	return nil
}

// log makes the head and the marks from the lines and the index.
func (x *imported) log(t *txn, p rom.PatientID, erased bool) error {
	l := &logged{s: x.s, t: t, p: p}
	var err error
	if !erased {
		if l.content, err = x.s.contentKey(t, p); err != nil {
			return err
		}
	}
	prefix := under("lg", string(p))
	if err := t.each(prefix, prefix, 100, func(k, v []byte) error {
		line, err := unpackLine(l.content, "log", p, v)
		if err != nil {
			return fmt.Errorf("line %d: %w", lastN(k), err)
		}
		if l.head.Seq++; lastN(k) != l.head.Seq {
			return fmt.Errorf("%w: line %d is missing", ledger.ErrDamaged, l.head.Seq)
		}
		l.head.Hash = line.Hash
		l.remember(line.Bytes)
		return nil
	}); err != nil {
		return err
	}
	if !erased {
		if err := t.keys(under("qu", string(p)), func([]byte) error { l.head.Aside++; return nil }); err != nil {
			return err
		}
	}
	x.out.Lines += l.head.Seq
	marks := map[rom.Author]wire.Mark{}
	prefix = under("ix", string(p))
	if err := t.each(prefix, prefix, 100, func(k, v []byte) error {
		a := rom.Author(k[len(prefix) : len(k)-9])
		n := lastN(k)
		if n != marks[a].N+1 || len(v) < 8 {
			return fmt.Errorf("%w: number %d of an author is missing", ledger.ErrDamaged, marks[a].N+1)
		}
		marks[a] = wire.Mark{N: n, Hash: wire.Hash(v[8:])}
		return nil
	}); err != nil {
		return err
	}
	for a, m := range marks {
		if err := t.putRow(markKey(p, a), m); err != nil {
			return err
		}
	}
	if err := x.sealedMarks(t, p, l); err != nil {
		return err
	}
	return t.putRow(headKey(p), l.head)
}

func (x *imported) sealedMarks(t *txn, p rom.PatientID, l *logged) error {
	ids, err := t.authorIDs(p)
	if err != nil {
		return err
	}
	for _, a := range ids {
		var m wire.Mark
		if err := t.each(under("se", string(a)), sealedKey(a, 1), 20, func(_, v []byte) error {
			line, err := unpackLine(l.content, "sealed", p, v)
			m = wire.Mark{N: line.N, Hash: line.Hash}
			return err
		}); err != nil {
			return err
		}
		if m.N > 0 {
			if err := t.putRow(sealedMarkKey(a), m); err != nil {
				return err
			}
		}
	}
	return nil
}

// revoke applies what is final and the rows do not know of yet.
func (x *imported) revoke() error {
	return x.s.update(func(t *txn) error {
		for a, at := range x.final.Revoked {
			row, err := x.s.author(t, a)
			if errors.Is(err, ledger.ErrUnknown) { // enrolled after this backup
				continue
			}
			if err != nil {
				return err
			}
			if row.State == ledger.Revoked {
				continue
			}
			row.State, row.Revoked = ledger.Revoked, at
			x.out.Revoked++
			if err := t.putRow(authorKey(a), row); err != nil {
				return err
			}
			if err := t.audit(x.trail, "phone.revoke", string(row.Patient), string(a)); err != nil {
				return err
			}
		}
		for _, id := range x.final.Disabled {
			var row ledger.Staff
			err := t.row(staffKey(id), &row)
			if errors.Is(err, ledger.ErrUnknown) || err == nil && row.Disabled {
				continue
			}
			if err != nil {
				return err
			}
			row.Disabled = true
			x.out.Disabled++
			if err := t.putRow(staffKey(id), row); err != nil {
				return err
			}
			if err := t.audit(x.trail, "staff.disable", "", string(id)); err != nil {
				return err
			}
		}
		return nil
	})
}

// begin makes the store ready, in a new epoch.
func (x *imported) begin() error {
	s := x.s
	return s.update(func(t *txn) error {
		about, err := s.newLife(x.trail.At)
		if err != nil {
			return err
		}
		if err := t.putRow(metaKey("about"), about); err != nil {
			return err
		}
		if err := t.Delete(restoringKey()); err != nil {
			return fmt.Errorf("write: %w", err)
		}
		t.done = append(t.done, func() { s.about = about })
		x.out.About = about
		return t.audit(x.trail, "store.restore", "", fmt.Sprintf("%s %d %s", about.Epoch, x.out.Audit.Seq, x.out.Audit.Hash))
	})
}

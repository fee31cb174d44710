package badgerstore

import (
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"iter"
	"slices"
	"strconv"
	"strings"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// A transaction of an import holds at most so many rows or bytes.
const (
	importRows  = 400
	importBytes = 512 << 10
)

func restoringKey() []byte { return metaKey("restoring") }

// Import implements ledger.Archive. The index, the marks and the heads are
// made again from the rows.
func (s *Store) Import(rows iter.Seq2[ledger.Row, error], final ledger.Final, trail ledger.Trail) (ledger.Imported, error) {
	var done ledger.Imported
	if err := s.beginImport(); err != nil {
		return done, fmt.Errorf("import: %w", err)
	}
	if err := s.importRows(rows); err != nil {
		return done, fmt.Errorf("import: %w", err)
	}
	x := &imported{s: s, out: &done, final: final, trail: trail}
	if err := x.finish(); err != nil {
		return done, fmt.Errorf("import: %w", err)
	}
	return done, nil
}

// beginImport marks the store as not yet whole.
func (s *Store) beginImport() error {
	return s.update(func(t *txn) error {
		for _, space := range []string{"ck/", "st/", "ae/", "lg/", "au/"} {
			used := false
			if err := t.keys([]byte(space), func([]byte) error { used = true; return errStop }); err != nil {
				return err
			}
			if used {
				return fmt.Errorf("the store is not empty: %w", ledger.ErrState)
			}
		}
		return t.put(restoringKey(), nil)
	})
}

func (s *Store) importRows(rows iter.Seq2[ledger.Row, error]) error {
	var batch []ledger.Row
	size := 0
	flush := func() error {
		some := batch
		batch, size = batch[:0], 0
		return s.update(func(t *txn) error {
			for _, r := range some {
				if err := s.importRow(t, r); err != nil {
					return fmt.Errorf("a row of %s: %w", r.Space, err)
				}
			}
			return nil
		})
	}
	for r, err := range rows {
		if err != nil {
			return err
		}
		batch = append(batch, r)
		if size += len(r.Key) + len(r.Value); len(batch) < importRows && size < importBytes {
			continue
		}
		if err := flush(); err != nil {
			return err
		}
	}
	return flush()
}

var errRow = errors.New("not in the form of an export")

func (s *Store) importRow(t *txn, r ledger.Row) error {
	parts := strings.Split(r.Key, "/")
	if r.Space != ledger.SpaceClinic && r.Space != ledger.SpaceLogin && checkID(parts...) != nil {
		return errRow
	}
	want := map[ledger.Space]int{ledger.SpaceAdoption: 2, ledger.SpaceLine: 2, ledger.SpaceAside: 4, ledger.SpaceSealed: 3}[r.Space]
	if len(parts) != max(1, want) {
		return errRow
	}
	p := rom.PatientID(parts[0])
	switch r.Space {
	case ledger.SpaceClinic:
		return t.put(metaKey("clinic"), r.Value)
	case ledger.SpaceStaff:
		return t.put(staffKey(rom.StaffID(parts[0])), r.Value)
	case ledger.SpaceLogin:
		return t.put(loginKey(r.Key), r.Value)
	case ledger.SpaceAdoption:
		version, err := strconv.Atoi(parts[1])
		if err != nil {
			return errRow
		}
		return t.put(adoptionKey(parts[0], version), r.Value)
	case ledger.SpaceKey:
		if len(r.Value) > 0 {
			if _, err := s.vault.unwrap(r.Value, "content "+parts[0]); err != nil {
				return fmt.Errorf("the content key given does not open it: %w", err)
			}
		}
		return t.put(key("ck", parts[0]), r.Value)
	case ledger.SpacePatient:
		return t.put(patientKey(p), r.Value)
	case ledger.SpaceBeside, ledger.SpaceErased:
		return t.put(key("im", string(r.Space), parts[0]), r.Value) // taken apart at the end, when the key is there
	case ledger.SpaceErasure:
		return t.put(erasureKey(p), r.Value)
	case ledger.SpaceLine:
		return t.importLine(p, parts[1], r.Value)
	case ledger.SpaceAside:
		return t.importAside(p, parts, r.Value)
	case ledger.SpaceSealed:
		n, err := strconv.ParseInt(parts[2], 10, 64)
		if err != nil {
			return errRow
		}
		return t.put(sealedKey(rom.Author(parts[1]), n), r.Value)
	case ledger.SpaceAudit:
		seq, err := strconv.ParseInt(parts[0], 10, 64)
		if err != nil {
			return errRow
		}
		return t.put(auditKey(seq), r.Value)
	}
	return errRow
}

func (t *txn) importLine(p rom.PatientID, number string, v []byte) error {
	seq, err := strconv.ParseInt(number, 10, 64)
	if err != nil || seq < 1 {
		return errRow
	}
	l, err := unpackLine(nil, "log", p, v)
	if err != nil {
		return err
	}
	if err := t.put(lineKey(p, seq), v); err != nil {
		return err
	}
	return t.putPlace(p, l.Author, l.N, place{seq, l.Hash})
}

func (t *txn) importAside(p rom.PatientID, parts []string, v []byte) error {
	n, err := strconv.ParseInt(parts[2], 10, 64)
	if err != nil || len(v) < 4 || len(v)-4 < int(binary.BigEndian.Uint32(v)) {
		return errRow
	}
	var row asideRow
	if json.Unmarshal(v[4:4+binary.BigEndian.Uint32(v)], &row) != nil {
		return errRow
	}
	a, h := rom.Author(parts[1]), wire.Hash(parts[3])
	if row.Kind != ledger.Forked { // its number is taken
		if err := t.putPlace(p, a, n, place{0, h}); err != nil {
			return err
		}
	}
	return t.put(asideKey(p, a, n, h), v)
}

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

package badgerstore

import (
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// Export implements ledger.Archive. Which patients changed is told by the
// audit log, because every change is in it.
func (s *Store) Export(whole bool, f func(ledger.Row) error) (ledger.Exported, error) {
	out := ledger.Exported{Rows: map[ledger.Space]int64{}, Logs: map[rom.PatientID]ledger.Extent{}}
	give := func(space ledger.Space, k string, v []byte) error {
		out.Rows[space]++
		return f(ledger.Row{Space: space, Key: k, Value: v})
	}
	err := s.view(func(t *txn) error {
		x := &export{s: s, t: t, out: &out, give: give}
		if !whole {
			var err error
			if x.state, err = t.backup(); err != nil {
				return err
			}
		}
		whole = x.state.Series == ""
		changed, clinic, final, err := x.changes()
		if err != nil {
			return err
		}
		if clinic || whole {
			if err := x.clinic(); err != nil {
				return err
			}
		}
		if whole {
			changed = nil
			if err := t.keys([]byte("ck/"), func(k []byte) error {
				changed = append(changed, rom.PatientID(lastPart(k)))
				return nil
			}); err != nil {
				return err
			}
		}
		for _, p := range changed {
			if err := x.patient(p); err != nil {
				return err
			}
		}
		if final || whole {
			if out.Final, err = s.final(t); err != nil {
				return err
			}
		}
		return x.audit()
	})
	if err != nil {
		return out, fmt.Errorf("export: %w", err)
	}
	return out, nil
}

// export is one export under way.
type export struct {
	s     *Store
	t     *txn
	state ledger.BackupState
	out   *ledger.Exported
	give  func(ledger.Space, string, []byte) error
}

// changes reads from the audit log what changed since the last backup.
func (x *export) changes() (patients []rom.PatientID, clinic, final bool, err error) {
	if x.state.Audit.Seq > 0 {
		v, err := x.t.get(auditKey(x.state.Audit.Seq))
		if errors.Is(err, ledger.ErrUnknown) {
			return nil, false, false, ledger.ErrWentBack
		}
		if err != nil {
			return nil, false, false, err
		}
		if e, _, err := readEntry(v); err != nil || e.Hash != x.state.Audit.Hash {
			return nil, false, false, errors.Join(ledger.ErrWentBack, err)
		}
	}
	seen := map[rom.PatientID]bool{}
	for _, p := range x.state.Damaged {
		seen[p] = true
	}
	err = x.t.each([]byte("ae/"), auditKey(x.state.Audit.Seq+1), 100, func(_, v []byte) error {
		e, _, err := readEntry(v)
		if err != nil {
			return err
		}
		switch {
		case e.Act == "patient.view" || strings.HasPrefix(e.Act, "session.") || e.Act == backedUp:
		case e.Patient == "":
			clinic = true
		default:
			seen[rom.PatientID(e.Patient)] = true
		}
		final = final || e.Act == "phone.revoke" || e.Act == "patient.erase" || e.Act == "staff.disable" || e.Act == "staff.change"
		return nil
	})
	for p := range seen {
		patients = append(patients, p)
	}
	slices.Sort(patients)
	return patients, clinic, final, err
}

// clinic gives what belongs to no patient.
func (x *export) clinic() error {
	v, err := x.t.get(metaKey("clinic"))
	if err == nil {
		err = x.give(ledger.SpaceClinic, "", v)
	}
	if err != nil && !errors.Is(err, ledger.ErrUnknown) {
		return err
	}
	for _, one := range []struct {
		prefix string
		space  ledger.Space
	}{{"st/", ledger.SpaceStaff}, {"sl/", ledger.SpaceLogin}} {
		prefix := []byte(one.prefix)
		if err := x.t.each(prefix, prefix, 50, func(k, v []byte) error { return x.give(one.space, string(k[3:]), v) }); err != nil {
			return err
		}
	}
	prefix := []byte("ad/")
	return x.t.each(prefix, prefix, 5, func(k, v []byte) error {
		name := string(k[3 : len(k)-9])
		return x.give(ledger.SpaceAdoption, name+"/"+strconv.FormatInt(lastN(k), 10), v)
	})
}

// patient gives what changed of one patient. A patient of whom something
// cannot be read is named, and holds nobody else up.
func (x *export) patient(p rom.PatientID) error {
	known := true
	var done ledger.Extent
	err := x.t.row(extentKey(p), &done)
	if errors.Is(err, ledger.ErrUnknown) || err == nil && done.Series != x.state.Series {
		done, known, err = ledger.Extent{}, false, nil
	}
	var writing error
	if err == nil {
		give := x.give
		x.give = func(s ledger.Space, k string, v []byte) error {
			writing = give(s, k, v)
			return writing
		}
		done, err = x.onePatient(p, done)
		x.give = give
	}
	switch {
	case writing != nil:
		return writing
	case errors.Is(err, ledger.ErrWentBack):
		return err
	case errors.Is(err, ledger.ErrUnknown): // named in the audit log, but never made
		return nil
	case err != nil:
		x.out.Damaged = append(x.out.Damaged, p)
		return nil
	}
	if !known {
		x.out.New++
	}
	x.out.Logs[p] = done
	return nil
}

func (x *export) onePatient(p rom.PatientID, done ledger.Extent) (ledger.Extent, error) {
	t := x.t
	var h head
	if err := t.row(headKey(p), &h); err != nil {
		return done, err
	}
	phones, err := x.s.authors(t, p)
	if err != nil {
		return done, err
	}
	content, err := x.s.contentKey(t, p)
	if errors.Is(err, ledger.ErrErased) {
		err = x.erased(p, phones)
	} else if err == nil {
		err = x.rows(p, phones)
	}
	if err != nil {
		return done, err
	}
	if done.Log.Seq > 0 {
		b, err := t.get(lineKey(p, done.Log.Seq))
		if errors.Is(err, ledger.ErrUnknown) {
			return done, ledger.ErrWentBack
		}
		if err != nil {
			return done, err
		}
		if l, err := unpackLine(nil, "log", p, b); err != nil || l.Hash != done.Log.Hash {
			return done, errors.Join(ledger.ErrWentBack, err)
		}
	}
	prefix := under("lg", string(p))
	seq := done.Log.Seq
	err = t.each(prefix, lineKey(p, seq+1), 100, func(k, v []byte) error {
		if seq++; lastN(k) != seq {
			return fmt.Errorf("%w: line %d of a log is missing", ledger.ErrDamaged, seq)
		}
		l, err := unpackLine(content, "log", p, v) // holds the text to its hash
		if err != nil {
			return err
		}
		if l.Erased {
			v = v[:1+len(l.Author)+8+32] // the rest is noise
		}
		done.Log = wire.Cursor{Seq: seq, Hash: l.Hash}
		return x.give(ledger.SpaceLine, string(p)+"/"+strconv.FormatInt(seq, 10), v)
	})
	if err != nil {
		return done, err
	}
	if seq != h.Seq {
		return done, fmt.Errorf("%w: the log should end at line %d", ledger.ErrDamaged, h.Seq)
	}
	if content == nil {
		return done, nil
	}
	if done.Aside != h.Aside {
		prefix := under("qu", string(p))
		if err := t.each(prefix, prefix, 20, func(k, v []byte) error {
			author, n, hash, err := splitAside(k, p)
			if err != nil {
				return err
			}
			return x.give(ledger.SpaceAside, strings.Join([]string{string(p), string(author), strconv.FormatInt(n, 10), string(hash)}, "/"), v)
		}); err != nil {
			return done, err
		}
		done.Aside = h.Aside
	}
	done.Marks = map[rom.Author]int64{}
	sealed := map[rom.Author]int64{}
	for _, a := range phones {
		if a.Mark.N > 0 {
			done.Marks[a.ID] = a.Mark.N
		}
		last := done.Sealed[a.ID]
		if err := t.each(under("se", string(a.ID)), sealedKey(a.ID, last+1), 20, func(k, v []byte) error {
			last = lastN(k)
			return x.give(ledger.SpaceSealed, string(p)+"/"+string(a.ID)+"/"+strconv.FormatInt(last, 10), v)
		}); err != nil {
			return done, err
		}
		if last > 0 {
			sealed[a.ID] = last
		}
	}
	done.Sealed = sealed
	return done, nil
}

// splitAside takes apart a key of the quarantine.
func splitAside(k []byte, p rom.PatientID) (rom.Author, int64, wire.Hash, error) {
	rest := k[len(under("qu", string(p))):]
	cut := slices.Index(rest, '/')
	if cut < 0 || len(rest) != cut+1+8+1+hashLetters {
		return "", 0, "", fmt.Errorf("%w: quarantine", ledger.ErrDamaged)
	}
	return rom.Author(rest[:cut]), int64(binary.BigEndian.Uint64(rest[cut+1:])), wire.Hash(rest[cut+10:]), nil
}

// rows gives the patient's row, key, and what is beside them, encrypted.
func (x *export) rows(p rom.PatientID, phones []ledger.Author) error {
	content, err := x.s.contentKey(x.t, p)
	if err != nil {
		return err
	}
	wrapped, err := x.t.get(key("ck", string(p)))
	if err != nil {
		return err
	}
	row, err := x.t.get(patientKey(p))
	if err != nil {
		return err
	}
	if _, err := x.t.patient(p, content); err != nil {
		return err
	}
	b := ledger.Beside{Phones: phones}
	if b.Team, err = x.t.team(p); err != nil {
		return err
	}
	if b.Glass, err = x.t.glassOn(p); err != nil {
		return err
	}
	if b.Invitations, err = x.t.invitations(p); err != nil {
		return err
	}
	plain, err := json.Marshal(b)
	if err != nil {
		return fmt.Errorf("write row: %w", err)
	}
	beside, err := seal(content, x.s.opt.Chance, nil, plain, besideOf(p))
	if err != nil {
		return err
	}
	e, err := x.t.get(erasureKey(p))
	if err == nil {
		err = x.give(ledger.SpaceErasure, string(p), e)
	} else if errors.Is(err, ledger.ErrUnknown) {
		err = nil
	}
	return errors.Join(err, x.give(ledger.SpaceKey, string(p), wrapped), x.give(ledger.SpacePatient, string(p), row),
		x.give(ledger.SpaceBeside, string(p), beside))
}

func besideOf(p rom.PatientID) string { return "beside " + string(p) }

// erased gives what is left of a patient.
func (x *export) erased(p rom.PatientID, phones []ledger.Author) error {
	var left ledger.Erased
	for _, a := range phones {
		left.Phones = append(left.Phones, blank(a))
	}
	text, err := json.Marshal(left)
	if err != nil {
		return fmt.Errorf("write row: %w", err)
	}
	e, err := x.t.get(erasureKey(p))
	if err != nil {
		return err
	}
	return errors.Join(x.give(ledger.SpaceErased, string(p), text), x.give(ledger.SpaceErasure, string(p), e))
}

// audit gives the entries since the last backup.
func (x *export) audit() error {
	x.out.Audit = x.state.Audit
	return x.t.each([]byte("ae/"), auditKey(x.state.Audit.Seq+1), 100, func(k, v []byte) error {
		x.out.Audit = ledger.Head{Seq: lastN(k), Hash: string(v[:hashLetters])}
		return x.give(ledger.SpaceAudit, strconv.FormatInt(lastN(k), 10), v)
	})
}

// final collects what no restore may take back.
func (s *Store) final(t *txn) (*ledger.Final, error) {
	f := &ledger.Final{Revoked: map[rom.Author]time.Time{}}
	err := t.each([]byte("au/"), []byte("au/"), 50, func(_, v []byte) error {
		var a ledger.Author
		if err := json.Unmarshal(v, &a); err != nil {
			return fmt.Errorf("%w: phone", ledger.ErrDamaged)
		}
		if a.State == ledger.Revoked {
			f.Revoked[a.ID] = a.Revoked
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	err = t.each([]byte("st/"), []byte("st/"), 50, func(_, v []byte) error {
		var p ledger.Staff
		if err := json.Unmarshal(v, &p); err != nil {
			return fmt.Errorf("%w: staff", ledger.ErrDamaged)
		}
		if p.Disabled {
			f.Disabled = append(f.Disabled, p.ID)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	all, err := t.erasures()
	for _, e := range all {
		if e.Done() {
			f.Erased = append(f.Erased, e)
		}
	}
	return f, err
}

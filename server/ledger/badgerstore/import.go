package badgerstore

import (
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"iter"
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

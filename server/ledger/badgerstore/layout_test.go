package badgerstore

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/server/ledger/ledgertest"
	"unsling/sync/wire"
)

// A store of every layout that was ever in use is kept in testdata and never
// made again: this program must open it, or refuse it in one sentence. After
// a change of the layout raise schema, add the step from the old one, and
// make the new fixture once with -make-fixture.
var makeFixture = flag.Bool("make-fixture", false, "make the fixture of the present layout, if there is none")

func fixture(layout int) string {
	return filepath.Join("testdata", fmt.Sprintf("layout-%d.tar.gz", layout))
}

// TestEveryLayoutOpens opens the fixtures and looks for what was put in.
func TestEveryLayoutOpens(t *testing.T) {
	if *makeFixture {
		writeFixture(t, fixture(schema))
	}
	for layout := 1; layout <= schema; layout++ {
		dir := t.TempDir()
		unpack(t, fixture(layout), dir)
		s, err := Open(dir, testOptions(ledgertest.TestKeys(), ledgertest.TestFold(1)))
		if err != nil {
			t.Fatalf("layout %d: %v", layout, err)
		}
		checkFixture(t, s)
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}
}

// A store of a layout to come is refused, and left as it is.
func TestNewerLayoutIsRefused(t *testing.T) {
	dir := t.TempDir()
	unpack(t, fixture(schema), dir)
	opt := testOptions(ledgertest.TestKeys(), ledgertest.TestFold(1))
	s, err := Open(dir, opt)
	if err != nil {
		t.Fatal(err)
	}
	s.spoil(t, metaKey("about"), func(b []byte) []byte {
		return bytes.Replace(b, fmt.Appendf(nil, `"schema":%d`, schema), fmt.Appendf(nil, `"schema":%d`, schema+1), 1)
	})
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if _, err := Open(dir, opt); !errors.Is(err, ledger.ErrNewer) {
			t.Fatalf("a newer layout: %v", err)
		}
	}
}

const fixtureLines = 70 // more than the facts wait for

func writeFixture(t *testing.T, path string) {
	if _, err := os.Stat(path); err == nil {
		t.Fatalf("%s is there already and stays as it is", path)
	}
	dir := t.TempDir()
	s := newStore(t, dir, fixtureLines)
	trail := ledger.Trail{At: ledgertest.Noon, Actor: "vega"}
	raw, v, err := wire.EncodeBody(wire.KindNote, rom.Note{Episode: "e1", Text: "an invented note", By: "vega"})
	if err != nil {
		t.Fatal(err)
	}
	_, err = s.Append("p1", []ledger.Draft{{Kind: wire.KindNote, V: v, Body: raw, At: ledgertest.Noon, Zone: "UTC"}}, nil, trail)
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	must(err)
	must(s.SetClinic(ledger.Clinic{Name: "Invented practice", Phone: "555 0100", Zone: "UTC"}, trail))
	must(s.AddStaff(ledger.Staff{ID: "roth", Login: "roth", Role: ledger.Therapist}, trail))
	must(s.CreatePatient(ledger.Patient{ID: "p2", Name: "Gone"}, []rom.StaffID{"vega", "roth"}, nil, trail))
	must(s.Adopt(ledger.Adoption{Name: "cuff", Version: 1, By: "vega", At: ledgertest.Noon, Hash: "h", Body: []byte("text")}, trail))
	must(s.BreakGlass(ledger.Glass{Patient: "p1", Staff: "roth", Reason: "an invented emergency", From: ledgertest.Noon, Until: ledgertest.Noon.Add(time.Hour)}, trail))
	send(t, s, fixtureLines+1, [][]byte{[]byte("not a record")})
	must(s.RevokeAuthor("a1", trail))
	must(s.SetBackedUp(ledger.BackupState{Series: "s", Segment: 3, Audit: ledger.Head{Seq: 1}}, ledger.Exported{Logs: map[rom.PatientID]ledger.Extent{
		"p1": {Marks: map[rom.Author]int64{"a1": 60}}}}, trail))
	must(s.AskErasure("p2", "vega", trail))
	_, err = s.Erase("p2", "roth", trail)
	must(err)
	must(s.Close())
	must(os.MkdirAll("testdata", 0o755))
	must(pack(path, dir))
}

func checkFixture(t *testing.T, s *Store) {
	t.Helper()
	if r, err := s.Verify(context.Background()); err != nil || len(r.Faults) > 0 || r.Patients != 2 || r.Lines != fixtureLines+1 ||
		len(r.Aside) != 1 || r.Aside[0] != (ledger.Aside{Patient: "p1", Malformed: 1}) {
		t.Errorf("verify: %+v %v", r, err)
	}
	if c, err := s.Clinic(); err != nil || c.Name != "Invented practice" {
		t.Errorf("clinic: %+v %v", c, err)
	}
	if p, err := s.Patient("p1"); err != nil || p.Name != "Canary Surname" {
		t.Errorf("patient: %+v %v", p, err)
	}
	if _, err := s.Patient("p2"); !errors.Is(err, ledger.ErrErased) {
		t.Errorf("erased patient: %v", err)
	}
	lines, err := s.Read("p1", 1, 0)
	if err != nil || len(lines) != fixtureLines+1 || !bytes.Equal(lines[9].Bytes, chainOf(10)[9]) || !lines[fixtureLines].Author.FromClinic() {
		t.Errorf("log of %d lines: %v", len(lines), err)
	}
	if q, err := s.Quarantine("p1"); err != nil || len(q) != 1 || string(q[0].Bytes) != "not a record" {
		t.Errorf("quarantine: %+v %v", q, err)
	}
	if a, err := s.Author("a1"); err != nil || a.State != ledger.Revoked || a.Mark.N != fixtureLines+1 || a.BackedUp != 60 {
		t.Errorf("phone: %+v %v", a, err)
	}
	if all, err := s.Adoptions(); err != nil || len(all) != 1 || string(all[0].Body) != "text" {
		t.Errorf("adoptions: %+v %v", all, err)
	}
	if g, err := s.GlassOn("p1"); err != nil || len(g) != 1 {
		t.Errorf("emergency access: %+v %v", g, err)
	}
	if e, err := s.Erasures(); err != nil || len(e) != 1 || !e[0].Done() {
		t.Errorf("erasures: %+v %v", e, err)
	}
	if b, err := s.Backup(); err != nil || b.Segment != 3 {
		t.Errorf("backup: %+v %v", b, err)
	}
	if _, err := s.StaffByLogin("roth"); err != nil {
		t.Errorf("staff: %v", err)
	}
	if err := s.PutPatient(ledger.Patient{ID: "p1", Name: "Canary Surname"}, ledger.Trail{At: ledgertest.Noon, Actor: "vega"}); err != nil {
		t.Errorf("writing: %v", err)
	}
}

func pack(path, dir string) error {
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	z, err := gzip.NewWriterLevel(f, gzip.BestCompression)
	if err != nil {
		return err
	}
	w := tar.NewWriter(z)
	err = filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := os.ReadFile(name)
		if err != nil {
			return err
		}
		return errors.Join(w.WriteHeader(&tar.Header{Name: filepath.Base(name), Mode: 0o600, Size: int64(len(b))}), write(w, b))
	})
	return errors.Join(err, w.Close(), z.Close(), f.Close())
}

func write(w io.Writer, b []byte) error {
	_, err := w.Write(b)
	return err
}

func unpack(t *testing.T, path, dir string) {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	for r := tar.NewReader(z); ; {
		h, err := r.Next()
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		b, err := io.ReadAll(r)
		if err == nil {
			err = os.WriteFile(filepath.Join(dir, filepath.Base(h.Name)), b, 0o600)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
}

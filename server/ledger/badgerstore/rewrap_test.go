package badgerstore

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/server/ledger/ledgertest"
)

// The content key is changed with the power going before every transaction:
// half way neither key opens the store, in the end only the new one does,
// everything is there, the erased stay erased, and no file of the store holds
// a key wrapped under the old one.
func TestContentKeyChanges(t *testing.T) {
	dir := t.TempDir()
	s := newStore(t, dir, 70)
	trail := ledger.Trail{At: ledgertest.Noon, Actor: "vega"}
	const more = 2*rewrapAtOnce + 50
	for i := range more {
		if err := s.CreatePatient(ledger.Patient{ID: rom.PatientID(fmt.Sprint("q", i)), Name: fmt.Sprint("Invented ", i)}, []rom.StaffID{"vega"}, nil, trail); err != nil {
			t.Fatal(err)
		}
	}
	err := errors.Join(s.AddStaff(ledger.Staff{ID: "roth", Login: "roth", Role: ledger.Therapist}, trail), s.AskErasure("q7", "vega", trail))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Erase("q7", "roth", trail); err != nil {
		t.Fatal(err)
	}
	if err := s.SetBackedUp(ledger.BackupState{Series: "s", Segment: 3, Audit: ledger.Head{Seq: 1}}, ledger.Exported{}, trail); err != nil {
		t.Fatal(err)
	}
	var wrapped [][]byte
	if err := s.view(func(t *txn) error {
		return t.each([]byte("ck/"), []byte("ck/"), 10, func(_, v []byte) error {
			if len(v) > 0 {
				wrapped = append(wrapped, v)
			}
			return nil
		})
	}); err != nil || len(wrapped) != more {
		t.Fatalf("%d wrapped keys: %v", len(wrapped), err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}

	old := testOptions(ledgertest.TestKeys(), ledgertest.TestFold(1))
	fresh := bytes.Repeat([]byte{9}, 32)
	renewed := old
	renewed.Content = fresh
	stop := errors.New("the power went")
	var out Rewrapped
	patients, broken := 0, 0
	for left := 0; ; left++ {
		n := left
		out, err = rewrap(dir, old, fresh, trail, func() error {
			if n--; n < 0 {
				return stop
			}
			return nil
		})
		patients += out.Patients
		if err == nil {
			break
		}
		if !errors.Is(err, stop) {
			t.Fatal(err)
		}
		broken++
		_, errOld := Open(dir, old)
		s, errNew := Open(dir, renewed)
		switch {
		case errNew == nil: // it was over but for clearing up
			if err := s.Close(); err != nil || errOld == nil {
				t.Fatal("both keys open the store", err)
			}
		case !errors.Is(errOld, ledger.ErrKeyChange) || !errors.Is(errNew, ledger.ErrKeyChange):
			t.Fatalf("half way: with the old key %v, with the new one %v", errOld, errNew)
		}
		if _, err := Rewrap(dir, old, bytes.Repeat([]byte{8}, 32), trail); err == nil {
			t.Fatal("half way a third key was taken")
		}
	}
	if broken < 4 || patients < more || len(out.Damaged) > 0 || !out.Purged {
		t.Errorf("broken off %d times, %d keys wrapped anew, %+v", broken, patients, out)
	}

	if _, err := Open(dir, old); err == nil {
		t.Fatal("the old key still opens the store")
	}
	s, err = Open(dir, renewed)
	if err != nil {
		t.Fatal(err)
	}
	if r, err := s.Verify(context.Background()); err != nil || len(r.Faults) > 0 || r.Patients != more+1 || r.Lines != 70 {
		t.Errorf("verify: %+v %v", r, err)
	}
	if p, err := s.Patient("q42"); err != nil || p.Name != "Invented 42" {
		t.Errorf("a patient: %+v %v", p, err)
	}
	if _, err := s.Patient("q7"); !errors.Is(err, ledger.ErrErased) {
		t.Errorf("the erased patient: %v", err)
	}
	if b, err := s.Backup(); err != nil || b.Series != "" || !b.Behind {
		t.Errorf("the next backup does not begin anew: %+v %v", b, err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	files := 0
	err = filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		files++
		text, err := os.ReadFile(path)
		for i, w := range wrapped {
			if bytes.Contains(text, w) {
				return fmt.Errorf("%s holds key %d wrapped under the old one", d.Name(), i)
			}
		}
		return err
	})
	if err != nil || files == 0 {
		t.Errorf("%d files: %v", files, err)
	}
}

// A wrapped key that is damaged is named and holds nobody else up; with a key
// of another store nothing begins.
func TestContentKeyChangeNamesDamage(t *testing.T) {
	dir := t.TempDir()
	s := newStore(t, dir, 3)
	if err := s.CreatePatient(ledger.Patient{ID: "p2"}, []rom.StaffID{"vega"}, nil, ledger.Trail{At: ledgertest.Noon, Actor: "vega"}); err != nil {
		t.Fatal(err)
	}
	s.spoil(t, key("ck", "p1"), func(b []byte) []byte { b[20] ^= 1; return b })
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	opt := testOptions(ledgertest.TestKeys(), ledgertest.TestFold(1))
	wrong := opt
	wrong.Content = bytes.Repeat([]byte{7}, 32)
	trail := ledger.Trail{At: ledgertest.Noon, Actor: "server"}
	if _, err := Rewrap(dir, wrong, bytes.Repeat([]byte{9}, 32), trail); err == nil {
		t.Fatal("began with a key of another store")
	}
	out, err := Rewrap(dir, opt, bytes.Repeat([]byte{9}, 32), trail)
	if err != nil || len(out.Damaged) != 1 || out.Damaged[0] != "p1" || out.Patients != 1 {
		t.Errorf("%+v %v", out, err)
	}
}

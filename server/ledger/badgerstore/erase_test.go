package badgerstore

import (
	"bytes"
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/server/ledger/ledgertest"
)

// traces searches the store's files for what must not be there after an
// erasure: the wrapped key, any text that the key-encryption key opens as the
// patient's content key, and words that were stored in clear.
func traces(t *testing.T, dir string, kek []byte, wrapped []byte, words ...string) []string {
	t.Helper()
	v, err := newVault(kek, nil)
	if err != nil {
		t.Fatal(err)
	}
	var found []string
	files := 0
	err = filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		files++
		name := filepath.Base(path)
		if bytes.Contains(b, wrapped) {
			found = append(found, name+": the wrapped key")
		}
		for _, w := range words {
			if bytes.Contains(b, []byte(w)) {
				found = append(found, name+": "+w)
			}
		}
		for i := 0; i+len(wrapped) <= len(b); i++ {
			if b[i] == 0 && b[i+1] == 0 && b[i+2] == 0 {
				continue // room that badger reserves
			}
			if _, err := v.unwrap(b[i:i+len(wrapped)], "content p1"); err == nil {
				found = append(found, name+": a key that opens")
			}
		}
		return nil
	})
	if err != nil || files == 0 {
		t.Fatalf("%d files searched: %v", files, err)
	}
	return found
}

// After an erasure the files hold no copy of the key and none of what stood
// beside it in clear; before it they do, so the search can find.
func TestErasureLeavesNoTrace(t *testing.T) {
	dir := t.TempDir()
	s := newStore(t, dir, 150)
	trail := ledger.Trail{At: ledgertest.Noon, Actor: "vega"}
	if err := errors.Join(s.AddStaff(ledger.Staff{ID: "roth", Login: "roth", Role: ledger.Therapist}, trail),
		s.CreatePatient(ledger.Patient{ID: "p2"}, []rom.StaffID{"vega"}, nil, trail),
		s.BreakGlass(ledger.Glass{Patient: "p1", Staff: "roth", Reason: "canary reason", From: ledgertest.Noon, Until: ledgertest.Noon.Add(1)}, ledger.Trail{At: ledgertest.Noon, Actor: "roth"}),
		s.AskErasure("p1", "vega", trail)); err != nil {
		t.Fatal(err)
	}
	row, err := s.Author("a1")
	if err != nil {
		t.Fatal(err)
	}
	row.Name = "canary phone"
	var wrapped []byte
	if err := s.update(func(t *txn) error {
		wrapped, err = t.get(key("ck", "p1"))
		return errors.Join(err, t.putRow(authorKey("a1"), row))
	}); err != nil {
		t.Fatal(err)
	}
	// The key is in a file of every kind: in an older table and in the log.
	if err := s.rewrite(nil); err != nil {
		t.Fatal(err)
	}
	if err := s.update(func(t *txn) error { return t.put(key("ck", "p1"), wrapped) }); err != nil {
		t.Fatal(err)
	}
	keys := ledgertest.TestKeys()
	before := strings.Join(traces(t, dir, keys.Content, wrapped, "canary phone"), "\n")
	for _, want := range []string{".sst: the wrapped key", ".sst: a key that opens", ".mem: a key that opens", "canary phone"} {
		if !strings.Contains(before, want) {
			t.Fatalf("the search does not find %q before the erasure:\n%s", want, before)
		}
	}
	e, err := s.Erase("p1", "roth", ledger.Trail{At: ledgertest.Noon, Actor: "roth"})
	if err != nil || !e.Purged {
		t.Fatalf("%+v %v", e, err)
	}
	// The audit log keeps the reason of an emergency access: it says who looked and why.
	if found := traces(t, dir, keys.Content, wrapped, "canary phone", "canary-of-the-patient", "Canary Surname"); len(found) > 0 {
		t.Errorf("while open: %s", strings.Join(found, "\n"))
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if found := traces(t, dir, keys.Content, wrapped, "canary phone", "canary-of-the-patient", "Canary Surname"); len(found) > 0 {
		t.Errorf("after closing: %s", strings.Join(found, "\n"))
	}
	if s, err = Open(dir, testOptions(keys, ledgertest.TestFold(1))); err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if r, err := s.Verify(context.Background()); err != nil || len(r.Faults) > 0 || r.Patients != 2 {
		t.Errorf("%+v %v", r, err)
	}
	if _, err := s.Patient("p2"); err != nil {
		t.Errorf("the other patient: %v", err)
	}
}

// A long read keeps badger from dropping the old key; Tidy does it later.
func TestErasureDuringLongRead(t *testing.T) {
	dir := t.TempDir()
	s := newStore(t, dir, 10)
	defer s.Close()
	trail := ledger.Trail{At: ledgertest.Noon, Actor: "vega"}
	if err := errors.Join(s.AddStaff(ledger.Staff{ID: "roth", Login: "roth", Role: ledger.Therapist}, trail),
		s.AskErasure("p1", "vega", trail)); err != nil {
		t.Fatal(err)
	}
	var wrapped []byte
	err := s.view(func(long *txn) error {
		var err error
		if wrapped, err = long.get(key("ck", "p1")); err != nil {
			return err
		}
		if e, err := s.Erase("p1", "roth", trail); err != nil || e.Purged {
			t.Errorf("during a long read: %+v %v", e, err)
		}
		if _, err := s.Patient("p1"); !errors.Is(err, ledger.ErrErased) {
			t.Errorf("the patient can still be read: %v", err)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Tidy(); err != nil {
		t.Fatal(err)
	}
	all, err := s.Erasures()
	if err != nil || len(all) != 1 || !all[0].Purged {
		t.Errorf("after tidying: %+v %v", all, err)
	}
	if found := traces(t, dir, ledgertest.TestKeys().Content, wrapped); len(found) > 0 {
		t.Errorf("after tidying: %s", strings.Join(found, "\n"))
	}
}

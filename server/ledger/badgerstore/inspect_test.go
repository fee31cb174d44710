package badgerstore

import (
	"context"
	"crypto/sha256"
	"errors"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"testing"

	"unsling/server/ledger"
	"unsling/server/ledger/ledgertest"
)

// hashes are of all files in a folder.
func hashes(t *testing.T, dir string) map[string][32]byte {
	t.Helper()
	all := map[string][32]byte{}
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := os.ReadFile(path)
		all[path] = sha256.Sum256(b)
		return err
	})
	if err != nil || len(all) == 0 {
		t.Fatalf("%d files, %v", len(all), err)
	}
	return all
}

// Who inspects a store sees all of it and changes no file: after a stop, after
// a kill, and with files that the kill left half made.
func TestInspectChangesNothing(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	opt := testOptions(ledgertest.TestKeys(), ledgertest.TestFold(1))
	killed := killedStore(t)
	stopped := copyOf(t, killed)
	holdsAll(t, stopped) // and closes it
	half := copyOf(t, killed)
	for _, name := range []string{"00000.mem", "00042.mem", "000042.vlog", "000042.sst", "MANIFEST-REWRITE"} {
		if err := os.WriteFile(filepath.Join(half, name), nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for name, dir := range map[string]string{"stopped": stopped, "killed": killed, "half made": half} {
		t.Run(name, func(t *testing.T) {
			before := hashes(t, dir)
			s, err := Inspect(dir, opt)
			if err != nil {
				t.Fatal(err)
			}
			r, err := s.Verify(context.Background())
			if err != nil || len(r.Faults) != 0 || r.Lines != 300 {
				t.Errorf("%+v %v", r, err)
			}
			if _, err := Open(dir, opt); !errors.Is(err, ledger.ErrLocked) {
				t.Errorf("a server starts beside it: %v", err)
			}
			if err := s.SetClinic(ledger.Clinic{Name: "Invented"}, ledger.Trail{At: ledgertest.Noon, Actor: "vega"}); err == nil {
				t.Error("it takes what is written")
			}
			if err := s.Close(); err != nil {
				t.Error(err)
			}
			if after := hashes(t, dir); !maps.Equal(before, after) {
				t.Errorf("files changed: %d before, %d after", len(before), len(after))
			}
			if left, err := os.ReadDir(os.TempDir()); err != nil || len(left) != 0 {
				t.Errorf("left behind: %v %v", left, err)
			}
			holdsAll(t, dir)
		})
	}
}

// A store that is not there, or that somebody has open, is not inspected.
func TestInspectRefuses(t *testing.T) {
	opt := testOptions(ledgertest.TestKeys(), ledgertest.TestFold(1))
	if _, err := Inspect(t.TempDir(), opt); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("%v", err)
	}
	dir := t.TempDir()
	s := newStore(t, dir, 3)
	if _, err := Inspect(dir, opt); !errors.Is(err, ledger.ErrLocked) {
		t.Errorf("%v", err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(filepath.Join(dir, "MANIFEST"), 5); err != nil {
		t.Fatal(err)
	}
	before := hashes(t, dir)
	if _, err := Inspect(dir, opt); !errors.Is(err, ledger.ErrDamaged) {
		t.Errorf("%v", err)
	}
	if !maps.Equal(before, hashes(t, dir)) {
		t.Error("files changed")
	}
}

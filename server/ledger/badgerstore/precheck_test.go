package badgerstore

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"unsling/server/ledger"
	"unsling/server/ledger/ledgertest"
)

// A table without its end and a MANIFEST cut short are named before badger
// sees them: it would die of the one and remove the tables for the other.
func TestCutFilesAreNamed(t *testing.T) {
	for _, c := range []struct {
		file string
		cut  func(size int64) int64
	}{
		{"*.sst", func(n int64) int64 { return n - 1 }}, {"*.sst", func(n int64) int64 { return n / 2 }}, {"*.sst", func(int64) int64 { return 2 }},
		{"MANIFEST", func(n int64) int64 { return n - 1 }}, {"MANIFEST", func(int64) int64 { return 5 }}, {"MANIFEST", func(int64) int64 { return -1 }},
	} {
		dir := t.TempDir()
		s := newStore(t, dir, 40)
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		files, err := filepath.Glob(filepath.Join(dir, c.file))
		if err != nil || len(files) == 0 {
			t.Fatalf("%s: %v %v", c.file, files, err)
		}
		about, err := os.Stat(files[0])
		if err != nil {
			t.Fatal(err)
		}
		if at := c.cut(about.Size()); at >= 0 {
			err = os.Truncate(files[0], at)
		} else {
			err = os.Remove(files[0])
		}
		if err != nil {
			t.Fatal(err)
		}
		before, _ := filepath.Glob(filepath.Join(dir, "*.sst"))
		_, err = Open(dir, testOptions(ledgertest.TestKeys(), ledgertest.TestFold(1)))
		if !errors.Is(err, ledger.ErrDamaged) || !strings.Contains(err.Error(), filepath.Base(files[0])) {
			t.Errorf("%s cut from %d: %v", c.file, about.Size(), err)
		}
		if after, _ := filepath.Glob(filepath.Join(dir, "*.sst")); len(after) != len(before) {
			t.Errorf("%s: %d tables of %d are left", c.file, len(after), len(before))
		}
	}
}

package badgerstore

import (
	"bytes"
	"context"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"unsling/server/ledger"
	"unsling/server/ledger/ledgertest"
)

// killedStore is the folder of a store whose process ended without closing
// it: 300 lines, the first 250 in a table, the rest in the log of the memory.
func killedStore(t *testing.T) string {
	t.Helper()
	dir, killed := t.TempDir(), filepath.Join(t.TempDir(), "store")
	if err := newStore(t, dir, 250).Close(); err != nil {
		t.Fatal(err)
	}
	s, err := Open(dir, testOptions(ledgertest.TestKeys(), ledgertest.TestFold(1)))
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	send(t, s, 251, chainOf(300)[250:])
	if out, err := exec.Command("cp", "-a", "--sparse=always", dir, killed).CombinedOutput(); err != nil {
		t.Fatalf("copy: %v %s", err, out)
	}
	return killed
}

func copyOf(t *testing.T, dir string) string {
	t.Helper()
	to := filepath.Join(t.TempDir(), "store")
	if out, err := exec.Command("cp", "-a", "--sparse=always", dir, to).CombinedOutput(); err != nil {
		t.Fatalf("copy: %v %s", err, out)
	}
	return to
}

// holdsAll opens the store and looks whether it has its 300 lines unharmed.
func holdsAll(t *testing.T, dir string) {
	t.Helper()
	s, err := Open(dir, testOptions(ledgertest.TestKeys(), ledgertest.TestFold(1)))
	if err != nil {
		t.Errorf("does not open: %v", err)
		return
	}
	defer s.Close()
	lines, err := s.Read("p1", 1, 0)
	if err != nil || len(lines) != 300 {
		t.Errorf("%d lines of 300: %v", len(lines), err)
	}
	if r, err := s.Verify(context.Background()); err != nil || len(r.Faults) != 0 {
		t.Errorf("%+v %v", r.Faults, err)
	}
}

// Files that badger has only begun to make, or to remove, when the process is
// killed: the next start goes through, and so does the one after it.
func TestHalfMadeFiles(t *testing.T) {
	killed := killedStore(t)
	empty := func(name string) func(string) error {
		return func(dir string) error { return os.WriteFile(filepath.Join(dir, name), nil, 0o600) }
	}
	long := func(name string, size int64) func(string) error {
		return func(dir string) error {
			return errors.Join(empty(name)(dir), os.Truncate(filepath.Join(dir, name), size))
		}
	}
	junk := func(name string) func(string) error {
		return func(dir string) error {
			return os.WriteFile(filepath.Join(dir, name), bytes.Repeat([]byte{7}, 4000), 0o600)
		}
	}
	for _, c := range []struct {
		name string
		make func(dir string) error
	}{
		{"nothing", func(string) error { return nil }},
		{"log in memory, empty", empty("00042.mem")},
		{"log in memory, empty, the oldest", empty("00000.mem")},
		{"two logs in memory, empty", func(dir string) error { return errors.Join(empty("00042.mem")(dir), empty("00043.mem")(dir)) }},
		{"log in memory, half a head", long("00042.mem", 7)},
		{"log in memory, a head", long("00042.mem", 20)},
		{"log in memory, at its length without a head", long("00042.mem", 16<<20)},
		{"value log, empty", empty("000042.vlog")},
		{"value log, empty, the oldest", empty("000000.vlog")},
		{"value log, half a head", long("000042.vlog", 7)},
		{"value log, at its length without a head", long("000042.vlog", 64<<20)},
		{"table, empty", empty("000042.sst")},
		{"table, without an end", long("000042.sst", 1<<20)},
		{"table, half written", junk("000042.sst")},
		{"MANIFEST begun again, empty", empty("MANIFEST-REWRITE")},
		{"MANIFEST begun again, half", junk("MANIFEST-REWRITE")},
		{"KEYREGISTRY begun again, empty", empty("REWRITE-KEYREGISTRY")},
		{"KEYREGISTRY begun again, half", junk("REWRITE-KEYREGISTRY")},
		{"DISCARD, empty", empty("DISCARD")},
		{"DISCARD, half", func(dir string) error { return os.Truncate(filepath.Join(dir, "DISCARD"), 1<<19) }},
		{"LOCK, empty", empty("LOCK")},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := copyOf(t, killed)
			if err := c.make(dir); err != nil {
				t.Fatal(err)
			}
			holdsAll(t, dir)
			holdsAll(t, dir)
		})
	}
}

// A first start that was killed is begun again.
func TestHalfMadeStore(t *testing.T) {
	for _, files := range [][]string{{"MANIFEST-REWRITE"}, {"MANIFEST-REWRITE", "LOCK", "00001.mem"}, {"00001.mem", "000001.vlog"}} {
		dir := t.TempDir()
		for _, name := range files {
			if err := os.WriteFile(filepath.Join(dir, name), nil, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		if err := newStore(t, dir, 3).Close(); err != nil {
			t.Errorf("%v: %v", files, err)
		}
	}
}

// A store that somebody has open is left alone, whatever its files look like
// at the moment.
func TestHalfMadeFilesOfARunningServer(t *testing.T) {
	dir := t.TempDir()
	s := newStore(t, dir, 3)
	defer s.Close()
	if err := os.WriteFile(filepath.Join(dir, "00042.mem"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(dir, testOptions(ledgertest.TestKeys(), ledgertest.TestFold(1))); !errors.Is(err, ledger.ErrLocked) {
		t.Errorf("%v", err)
	}
	if about, err := os.Stat(filepath.Join(dir, "00042.mem")); err != nil || about.Size() != 0 {
		t.Errorf("the file was touched: %v %v", about, err)
	}
}

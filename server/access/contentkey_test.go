package access

import (
	"bytes"
	"crypto/rand"
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"
)

// A key that belongs to a store is never made anew beside it; the others are.
func TestKeysOfAStoreAreNeverMadeAnew(t *testing.T) {
	now := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		file  string
		store bool
		lost  bool
	}{
		{"content.key", true, true}, {"clinic-mac.key", true, true}, {"codes.key", true, false}, {"signing.json", true, false},
		{"content.key", false, false}, {"clinic-mac.key", false, false},
	} {
		data := t.TempDir()
		dir := filepath.Join(data, "keys")
		before, err := OpenKeyring(dir, rand.Reader, now)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.Mkdir(filepath.Join(data, "store"), 0o700); err != nil {
			t.Fatal(err)
		}
		if c.store {
			if err := os.WriteFile(filepath.Join(data, "store", "MANIFEST"), []byte("x"), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		if err := os.Remove(filepath.Join(dir, c.file)); err != nil {
			t.Fatal(err)
		}
		after, err := OpenKeyring(dir, rand.Reader, now)
		if errors.Is(err, ErrKeyLost) != c.lost || !c.lost && err != nil {
			t.Errorf("%s missing, store there: %v: %v", c.file, c.store, err)
		}
		if _, err := os.Stat(filepath.Join(dir, c.file)); (err == nil) == c.lost {
			t.Errorf("%s missing, store there: %v: made anew: %v", c.file, c.store, err == nil)
		}
		if err == nil && c.file == "codes.key" && !bytes.Equal(before.Content, after.Content) {
			t.Error("another content key")
		}
	}
}

// While content.key is being changed nothing else opens the keyring; beginning
// again finds the same key to come.
func TestContentKeyToCome(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "keys")
	before, err := OpenKeyring(dir, rand.Reader, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	_, fresh, err := BeginContentChange(dir, rand.Reader)
	if err != nil || bytes.Equal(fresh, before.Content) || len(fresh) != secretSize {
		t.Fatal(err)
	}
	if _, err := OpenKeyring(dir, rand.Reader, time.Time{}); !errors.Is(err, ErrKeyChange) {
		t.Errorf("half way: %v", err)
	}
	if _, err := ReadKeyring(dir); !errors.Is(err, ErrKeyChange) {
		t.Errorf("half way: %v", err)
	}
	ring, again, err := BeginContentChange(dir, rand.Reader)
	if err != nil || !bytes.Equal(fresh, again) || !bytes.Equal(ring.Content, before.Content) {
		t.Errorf("begun again: %v", err)
	}
	if err := FinishContentChange(dir); err != nil {
		t.Fatal(err)
	}
	after, err := ReadKeyring(dir)
	if err != nil || !bytes.Equal(after.Content, fresh) || !bytes.Equal(after.ClinicMAC, before.ClinicMAC) || !bytes.Equal(after.Codes, before.Codes) {
		t.Errorf("afterwards: %v", err)
	}
	info, err := os.Stat(filepath.Join(dir, "content.key"))
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("content.key: %v %v", info, err)
	}
}

package main

import (
	"bytes"
	"crypto/rand"
	"os"
	"path/filepath"
	"reflect"
	"testing"
	"time"

	"filippo.io/age"

	"unsling/server/access"
)

// A saved keyring is read without writing any of it down: no temporary folder ever holds a key in clear.
func TestSavedKeyringIsReadInMemory(t *testing.T) {
	data, id := t.TempDir(), func() *age.X25519Identity {
		id, err := age.GenerateX25519Identity()
		if err != nil {
			t.Fatal(err)
		}
		return id
	}()
	want, err := access.OpenKeyring(filepath.Join(data, "keys"), rand.Reader, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	saved := filepath.Join(data, "keyring.age")
	var out bytes.Buffer
	if err := dispatch(t.Context(), []string{"keys", "save", "--data", data, "--recipient", id.Recipient().String(), "--out", saved}, &out, &out); err != nil {
		t.Fatal(err, out.String())
	}
	t.Setenv("TMPDIR", filepath.Join(data, "no such folder")) // whoever writes a temporary file fails
	got, err := readKeys(saved, []age.Identity{id})
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(got.ring, want) {
		t.Error("another keyring was read")
	}
	if _, err := os.Stat(filepath.Join(data, "no such folder")); !os.IsNotExist(err) {
		t.Error("something was written down")
	}
	for name := range got.files {
		short := map[string][]byte{}
		for k, v := range got.files {
			if k != name {
				short[k] = v
			}
		}
		if _, err := access.KeyringOf(short); err == nil {
			t.Errorf("a keyring without %s passes", name)
		}
	}
}

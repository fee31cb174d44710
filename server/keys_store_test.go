package main

import (
	"archive/zip"
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"unsling/server/access"
	"unsling/server/ledger"
)

// content.key is replaced by command; the backup goes on with a new series
// that opens with the keyring of afterwards, and so does the old series, whose
// files of keys are shared.
func TestRotateContentCommand(t *testing.T) {
	dir := t.TempDir()
	data, to, id, ring := filepath.Join(dir, "data"), filepath.Join(dir, "backup"), filepath.Join(dir, "identity.txt"), filepath.Join(dir, "keyring.age")
	h := testHouse(t, data, io.Discard)
	if err := h.close(); err != nil {
		t.Fatal(err)
	}
	recipient := regexp.MustCompile(`age1\w+`).FindString(wantCall(t, "Recipient: age1", "keys", "identity", "--out", id))
	wantCall(t, "Segment 1 of series", "backup", "--data", data, "--to", to, "--recipient", recipient)
	before, err := os.ReadFile(filepath.Join(data, "keys", "content.key"))
	if err != nil {
		t.Fatal(err)
	}

	// A change that was begun and not finished stops everything else.
	if _, _, err := access.BeginContentChange(filepath.Join(data, "keys"), bytes.NewReader(bytes.Repeat([]byte{5}, 32))); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{{"serve", "--data", data}, {"verify", data}, {"backup", "--data", data, "--to", to, "--recipient", recipient}} {
		if _, err := call(t, args...); !errors.Is(err, access.ErrKeyChange) {
			t.Errorf("%v while the key is being changed: %v", args, err)
		}
	}
	out := wantCall(t, "the keys of 2 patients are wrapped under it", "keys", "rotate-content", "--data", data)
	if strings.Contains(out, "damaged") || strings.Contains(out, "Older wrappings") {
		t.Error(out)
	}
	after, err := os.ReadFile(filepath.Join(data, "keys", "content.key"))
	if err != nil || bytes.Equal(before, after) {
		t.Errorf("content.key is as before: %v", err)
	}
	wantCall(t, "0 faults", "verify", data)
	wantCall(t, "encrypted", "keys", "save", "--data", data, "--recipient", recipient, "--out", ring)
	wantCall(t, "Segment 1 of series", "backup", "--data", data, "--to", to, "--recipient", recipient)
	wantCall(t, "0 faults", "verify-backup", "--from", to, "--identity", id, "--keyring", ring)
	wantCall(t, "0 faults", "verify", restoredAt(t, filepath.Join(dir, "again"), to, id, ring))
}

func restoredAt(t *testing.T, data, from, id, ring string) string {
	t.Helper()
	wantCall(t, "", "restore", "--from", from, "--identity", id, "--keyring", ring, "--data", data)
	return data
}

// A missing key of a store is said in one sentence, and none is made.
func TestMissingKeyOfAStore(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	h := testHouse(t, data, io.Discard)
	if err := h.close(); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"content.key", "clinic-mac.key"} {
		path := filepath.Join(data, "keys", name)
		if err := os.Rename(path, path+".away"); err != nil {
			t.Fatal(err)
		}
		if _, err := call(t, "serve", "--data", data); !errors.Is(err, access.ErrKeyLost) || !strings.Contains(err.Error(), name) {
			t.Errorf("without %s: %v", name, err)
		}
		if _, err := os.Stat(path); err == nil {
			t.Errorf("%s was made anew", name)
		}
		if err := os.Rename(path+".away", path); err != nil {
			t.Fatal(err)
		}
	}
	if h := testHouse(t, data, io.Discard); h.close() != nil {
		t.Error("with the keys back it does not open")
	}
}

// A second process on the same folder is told so, whatever the command.
func TestSecondProcessIsTold(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	h := testHouse(t, data, io.Discard)
	defer h.close()
	for _, args := range [][]string{
		{"serve", "--data", data}, {"verify", data}, {"migrate", "--data", data}, {"migrate", "--data", data, "--dry-run"}, {"keys", "rotate-content", "--data", data},
	} {
		_, err := call(t, args...)
		if !errors.Is(err, ledger.ErrLocked) || !strings.Contains(err.Error(), "another process has this store open") {
			t.Errorf("%v: %v", args, err)
		}
	}
	if _, err := os.Stat(filepath.Join(data, "keys", "content.key.next")); err == nil {
		t.Error("a change of the content key was begun under a running server")
	}
}

// The dry run leaves data folder and scratch folder as they were.
func TestMigrateCommand(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	h := testHouse(t, data, io.Discard)
	if err := h.close(); err != nil {
		t.Fatal(err)
	}
	scratch := t.TempDir()
	out := wantCall(t, "0 faults", "migrate", "--data", data, "--dry-run", "--scratch", scratch)
	if !strings.Contains(out, "the data folder is as it was") || !strings.Contains(out, "nothing was changed") {
		t.Error(out)
	}
	if left, err := os.ReadDir(scratch); err != nil || len(left) != 0 {
		t.Errorf("left in the scratch folder: %v %v", left, err)
	}
	wantCall(t, "nothing was changed", "migrate", "--data", data)
	if _, err := call(t, "migrate", "--data", t.TempDir()); exitCode(orHelp(err)) != 2 {
		t.Errorf("no store there: %v", err)
	}
}

// The whole record by command: by a clinician of the care team who gives the
// own password, never over a file that is there.
func TestExportCommand(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	h := testHouse(t, data, io.Discard)
	defer h.close()
	file := filepath.Join(t.TempDir(), "record.zip")
	var out bytes.Buffer
	if err := h.export(t.Context(), "p1", "vega", "a wrong password", file, &out); err == nil {
		t.Error("with a wrong password")
	}
	if err := h.export(t.Context(), "p1", "admin", testPassword, file, &out); err == nil || !strings.Contains(err.Error(), "your role may not do this") {
		t.Errorf("by an administrator: %v", err)
	}
	if err := h.export(t.Context(), "nobody", "vega", testPassword, file, &out); exitCode(orHelp(err)) != 2 {
		t.Errorf("nobody: %v", err)
	}
	if _, err := os.Stat(file); err == nil {
		t.Fatal("a refused export left a file")
	}
	if err := h.export(t.Context(), "p1", "vega", testPassword, file, &out); err != nil || !strings.Contains(out.String(), "health data in clear") {
		t.Fatal(err, out.String())
	}
	z, err := zip.OpenReader(file)
	if err != nil {
		t.Fatal(err)
	}
	defer z.Close()
	var names []string
	for _, f := range z.File {
		names = append(names, f.Name)
	}
	if got := strings.Join(names, " "); got != "README.txt record.html lines.ndjson dictionary.json record.json" {
		t.Error(got)
	}
	if info, err := os.Stat(file); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("%v %v", info, err)
	}
	if err := h.export(t.Context(), "p1", "vega", testPassword, file, &out); err == nil {
		t.Error("written over a file that was there")
	}
}

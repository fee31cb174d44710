package main

import (
	"crypto/rand"
	"fmt"
	"io"
	"path/filepath"
	"time"

	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/server/ledger/badgerstore"
)

// rotateContent replaces content.key. The new key is on the disk before
// anything is wrapped under it, and takes the old one's place only when
// everything is; between the two the data folder opens for nothing else.
func rotateContent(data string, out io.Writer) error {
	if data == "" {
		return wrong("keys rotate-content needs --data FOLDER")
	}
	dir := filepath.Join(data, "keys")
	release, err := badgerstore.Hold(filepath.Join(data, "store")) // before anything is begun
	if err != nil {
		return err
	}
	if err := release(); err != nil {
		return err
	}
	ring, fresh, err := access.BeginContentChange(dir, rand.Reader)
	if err != nil {
		return err
	}
	now := time.Now()
	done, err := badgerstore.Rewrap(filepath.Join(data, "store"), storeOptions(ring, now, rand.Reader), fresh, ledger.Trail{At: now.UTC(), Actor: "server"})
	if err != nil {
		return err
	}
	if err := access.FinishContentChange(dir); err != nil {
		return err
	}
	fmt.Fprintf(out, "content.key is new; the keys of %d patients are wrapped under it.\n", done.Patients)
	for _, p := range done.Damaged {
		fmt.Fprintf(out, "Patient %s: the wrapped key is damaged, neither key opens it. Restore this patient from a backup.\n", p)
	}
	if !done.Purged {
		fmt.Fprintln(out, "Older wrappings are still in files of the store; the daily upkeep removes them.")
	}
	fmt.Fprintln(out, "Save the keyring again now: unsling keys save. Keep the saved copy of before until the next backup,")
	fmt.Fprintln(out, "which begins a new series, is verified; then destroy it. Copies of the store made before stay open to the old key.")
	return nil
}

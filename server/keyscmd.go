package main

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"filippo.io/age"

	"unsling/server/access"
	"unsling/server/backup"
)

const keysHelp = `unsling keys VERB

  identity --out FILE                        make the key pair that backups are encrypted to; keep FILE
                                             off this machine, give the printed recipient to the server
  save --data FOLDER --recipient age1... --out FILE
                                             an encrypted copy of the clinic's keyring; keep it apart from
                                             the backups: both are needed to restore
  rotate --data FOLDER                       sign tokens with the next key; tokens of the key before stay
                                             good until they run out. A running server takes it up within
                                             a minute. Once a quarter is usual, at once if a key was seen.
  rotate-content --data FOLDER               replace content.key: every patient's key is wrapped under a new
                                             one. Only if it was seen by others. Stop the server first; if it
                                             is broken off, call it again.`

func keys(_ context.Context, args []string, out, errs io.Writer) error {
	if len(args) == 0 || args[0] == "-h" || args[0] == "--help" || args[0] == "help" {
		fmt.Fprintln(errs, keysHelp)
		if len(args) == 0 {
			return wrong("keys has the verbs identity, save, rotate and rotate-content")
		}
		return nil
	}
	f := flags("keys "+args[0], keysHelp, errs)
	data := f.String("data", "", "data folder")
	file := f.String("out", "", "file to make")
	recipient := f.String("recipient", "", "age recipient")
	if err := parse(f, args[1:], os.Getenv); err != nil {
		return err
	}
	switch args[0] {
	case "identity":
		return newIdentity(*file, out)
	case "save":
		return saveKeys(*data, *file, *recipient, out)
	case "rotate":
		return rotateKeys(*data, out)
	case "rotate-content":
		return rotateContent(*data, out)
	}
	return wrong("keys has the verbs identity, save, rotate and rotate-content")
}

func newIdentity(file string, out io.Writer) error {
	if file == "" {
		return wrong("keys identity needs --out FILE")
	}
	id, err := age.GenerateX25519Identity()
	if err != nil {
		return err
	}
	text := fmt.Sprintf("# opens the backups of an Unsling server; keep it off the server\n# recipient: %s\n%s\n", id.Recipient(), id)
	if err := writeNew(file, []byte(text)); err != nil {
		return err
	}
	fmt.Fprintf(out, "Recipient: %s\nThe identity is in %s. Move it off this machine; without it no backup opens.\n", id.Recipient(), file)
	return nil
}

// writeNew writes a file that must not be there yet.
func writeNew(path string, text []byte) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	_, err = f.Write(text)
	return errors.Join(err, f.Sync(), f.Close())
}

func saveKeys(data, file, recipient string, out io.Writer) error {
	if data == "" || file == "" || recipient == "" {
		return wrong("keys save needs --data, --recipient and --out")
	}
	to, err := backup.ParseRecipient(recipient)
	if err != nil {
		return wrong("--recipient is %v", err)
	}
	k, err := readKeys(filepath.Join(data, "keys"), nil)
	if err != nil {
		return err
	}
	text, err := json.Marshal(k.files)
	if err != nil {
		return err
	}
	f, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	enc, err := age.Encrypt(f, to)
	if err == nil {
		_, err = enc.Write(text)
		err = errors.Join(err, enc.Close())
	}
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		return err
	}
	fmt.Fprintf(out, "The keyring is in %s, encrypted. Keep it apart from the backups.\n", file)
	return nil
}

func rotateKeys(data string, out io.Writer) error {
	if data == "" {
		return wrong("keys rotate needs --data FOLDER")
	}
	dir := filepath.Join(data, "keys")
	ring, err := access.ReadKeyring(dir)
	if err != nil {
		return err
	}
	set, err := access.RotateSigning(dir, ring.Signing, rand.Reader, time.Now())
	if errors.Is(err, access.ErrTooSoon) {
		return fmt.Errorf("%w; wait a quarter of an hour", err)
	}
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "Tokens are signed with key %s from now on; key %s is good until its tokens have run out.\n", set.Current.ID, set.Previous.ID)
	fmt.Fprintln(out, "Save the keyring again: unsling keys save.")
	return nil
}

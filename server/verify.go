package main

import (
	"context"
	"crypto/rand"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"unsling/server/access"
	"unsling/server/ledger/badgerstore"
)

const verifyHelp = `unsling verify FOLDER checks a data folder while no server has it open: the
checksums of the store's files, the hash of every record, the chain of every
author, the marks, the audit chain, and that the stored facts equal a fresh
fold of the log. It changes no file: it works on links and on copies of the logs
in memory, some tens of MiB in the folder for temporary files.`

func verify(ctx context.Context, args []string, out, errs io.Writer) error {
	f := flags("verify", verifyHelp, errs)
	if err := parse(f, args, os.Getenv); err != nil {
		return err
	}
	if f.NArg() != 1 {
		return wrong("verify needs one folder")
	}
	store, _, err := inspectData(f.Arg(0))
	if err != nil {
		return err
	}
	defer store.Close()
	return report(ctx, store, out)
}

// openData opens the store and the keys of a data folder that is there.
func openData(data string) (*badgerstore.Store, access.Keyring, error) {
	return withData(data, badgerstore.Open)
}

// inspectData is openData for reading; it changes no file.
func inspectData(data string) (*badgerstore.Store, access.Keyring, error) {
	return withData(data, badgerstore.Inspect)
}

func withData(data string, open opener) (*badgerstore.Store, access.Keyring, error) {
	if _, err := os.Stat(filepath.Join(data, "store")); err != nil {
		return nil, access.Keyring{}, wrong("%s holds no store", data)
	}
	ring, err := access.ReadKeyring(filepath.Join(data, "keys"))
	if err != nil {
		return nil, ring, err
	}
	store, err := openStore(open, data, ring, time.Now(), rand.Reader)
	return store, ring, err
}

// report verifies a store and prints what is wrong with it.
func report(ctx context.Context, store *badgerstore.Store, out io.Writer) error {
	report, err := store.Verify(ctx)
	if err != nil {
		return err
	}
	for _, fault := range report.Faults {
		fmt.Fprintf(out, "patient %s, record %d: %s\n", fault.Patient, fault.Seq, fault.What)
	}
	fmt.Fprintf(out, "%d patients, %d records, %d authors, %d audit entries: %d faults\n",
		report.Patients, report.Lines, report.Authors, report.Entries, len(report.Faults))
	if len(report.Faults) > 0 {
		return fmt.Errorf("the data is not as it was written")
	}
	return nil
}

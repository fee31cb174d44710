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
)

const verifyHelp = `unsling verify FOLDER checks a data folder while no server has it open: the
checksums of the store's files, the hash of every record, the chain of every
author, the marks, the audit chain, and that the stored facts equal a fresh
fold of the log. It changes nothing.`

func verify(ctx context.Context, args []string, out, errs io.Writer) error {
	f := flags("verify", verifyHelp, errs)
	if err := parse(f, args, os.Getenv); err != nil {
		return err
	}
	if f.NArg() != 1 {
		return wrong("verify needs one folder")
	}
	data := f.Arg(0)
	if _, err := os.Stat(filepath.Join(data, "store")); err != nil {
		return wrong("%s holds no store", data)
	}
	ring, err := access.OpenKeyring(filepath.Join(data, "keys"), rand.Reader, time.Now())
	if err != nil {
		return err
	}
	store, err := openStore(data, ring, time.Now(), rand.Reader)
	if err != nil {
		return err
	}
	defer store.Close()
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

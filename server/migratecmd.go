package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"unsling/server/access"
	"unsling/server/ledger/badgerstore"
)

const migrateHelp = `unsling migrate --data FOLDER [--dry-run [--scratch FOLDER]]

brings the store of a data folder to the layout that this program writes. It
goes forward only: keep the old program and a verified backup until you have
seen the new one work. It may be broken off at any time and called again;
meanwhile nothing opens the store. Stop the server first.

--dry-run does it all on a copy, checks the copy as unsling verify does, says
what was changed, and removes the copy. The data folder stays as it is.`

func migrate(ctx context.Context, args []string, out, errs io.Writer) error {
	f := flags("migrate", migrateHelp, errs)
	data := f.String("data", "", "data folder")
	dry := f.Bool("dry-run", false, "on a copy only")
	scratch := f.String("scratch", "", "folder for the copy of --dry-run; beside the store if not given")
	if err := parse(f, args, os.Getenv); err != nil {
		return err
	}
	if *data == "" {
		return wrong("migrate needs --data FOLDER")
	}
	if _, err := os.Stat(filepath.Join(*data, "store")); err != nil {
		return wrong("%s holds no store", *data)
	}
	ring, err := access.ReadKeyring(filepath.Join(*data, "keys"))
	if err != nil {
		return err
	}
	if *scratch == "" {
		*scratch = *data
	}
	return climb(ctx, filepath.Join(*data, "store"), *dry, *scratch, storeOptions(ring, time.Now(), rand.Reader), out)
}

// climb migrates a store, or a copy of it.
func climb(ctx context.Context, store string, dry bool, scratch string, opt badgerstore.Options, out io.Writer) error {
	say := func(format string, args ...any) { fmt.Fprintf(out, format+"\n", args...) }
	if !dry {
		m, err := badgerstore.Migrate(store, opt, say)
		if err != nil {
			return err
		}
		sayMigrated(out, m)
		return nil
	}
	copied, err := os.MkdirTemp(scratch, "dry-run-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(copied)
	if err := copyStore(ctx, store, copied); err != nil {
		return fmt.Errorf("copy the store: %w", err)
	}
	m, err := badgerstore.Migrate(copied, opt, say)
	if err != nil {
		return err
	}
	sayMigrated(out, m)
	s, err := badgerstore.Open(copied, opt)
	if err != nil {
		return err
	}
	err = report(ctx, s, out)
	if err = errors.Join(err, s.Close()); err != nil {
		return err
	}
	fmt.Fprintln(out, "This was a copy; the data folder is as it was.")
	return nil
}

func sayMigrated(out io.Writer, m badgerstore.Migrated) {
	again := ""
	if m.Resumed {
		again = " (taken up again)"
	}
	if m.From == m.To {
		fmt.Fprintf(out, "The store has layout %d already; nothing was changed.\n", m.To)
		return
	}
	fmt.Fprintf(out, "Layout %d became %d: %d rows changed%s.\n", m.From, m.To, m.Rows, again)
}

// copyStore copies the files of a store that nobody has open.
func copyStore(ctx context.Context, from, to string) (err error) {
	release, err := badgerstore.Hold(from)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, release()) }()
	return filepath.WalkDir(from, func(path string, d fs.DirEntry, err error) error {
		if err == nil {
			err = ctx.Err()
		}
		if err != nil || d.IsDir() || d.Name() == "LOCK" {
			return err
		}
		in, err := os.Open(path)
		if err != nil {
			return err
		}
		defer in.Close()
		f, err := os.OpenFile(filepath.Join(to, d.Name()), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
		if err != nil {
			return err
		}
		_, err = io.Copy(f, in)
		return errors.Join(err, f.Close())
	})
}

package badgerstore

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strconv"

	"github.com/dgraph-io/badger/v4"
)

// Inspect opens a store for reading and changes none of its files, whether it
// was closed or its server was killed. Nobody else may have it open:
// ledger.ErrLocked. Writing to it is an error. It needs as much room in the
// folder for temporary files as the logs in memory take, some tens of MiB.
//
// Badger cuts the logs in memory when it opens them, even where it only reads.
// So it is given a folder of its own with copies of those and links to the
// tables and value logs, which it opens without the right to write.
func Inspect(dir string, opt Options) (*Store, error) {
	if _, err := os.Stat(filepath.Join(dir, badger.ManifestFilename)); err != nil {
		return nil, fmt.Errorf("open store in %s: there is none: %w", dir, err)
	}
	release, err := Hold(dir)
	if err != nil {
		return nil, fmt.Errorf("open store: %w", err)
	}
	aside, err := os.MkdirTemp("", "unsling-inspect-")
	if err != nil {
		return nil, errors.Join(fmt.Errorf("open store in %s: %w", dir, err), release())
	}
	gone := func() error { return errors.Join(os.RemoveAll(aside), release()) }
	s, err := inspect(dir, aside, opt)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("open store in %s: %w", dir, err), gone())
	}
	s.closed = gone
	if err := s.begin(); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

func inspect(dir, aside string, opt Options) (*Store, error) {
	if err := precheck(badger.DefaultOptions(dir)); err != nil {
		return nil, err
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	for _, e := range entries {
		about, err := e.Info()
		if err == nil && about.Mode().IsRegular() && about.Size() > 0 { // what is empty, a kill left (sweep)
			err = lend(filepath.Join(dir, e.Name()), filepath.Join(aside, e.Name()))
		}
		if err != nil {
			return nil, err
		}
	}
	for cuts := 0; ; cuts++ {
		s, err := attach(settings(badger.DefaultOptions(aside)).WithReadOnly(true), opt)
		if err == nil || cuts > len(entries) || !cutLog(aside, err) {
			return s, err
		}
	}
}

// lend copies a file, or links to it if it is long and only read.
func lend(from, to string) error {
	if ext := filepath.Ext(from); ext == ".sst" || ext == ".vlog" {
		from, err := filepath.Abs(from)
		if err != nil {
			return err
		}
		return os.Symlink(from, to)
	}
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Close())
}

// needsCut is how badger says that a log ends before its file does; it wraps
// its errors as text.
var needsCut = regexp.MustCompile(`while opening fid: (\d+) .*end offset: (\d+) < size`)

// cutLog cuts the copy of the log that badger could not open for its length,
// and reports whether there was one.
func cutLog(aside string, err error) bool {
	said := needsCut.FindStringSubmatch(err.Error())
	if said == nil {
		return false
	}
	fid, err := strconv.Atoi(said[1])
	if err != nil {
		return false
	}
	end, err := strconv.ParseInt(said[2], 10, 64)
	return err == nil && os.Truncate(filepath.Join(aside, fmt.Sprintf("%05d.mem", fid)), end) == nil
}

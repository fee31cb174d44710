package badgerstore

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/dgraph-io/badger/v4"
	"github.com/dgraph-io/badger/v4/pb"
	"github.com/dgraph-io/badger/v4/y"
	"google.golang.org/protobuf/proto"

	"unsling/server/ledger"
)

// precheck looks at the files of a store before badger does. Badger dies of a
// table whose end is missing, in a goroutine where nobody can catch it, and
// removes the tables that a shortened MANIFEST does not list. Here each is
// ErrDamaged with the file's name, and nothing is touched.
func precheck(o badger.Options) error {
	if o.InMemory {
		return nil
	}
	f, err := os.Open(filepath.Join(o.Dir, badger.ManifestFilename))
	if errors.Is(err, fs.ErrNotExist) {
		if some, err := filepath.Glob(filepath.Join(o.Dir, "*.sst")); err != nil || len(some) > 0 {
			return errors.Join(err, fmt.Errorf("%w: MANIFEST is missing and %d tables are there", ledger.ErrDamaged, len(some)))
		}
		return nil
	}
	if err != nil {
		return fmt.Errorf("look at the store's files: %w", err)
	}
	defer f.Close()
	list, whole, err := badger.ReplayManifestFile(f, o.ExternalMagicVersion, o)
	if err != nil {
		return fmt.Errorf("%w: MANIFEST: %w", ledger.ErrDamaged, err)
	}
	about, err := f.Stat()
	if err != nil {
		return fmt.Errorf("look at the store's files: %w", err)
	}
	tables, err := filepath.Glob(filepath.Join(o.Dir, "*.sst"))
	if err != nil {
		return fmt.Errorf("look at the store's files: %w", err)
	}
	unlisted := 0
	for _, path := range tables {
		id, err := strconv.ParseUint(strings.TrimSuffix(filepath.Base(path), ".sst"), 10, 64)
		if err != nil {
			continue
		}
		if _, listed := list.Tables[id]; !listed {
			unlisted++ // of a flush that a crash cut short: its log is still there
			continue
		}
		if err := checkTable(path); err != nil {
			return fmt.Errorf("%w: %s: %w", ledger.ErrDamaged, filepath.Base(path), err)
		}
	}
	if whole < about.Size() && unlisted > 0 {
		return fmt.Errorf("%w: MANIFEST ends too early; %d tables are not on its list and would be removed", ledger.ErrDamaged, unlisted)
	}
	return nil
}

// checkTable holds the end of a table to what badger reads there: the index,
// its length, its checksum and that one's length.
func checkTable(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	about, err := f.Stat()
	if err != nil {
		return err
	}
	left, short := about.Size(), errors.New("its end is missing")
	take := func(n int64) ([]byte, error) {
		if left -= n; n < 0 || left < 0 {
			return nil, short
		}
		b := make([]byte, n)
		_, err := f.ReadAt(b, left)
		return b, err
	}
	field := func() ([]byte, error) {
		size, err := take(4)
		if err != nil {
			return nil, err
		}
		return take(int64(binary.BigEndian.Uint32(size)))
	}
	sum, err := field()
	if err != nil {
		return err
	}
	var want pb.Checksum
	if proto.Unmarshal(sum, &want) != nil {
		return short
	}
	index, err := field()
	if err != nil {
		return err
	}
	if y.VerifyChecksum(index, &want) != nil {
		return errors.New("its index is not as it was written")
	}
	return nil
}

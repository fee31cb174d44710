package badgerstore

import (
	"errors"
	"io/fs"
	"os"
)

// bytes is how much room the store takes on the disk, 0 for one in memory.
// Badger's own number leaves out its write-ahead logs and is minutes old.
func (s *Store) bytes() (int64, error) {
	if s.db.Opts().InMemory {
		return 0, nil
	}
	entries, err := os.ReadDir(s.db.Opts().Dir)
	if err != nil {
		return 0, err
	}
	var sum int64
	for _, e := range entries {
		info, err := e.Info()
		if errors.Is(err, fs.ErrNotExist) { // compacted away meanwhile
			continue
		}
		if err != nil {
			return 0, err
		}
		sum += allocated(info)
	}
	return sum, nil
}

package badgerstore

import (
	"fmt"
	"os"
	"path/filepath"
)

// logHead is the size of what badger writes first into a log in memory or a
// value log: the number of a key, and where its stream begins. All zero means
// that the log is not encrypted.
const logHead = 20

// sweep gives empty logs their head. Badger makes a log at length 0 and then
// at its full one, and cuts it to 0 before it removes it; killed in between, it
// does not open the next time. With a head alone it removes the log itself, and
// gives its number to no other. Nothing that was acknowledged is in such a
// file: it was not written yet, or is in a table. The folder must be held.
func sweep(dir string) error {
	for _, kind := range []string{"*.mem", "*.vlog"} {
		logs, err := filepath.Glob(filepath.Join(dir, kind))
		if err != nil {
			return fmt.Errorf("look at the store's files: %w", err)
		}
		for _, path := range logs {
			about, err := os.Stat(path)
			if err == nil && about.Size() == 0 {
				err = os.Truncate(path, logHead)
			}
			if err != nil {
				return fmt.Errorf("look at the store's files: %w", err)
			}
		}
	}
	return nil
}

//go:build linux || darwin

package badgerstore

import (
	"errors"
	"fmt"
	"os"
	"syscall"

	"unsling/server/ledger"
)

// Hold keeps everybody from opening the store in a folder until release is
// called, by the very lock that badger takes, so that its files can be
// copied. ErrLocked if somebody has it open.
func Hold(dir string) (release func() error, err error) {
	f, err := os.Open(dir)
	if err != nil {
		return nil, fmt.Errorf("hold the store: %w", err)
	}
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		return nil, errors.Join(fmt.Errorf("hold the store in %s: %w", dir, ledger.ErrLocked), f.Close())
	}
	return f.Close, nil
}

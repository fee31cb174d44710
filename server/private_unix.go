//go:build unix

package main

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
)

// private makes whatever this program creates readable by its own user only: badger and others ask for less.
func private() { syscall.Umask(0o077) }

// tighten takes from everybody else what an earlier program, or a copy put back, left open in a data folder.
func tighten(dir string) error {
	return filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if errors.Is(err, fs.ErrNotExist) {
			return nil // nothing there yet, or badger has cleared it away
		} else if err != nil {
			return err
		}
		info, err := d.Info()
		if err != nil || !info.Mode().IsRegular() && !info.IsDir() || info.Mode().Perm()&0o077 == 0 {
			return nil
		}
		if err := os.Chmod(path, info.Mode().Perm()&^0o077); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		return nil
	})
}

package crashtest

import (
	"io/fs"
	"path/filepath"
	"testing"
)

// Nobody else on the machine can read what the server keeps, not even what was left open before it started (ASVS 5.0,
// 14.2.4; 45 CFR 164.312 (a)(1)).
func TestFilesArePrivate(t *testing.T) {
	c := newClinic(t) // the test made the store with its own, open mask
	if err := c.start(); err != nil {
		t.Fatal(err)
	}
	files := 0
	err := filepath.WalkDir(c.data, func(path string, d fs.DirEntry, err error) error {
		if err != nil || path == c.data { // the folder itself is the test's
			return err
		}
		info, err := d.Info()
		if err != nil {
			return err
		}
		files++
		if mode := info.Mode().Perm(); mode&0o077 != 0 {
			t.Errorf("%s can be opened by others: %o", path, mode)
		}
		return nil
	})
	if err != nil || files < 5 {
		t.Errorf("%d files, %v", files, err)
	}
}

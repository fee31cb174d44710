//go:build linux || darwin

package badgerstore

import (
	"io/fs"
	"syscall"
)

// allocated is how much room a file takes on the disk. Badger makes its logs
// longer than what is in them, with holes.
func allocated(info fs.FileInfo) int64 {
	if st, ok := info.Sys().(*syscall.Stat_t); ok {
		return int64(st.Blocks) * 512 // in units of 512 bytes, whatever the file system's (stat(2))
	}
	return info.Size()
}

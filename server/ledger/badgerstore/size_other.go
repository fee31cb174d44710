//go:build !linux && !darwin

package badgerstore

import "io/fs"

func allocated(info fs.FileInfo) int64 { return info.Size() }

//go:build !linux && !darwin

package main

import "errors"

func diskFree(string) (uint64, error) {
	return 0, errors.New("the room on the disk is not known on this system")
}

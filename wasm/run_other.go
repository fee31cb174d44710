//go:build !js

package main

import (
	"fmt"
	"os"
)

// run exists on other targets so that the package builds and is vetted there too.
func run() {
	fmt.Fprintln(os.Stderr, "this program runs in a browser: go run ./server/internal/buildweb builds it")
	os.Exit(2)
}

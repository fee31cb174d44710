package browsertest

import (
	"path"
	"testing"
)

// Packages whose tests only mean something in a browser.
func TestPackagesInTheBrowser(t *testing.T) {
	for _, pkg := range []string{"unsling/wasm/idb", "unsling/wasm/device"} {
		t.Run(path.Base(pkg), func(t *testing.T) { Start(t, "").GoTest(pkg) })
	}
}

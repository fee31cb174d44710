package browsertest

import "testing"

// Packages whose tests only mean something in a browser.
func TestPackagesInTheBrowser(t *testing.T) {
	for _, pkg := range []string{"unsling/wasm/idb"} {
		t.Run(pkg, func(t *testing.T) { Start(t, "").GoTest(pkg) })
	}
}

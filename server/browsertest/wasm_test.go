package browsertest

import (
	"path"
	"testing"
)

// noSpace names the test that needs a browser with hardly any space.
const noSpace = "^TestNoSpaceLeft$"

// Packages whose tests only mean something in a browser.
func TestPackagesInTheBrowser(t *testing.T) {
	for _, pkg := range []string{"unsling/wasm/idb", "unsling/wasm/device"} {
		t.Run(path.Base(pkg), func(t *testing.T) {
			t.Parallel()
			Start(t, "").GoTest(pkg, "-test.skip="+noSpace)
		})
	}
	t.Run("no space", func(t *testing.T) {
		t.Parallel()
		Start(t, "").GoTestQuota("unsling/wasm/idb", 2<<20, "-test.run="+noSpace)
	})
}

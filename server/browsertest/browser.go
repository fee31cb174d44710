package browsertest

import (
	"context"
	"os"
	"os/exec"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/chromedp"
)

// patience bounds every single wait in a page, for what must happen. It is long, since a slow or busy machine is no fault.
const patience = 3 * time.Minute

// Browser is one running Chromium with one profile.
type Browser struct {
	t      testing.TB
	ctx    context.Context
	cancel context.CancelFunc
	closed bool
}

// Start starts a Chromium whose profile is in the folder given ("" for a fresh one that goes with the test). Starting again
// with the same folder, after Close, is the same phone switched on again. The test fails when there is no Chromium.
func Start(t testing.TB, profile string) *Browser {
	t.Helper()
	path := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			path = p
			break
		}
	}
	if path == "" {
		t.Fatal("no Chromium on this machine: apt-get install chromium")
	}
	if profile == "" {
		profile = t.TempDir()
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path),
		chromedp.UserDataDir(profile),
		chromedp.WSURLReadTimeout(patience),
		chromedp.Flag("headless", "new"),
		chromedp.Flag("disable-gpu", true),
		chromedp.Flag("disable-component-update", true),
		chromedp.Flag("host-resolver-rules", "MAP * ~NOTFOUND , EXCLUDE localhost , EXCLUDE 127.0.0.1"),
		chromedp.Flag("use-fake-device-for-media-stream", true),
		chromedp.Flag("use-fake-ui-for-media-stream", true),
		chromedp.Flag("autoplay-policy", "no-user-gesture-required"),
		chromedp.WindowSize(390, 800),
	)
	if os.Geteuid() == 0 {
		opts = append(opts, chromedp.Flag("no-sandbox", true))
	}
	alloc, stopAlloc := chromedp.NewExecAllocator(context.Background(), opts...)
	ctx, stopBrowser := chromedp.NewContext(alloc)
	b := &Browser{t: t, ctx: ctx, cancel: func() { stopBrowser(); stopAlloc() }}
	if err := chromedp.Do(ctx); err != nil {
		b.cancel()
		t.Fatalf("start Chromium: %v", err)
	}
	t.Cleanup(b.Close)
	return b
}

// Close closes the browser as a person would; what it stored stays in the profile folder. Closing twice does nothing.
func (b *Browser) Close() {
	if b.closed {
		return
	}
	b.closed = true
	ctx, cancel := context.WithTimeout(b.ctx, 20*time.Second)
	defer cancel()
	if err := chromedp.Cancel(ctx); err != nil {
		b.t.Logf("close Chromium: %v", err)
	}
	b.cancel()
}

// grant is a command that the browser still knows and the protocol library no longer lists.
type grant struct {
	Origin      string   `json:"origin"`
	Permissions []string `json:"permissions"`
}

var grantPermissions = cdp.Command[grant, cdp.Empty]{Method: "Browser.grantPermissions"}

// Grant gives the origin these permissions, by the names of the devtools protocol: "sensors", "wakeLockScreen",
// "durableStorage", "videoCapture".
func (b *Browser) Grant(origin string, names ...string) {
	b.t.Helper()
	if _, err := chromedp.CallBrowser(b.ctx, grantPermissions, grant{Origin: origin, Permissions: names}); err != nil {
		b.t.Fatalf("grant %v to %s: %v", names, origin, err)
	}
}

package enginetest

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"testing"
	"time"
)

// firefoxSettings keep the browser to what the tests ask of it: no pages of its own, nothing fetched from elsewhere.
const firefoxSettings = `user_pref("browser.shell.checkDefaultBrowser", false);
user_pref("browser.startup.page", 0);
user_pref("datareporting.policy.dataSubmissionEnabled", false);
user_pref("app.update.disabledForTesting", true);
user_pref("network.captive-portal-service.enabled", false);
user_pref("network.connectivity-service.enabled", false);
user_pref("extensions.getAddons.cache.enabled", false);
user_pref("remote.active-protocols", 1);
`

var bidiAddress = regexp.MustCompile(`WebDriver BiDi listening on (ws://\S+)`)

// StartFirefox starts a Firefox without a window whose profile is in the folder. Starting again with the same folder is the
// same phone switched on again.
func StartFirefox(t testing.TB, folder, zone string) *Page {
	t.Helper()
	path := ""
	for _, name := range []string{"firefox-esr", "firefox"} {
		if p, err := exec.LookPath(name); err == nil && path == "" {
			path = p
		}
	}
	if path == "" {
		t.Fatal("no Firefox on this machine: .ci/tools engines")
	}
	if err := os.WriteFile(filepath.Join(folder, "user.js"), []byte(firefoxSettings), 0o600); err != nil {
		t.Fatal(err)
	}
	run := launch(t, []string{"TZ=" + zone, "HOME=" + t.TempDir(), "MOZ_HEADLESS_WIDTH=390", "MOZ_HEADLESS_HEIGHT=800"}, nil,
		path, "--headless", "--no-remote", "--profile", folder, "--remote-debugging-port", "0", "about:blank")
	var address string
	for end := time.Now().Add(patience); address == ""; time.Sleep(50 * time.Millisecond) {
		if m := bidiAddress.FindStringSubmatch(run.output()); m != nil {
			address = m[1]
		} else if time.Now().After(end) {
			t.Fatalf("Firefox does not listen:\n%s", run.output())
		}
	}
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	b, err := newBidi(ctx, address+"/session")
	if err != nil {
		t.Fatalf("Firefox: %v", err)
	}
	if err := b.call(ctx, "browsingContext.setViewport", object{"context": b.tab, "viewport": object{"width": 360, "height": 640}}, nil); err != nil {
		t.Fatalf("the size of the window: %v", err)
	}
	return &Page{t: t, driver: b, trace: run.output, end: func(kill bool) {
		if !kill {
			ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
			defer cancel()
			_ = b.call(ctx, "browser.close", object{}, nil) // the socket may go before the answer
			if !run.wait(20 * time.Second) {
				t.Error("Firefox does not close")
			}
		}
		run.kill()
	}}
}

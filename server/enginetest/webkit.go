package enginetest

import (
	"bufio"
	"bytes"
	"context"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"unsling/server/browsertest"
)

// webkit speaks WebDriver (W3C) with WebKitWebDriver.
type webkit struct {
	base string // address of the session
	name string
}

// StartWebKit starts WebKitGTK's MiniBrowser under a display of its own, in the zone given. Its automation sessions keep
// nothing on the disk: what was stored goes when it ends, whatever the folder.
func StartWebKit(t testing.TB, _, zone string) *Page {
	t.Helper()
	var missing []string
	need := func(name string) string {
		path, err := exec.LookPath(name)
		if err != nil {
			missing = append(missing, name)
		}
		return path
	}
	xvfb, driver := need("Xvfb"), need("WebKitWebDriver")
	mini, _ := filepath.Glob("/usr/lib/*/webkit2gtk-4.*/MiniBrowser")
	if len(mini) == 0 {
		missing = append(missing, "MiniBrowser")
	}
	if len(missing) > 0 {
		t.Fatalf("missing on this machine: %v; .ci/tools engines brings them", missing)
	}
	run := t.TempDir()
	if err := os.Chmod(run, 0o700); err != nil {
		t.Fatal(err)
	}
	env := []string{
		"DISPLAY=" + startDisplay(t, xvfb), "XDG_RUNTIME_DIR=" + run, "HOME=" + run, "TZ=" + zone,
		"WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS=1", "LIBGL_ALWAYS_SOFTWARE=1", "GDK_BACKEND=x11", "NO_AT_BRIDGE=1",
	}
	_, port, _ := net.SplitHostPort(browsertest.FreeAddress(t))
	p := launch(t, env, nil, driver, "--port="+port)
	w := &webkit{base: "http://127.0.0.1:" + port}
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	var session struct {
		SessionID    string
		Capabilities struct{ BrowserName, BrowserVersion string }
	}
	var err error
	for {
		err = w.call(ctx, http.MethodPost, "/session", object{"capabilities": object{"alwaysMatch": object{
			"browserName": "MiniBrowser", "webkitgtk:browserOptions": object{"binary": mini[0], "args": []string{"--automation"}},
			"timeouts": object{"script": patience.Milliseconds(), "pageLoad": patience.Milliseconds()}, "strictFileInteractability": false,
		}}}, &session)
		if err == nil || ctx.Err() != nil || !errors.Is(err, errNotYet) {
			break
		}
		time.Sleep(200 * time.Millisecond)
	}
	if err != nil {
		t.Fatalf("WebKitGTK: %v\n%s", err, p.output())
	}
	w.base += "/session/" + session.SessionID
	w.name = "WebKitGTK " + session.Capabilities.BrowserName + " " + session.Capabilities.BrowserVersion
	t.Cleanup(func() {
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		_ = w.call(ctx, http.MethodDelete, "", nil, nil) // the driver is killed next
	})
	if err := w.call(ctx, http.MethodPost, "/window/rect", object{"width": 400, "height": 760}, nil); err != nil {
		t.Logf("the size of the window: %v", err)
	}
	return &Page{t: t, driver: w, end: func(bool) { p.kill() }, trace: p.output}
}

// startDisplay starts an X server that draws into memory, and gives its name.
func startDisplay(t testing.TB, xvfb string) string {
	t.Helper()
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	p := launch(t, nil, []*os.File{w}, xvfb, "-displayfd", "3", "-screen", "0", "1280x1024x24", "-nolisten", "tcp")
	_ = w.Close()
	defer r.Close()
	_ = r.SetReadDeadline(time.Now().Add(patience))
	number, err := bufio.NewReader(r).ReadString('\n')
	if err != nil {
		t.Fatalf("Xvfb: %v\n%s", err, p.output())
	}
	number = strings.TrimSpace(number)
	for end := time.Now().Add(patience); ; time.Sleep(50 * time.Millisecond) {
		if c, err := net.Dial("unix", "/tmp/.X11-unix/X"+number); err == nil {
			_ = c.Close()
			return ":" + number
		} else if time.Now().After(end) {
			t.Fatalf("Xvfb :%s: %v\n%s", number, err, p.output())
		}
	}
}

// errNotYet means that the driver does not listen yet.
var errNotYet = errors.New("no driver listens")

func (w *webkit) call(ctx context.Context, method, path string, params object, out any) error {
	var body io.Reader
	if method == http.MethodPost {
		if params == nil {
			params = object{}
		}
		text, err := json.Marshal(params)
		if err != nil {
			return err
		}
		body = bytes.NewReader(text)
	}
	req, err := http.NewRequestWithContext(ctx, method, w.base+path, body)
	if err != nil {
		return err
	}
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		return fmt.Errorf("%w: %w", errNotYet, err)
	}
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	if err != nil {
		return err
	}
	var answer struct{ Value json.RawMessage }
	if err := json.Unmarshal(text, &answer); err != nil {
		return fmt.Errorf("%s: %s", path, text)
	}
	if res.StatusCode != http.StatusOK {
		var wrong struct{ Error, Message string }
		_ = json.Unmarshal(answer.Value, &wrong)
		return fmt.Errorf("%s: %s: %s", path, wrong.Error, wrong.Message)
	}
	if out == nil {
		return nil
	}
	return json.Unmarshal(answer.Value, out)
}

func (w *webkit) about() string { return w.name }

// said is empty: WebDriver has no way to read the console.
func (w *webkit) said() []string { return nil }

func (w *webkit) open(ctx context.Context, url string) error {
	return w.call(ctx, http.MethodPost, "/url", object{"url": url}, nil)
}

func (w *webkit) reload(ctx context.Context) error {
	return w.call(ctx, http.MethodPost, "/refresh", nil, nil)
}

func (w *webkit) eval(ctx context.Context, expression string) (string, error) {
	var out struct{ V, E *string }
	err := w.call(ctx, http.MethodPost, "/execute/async", object{"args": []any{}, "script": `
		const done = arguments[arguments.length - 1];
		(async () => JSON.stringify((await (` + expression + `)) ?? null))().then((v) => done({V: v}), (e) => done({E: String(e)}));`}, &out)
	switch {
	case err != nil:
		return "", err
	case out.E != nil:
		return "", errors.New(*out.E)
	case out.V == nil:
		return "", errors.New("no value")
	}
	return *out.V, nil
}

func (w *webkit) tap(ctx context.Context, x, y float64) error {
	return w.call(ctx, http.MethodPost, "/actions", object{"actions": []any{object{
		"type": "pointer", "id": "mouse", "parameters": object{"pointerType": "mouse"},
		"actions": []any{
			object{"type": "pointerMove", "duration": 0, "x": int(x), "y": int(y)},
			object{"type": "pointerDown", "button": 0}, object{"type": "pause", "duration": 30}, object{"type": "pointerUp", "button": 0},
		},
	}}}, nil)
}

func (w *webkit) keys(ctx context.Context, text string) error {
	var acts []any
	for _, r := range text {
		acts = append(acts, object{"type": "keyDown", "value": string(r)}, object{"type": "keyUp", "value": string(r)})
	}
	return w.call(ctx, http.MethodPost, "/actions", object{"actions": []any{object{"type": "key", "id": "keys", "actions": acts}}}, nil)
}

func (w *webkit) files(ctx context.Context, selector string, paths ...string) error {
	var found map[string]string
	if err := w.call(ctx, http.MethodPost, "/element", object{"using": "css selector", "value": selector}, &found); err != nil {
		return err
	}
	for _, id := range found {
		return w.call(ctx, http.MethodPost, "/element/"+id+"/value", object{"text": strings.Join(paths, "\n")}, nil)
	}
	return fmt.Errorf("no element %s", selector)
}

func (w *webkit) picture(ctx context.Context) ([]byte, error) {
	var data string
	if err := w.call(ctx, http.MethodGet, "/screenshot", nil, &data); err != nil {
		return nil, err
	}
	return base64.StdEncoding.DecodeString(data)
}

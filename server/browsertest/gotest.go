package browsertest

import (
	"bytes"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// runnerPage loads a Go test binary, gives it its arguments, and collects what it prints.
const runnerPage = `<!doctype html><meta charset="utf-8"><title>go test</title><div id="app"></div>
<script src="/wasm_exec.js"></script><script src="/runner.js"></script>`

const runnerScript = `"use strict";
window.testOut = ""; window.testCode = null;
{
  const decoder = new TextDecoder();
  globalThis.fs.writeSync = (fd, buf) => { window.testOut += decoder.decode(buf, { stream: true }); return buf.length; };
  const go = new Go();
  go.argv = ["test"].concat(ARGS);
  go.exit = (code) => { window.testCode = code; };
  WebAssembly.instantiateStreaming(fetch("/test.wasm"), go.importObject)
    .then((r) => go.run(r.instance))
    .then(() => { if (window.testCode === null) window.testCode = 0; })
    .catch((err) => { window.testOut += "\nrunner: " + err; window.testCode = 99; });
}`

// GoTest builds the tests of one js/wasm package of this module and runs them in the browser, on an origin of their own.
// pkg is an import path; args are flags of the test binary, such as "-test.run=Append". Each run is one subtest, which
// fails with the output of the tests. A package in which no test ran fails too.
func (b *Browser) GoTest(pkg string, args ...string) { b.GoTestQuota(pkg, -1, args...) }

// GoTestQuota is GoTest on an origin that gets only so many bytes from the browser.
func (b *Browser) GoTestQuota(pkg string, quota float64, args ...string) {
	t, ok := b.t.(*testing.T)
	if !ok {
		b.t.Fatal("GoTest needs a *testing.T")
	}
	t.Helper()
	out, code := b.goTest(pkg, quota, append([]string{"-test.v", "-test.timeout=5m"}, args...))
	t.Logf("%s in the browser:\n%s", pkg, out)
	switch {
	case code != 0:
		t.Fatalf("%s failed in the browser, exit code %d", pkg, code)
	case !strings.Contains(out, "--- PASS"):
		t.Fatalf("%s: no test ran in the browser", pkg)
	case strings.Contains(out, "--- SKIP"):
		t.Fatalf("%s: a test was skipped in the browser", pkg)
	}
}

func (b *Browser) goTest(pkg string, quota float64, args []string) (out string, code int) {
	b.t.Helper()
	bin := buildGoTest(b.t, pkg)
	loader, err := os.ReadFile(filepath.Join(goRoot(b.t), "lib", "wasm", "wasm_exec.js"))
	if err != nil {
		b.t.Fatalf("the loader of this Go installation: %v", err)
	}
	var quoted []string
	for _, a := range args {
		quoted = append(quoted, quote(a))
	}
	script := strings.Replace(runnerScript, "ARGS", "["+strings.Join(quoted, ",")+"]", 1)
	mux := http.NewServeMux()
	send := func(path, mime string, body []byte) {
		mux.HandleFunc("GET "+path, func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Type", mime)
			_, _ = w.Write(body)
		})
	}
	send("/{$}", "text/html; charset=utf-8", []byte(runnerPage))
	send("/wasm_exec.js", "text/javascript", loader)
	send("/runner.js", "text/javascript", []byte(script))
	send("/test.wasm", "application/wasm", bin)
	host := NewHost(b.t, mux)
	b.Grant(host.URL(), "durableStorage", "sensors", "wakeLockScreen", "videoCapture")
	p := b.NewPage()
	p.Hold(0, 1, 0)
	if quota >= 0 {
		p.Quota(host.URL(), quota)
	}
	p.Open(host.URL() + "/")
	if !p.WaitFor("window.testCode !== null", 2*patience) { // longer than the tests' own limit, which says where they stand
		p.Eval("window.testOut", &out)
		b.t.Fatalf("the tests of %s do not end:\n%s", pkg, out)
	}
	p.Eval("window.testOut", &out)
	p.Eval("window.testCode", &code)
	for _, line := range p.Said() {
		if strings.HasPrefix(line, "exception:") {
			out += "\n" + line
		}
	}
	p.Close()
	return out, code
}

func buildGoTest(t testing.TB, pkg string) []byte {
	t.Helper()
	bin := filepath.Join(t.TempDir(), "test.wasm")
	cmd := exec.Command("go", "test", "-c", "-o", bin, pkg)
	cmd.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm", "CGO_ENABLED=0")
	var errs bytes.Buffer
	cmd.Stderr = &errs
	if err := cmd.Run(); err != nil {
		t.Fatalf("build the tests of %s for the browser: %v\n%s", pkg, err, errs.String())
	}
	data, err := os.ReadFile(bin)
	if err != nil {
		t.Fatalf("the tests of %s: %v (has it any?)", pkg, err)
	}
	return data
}

func goRoot(t testing.TB) string {
	t.Helper()
	out, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		t.Fatal(fmt.Errorf("go env GOROOT: %w", err))
	}
	return strings.TrimSpace(string(out))
}

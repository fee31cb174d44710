package enginetest

import (
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"unsling/server/browsertest"
)

// TestDriver holds the drivers to their simplest duty: values, promises, exceptions, keys and presses come through.
func TestDriver(t *testing.T) {
	host := browsertest.NewHost(t, http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_, _ = w.Write([]byte(`<!doctype html><title>x</title><input id=i><button id=b onclick="this.dataset.hit = 'yes'">b</button>`))
	}))
	for _, e := range Engines {
		t.Run(e.Name, func(t *testing.T) {
			p := e.Start(t, t.TempDir(), "Etc/GMT-5")
			t.Log(p.about())
			p.Open(host.URL() + "/")
			var got string
			p.Eval("Promise.resolve('ü' + 'x'.repeat(70000)).then(s => s.slice(0, 3))", &got)
			if got != "üxx" {
				t.Errorf("a promise gives %q", got)
			}
			if err := p.TryEval("Promise.reject(new Error('no'))", nil); err == nil || !strings.Contains(err.Error(), "no") {
				t.Errorf("an exception gives %v", err)
			}
			p.Type("#i", "aZ9")
			p.Wait("document.getElementById('i').value === 'aZ9'")
			p.Tap("#b")
			p.Wait("document.getElementById('b').dataset.hit === 'yes'")
			var offset int
			p.Eval("new Date(2026, 0, 1).getTimezoneOffset()", &offset)
			if offset != -300 {
				t.Errorf("the engine is %d minutes from UTC, want -300", offset)
			}
		})
	}
}

const runnerPage = `<!doctype html><meta charset="utf-8"><title>go test</title><div id="app"></div>
<script src="/wasm_exec.js"></script><script src="/runner.js"></script>`

const runnerScript = `"use strict";
window.testOut = ""; window.testCode = null;
{
  const decoder = new TextDecoder();
  globalThis.fs.writeSync = (fd, buf) => { window.testOut += decoder.decode(buf, { stream: true }); return buf.length; };
  const go = new Go();
  go.argv = ["test", "-test.v", "-test.timeout=5m"].concat(ARGS);
  go.exit = (code) => { window.testCode = code; };
  WebAssembly.instantiateStreaming(fetch("/test.wasm"), go.importObject)
    .then((r) => go.run(r.instance))
    .then(() => { if (window.testCode === null) window.testCode = 0; })
    .catch((err) => { window.testOut += "\nrunner: " + err; window.testCode = 99; });
}`

// serveTests serves a page that runs the js/wasm tests of a package.
func serveTests(t *testing.T, pkg string, args string) *browsertest.Host {
	t.Helper()
	bin := filepath.Join(t.TempDir(), "test.wasm")
	build := exec.Command("go", "test", "-c", "-o", bin, pkg)
	build.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm", "CGO_ENABLED=0")
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("build the tests of %s: %v\n%s", pkg, err, out)
	}
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		t.Fatal(err)
	}
	loader := filepath.Join(strings.TrimSpace(string(root)), "lib", "wasm", "wasm_exec.js")
	mux := http.NewServeMux()
	send := func(path, mime, text string) {
		mux.HandleFunc("GET "+path, func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Type", mime)
			_, _ = w.Write([]byte(text))
		})
	}
	send("/{$}", "text/html; charset=utf-8", runnerPage)
	send("/runner.js", "text/javascript", strings.Replace(runnerScript, "ARGS", args, 1))
	mux.HandleFunc("GET /wasm_exec.js", func(w http.ResponseWriter, r *http.Request) { http.ServeFile(w, r, loader) })
	mux.HandleFunc("GET /test.wasm", func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", "application/wasm")
		http.ServeFile(w, r, bin)
	})
	return browsertest.NewHost(t, mux)
}

// TestJournalConforms runs the journal's conformance suite over each engine's IndexedDB, and all other tests of the package
// that keeps the journal there. Left out is the one that needs a browser that can be told how much space there is.
func TestJournalConforms(t *testing.T) {
	host := serveTests(t, "unsling/wasm/idb", `["-test.skip=^TestNoSpaceLeft$"]`)
	for _, e := range Engines {
		t.Run(e.Name, func(t *testing.T) {
			p := e.Start(t, t.TempDir(), "UTC")
			p.Open(host.URL() + "/")
			p.Wait("window.testCode !== null")
			var out string
			var code int
			p.Eval("window.testOut", &out)
			p.Eval("window.testCode", &code)
			t.Logf("%s:\n%s", p.about(), out)
			passed := strings.Count(out, "--- PASS: ")
			if code != 0 || !strings.Contains(out, "--- PASS: TestJournalConforms") || strings.Contains(out, "--- SKIP") {
				t.Errorf("exit code %d, %d tests passed", code, passed)
			}
			for _, line := range p.said() {
				t.Errorf("the engine says: %s", line)
			}
		})
	}
}

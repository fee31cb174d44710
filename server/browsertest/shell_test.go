package browsertest

import (
	"strings"
	"testing"
	"testing/fstest"

	"io/fs"
	"net/http"
	"os"

	"unsling/server/web"
)

// site is the embedded site, with files of assets or dist changed by name.
func site(t testing.TB, change map[string]string) *web.Site {
	t.Helper()
	assets, dist := copyOf(t, "../web/assets"), copyOf(t, "../web/dist")
	for name, text := range change {
		if f, ok := assets[name]; ok {
			f.Data = []byte(text)
		} else {
			dist[name] = &fstest.MapFile{Data: []byte(text)}
		}
	}
	s, err := web.LoadFrom(assets, dist)
	if err != nil {
		t.Fatal(err)
	}
	if !s.Built() {
		t.Fatal("the phone's program is not built: go run ./server/internal/buildweb")
	}
	return s
}

func copyOf(t testing.TB, dir string) fstest.MapFS {
	t.Helper()
	m := fstest.MapFS{}
	err := fs.WalkDir(os.DirFS(dir), ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := os.ReadFile(dir + "/" + path)
		m[path] = &fstest.MapFile{Data: data}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

const (
	mounted   = "document.getElementById('shell').hidden && !document.getElementById('app')"
	activated = "navigator.serviceWorker.controller && navigator.serviceWorker.controller.state === 'activated'"
	running   = "unslingBoot.version"
)

func version(p *Page) string {
	var v string
	p.Eval(running, &v)
	return v
}

// newer is the same app with another style sheet, hence another version.
func newer(t *testing.T) *web.Site {
	return site(t, map[string]string{"phone.css": "/* a newer one */"})
}

func TestDeepAddressWithTheServerDead(t *testing.T) {
	s := site(t, nil)
	host := NewHost(t, s)
	profile := t.TempDir()
	b := Start(t, profile)
	p := b.NewPage()
	p.Open(host.URL() + "/")
	p.Wait(mounted)
	p.Wait(activated)
	for _, line := range p.Said() {
		if strings.Contains(line, "Content Security Policy") || strings.HasPrefix(line, "exception:") {
			t.Errorf("console: %s", line)
		}
	}

	host.Stop()
	for _, path := range []string{"/measure/FF", "/session?from=shortcut", "/enrol#code", "/no/such/screen", "/"} {
		p.Open(host.URL() + path)
		p.Wait(mounted)
		if got := version(p); got != s.Version() {
			t.Errorf("%s: version %q runs, want %q", path, got, s.Version())
		}
		p.Reload()
		p.Wait(mounted)
	}
	for _, path := range []string{"/clinic", "/clinic/patients/7", "/v1/hello", "/fhir/metadata", "/healthz", "/readyz"} {
		if err := p.TryOpen(host.URL() + path); err == nil {
			t.Errorf("%s: answered with the server dead; the worker must leave it alone", path)
		}
	}

	b.Close() // the phone is switched off and on again, still without a server
	p = Start(t, profile).NewPage()
	p.Open(host.URL() + "/measure/FF")
	p.Wait(mounted)
}

func TestUpdateWaitsUntilTold(t *testing.T) {
	before, after := site(t, nil), newer(t)
	if before.Version() == after.Version() {
		t.Fatal("another style sheet must make another version")
	}
	host := NewHost(t, before)
	p := Start(t, "").NewPage()
	p.Open(host.URL() + "/")
	p.Wait(mounted)
	p.Wait(activated)

	host.Serve(after)
	p.Reload()
	p.Wait("unslingBoot.registration.then(r => r.waiting)")
	p.Reload()
	p.Wait(mounted)
	if got := version(p); got != before.Version() {
		t.Fatalf("version %s runs before anybody let it in, want %s", got, before.Version())
	}
	p.Eval("unslingBoot.registration.then(r => r.waiting.postMessage({type: 'skipWaiting'}))", nil)
	p.Wait("unslingBoot.registration.then(r => !r.waiting && r.active.state === 'activated')")
	p.Reload()
	p.Wait(mounted)
	if got := version(p); got != after.Version() {
		t.Errorf("version %s runs after the update was let in, want %s", got, after.Version())
	}
	host.Stop()
	p.Reload()
	p.Wait(mounted)
	if got := version(p); got != after.Version() {
		t.Errorf("version %s runs without a server, want %s", got, after.Version())
	}
}

// broken serves a newer version whose program cannot be had.
func broken(s *web.Site, how func(http.ResponseWriter)) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/app.wasm" {
			how(w)
			return
		}
		s.ServeHTTP(w, r)
	})
}

func TestBrokenUpdateLeavesTheOldVersion(t *testing.T) {
	for name, how := range map[string]func(http.ResponseWriter){
		"server error": func(w http.ResponseWriter) { http.Error(w, "no", http.StatusInternalServerError) },
		"cut short": func(w http.ResponseWriter) {
			w.Header().Set("Content-Type", "application/wasm")
			_, _ = w.Write([]byte("\x00asm\x01\x00\x00\x00"))
		},
	} {
		t.Run(name, func(t *testing.T) {
			before := site(t, nil)
			host := NewHost(t, before)
			p := Start(t, "").NewPage()
			p.Open(host.URL() + "/")
			p.Wait(mounted)
			p.Wait(activated)

			host.Serve(broken(newer(t), how))
			p.Eval(`unslingBoot.registration.then(r => new Promise(done => {
				r.addEventListener("updatefound", () => r.installing.addEventListener("statechange", e => done(e.target.state)));
				r.update();
			})).then(s => window.testState = s)`, nil)
			var state string
			p.Eval("window.testState", &state)
			if state != "redundant" {
				t.Errorf("the broken version's worker became %q, want redundant", state)
			}
			host.Stop()
			for range 3 { // the third start is where a half-deleted version shows
				p.Reload()
				p.Wait(mounted)
			}
			if got := version(p); got != before.Version() {
				t.Errorf("version %s runs, want %s", got, before.Version())
			}
		})
	}
}

// deadLoader is a loader whose program stops at once.
const deadLoader = `window.Go = class { constructor() { this.importObject = {gojs: new Proxy({}, {get: () => () => {}}), _gotest: {add: () => 0}}; } async run() {} };
WebAssembly.instantiateStreaming = async () => ({instance: {}});`

func TestStoppedProgramSaysSoAndOffersTheVersionFromBefore(t *testing.T) {
	before := site(t, nil)
	dead := site(t, map[string]string{"wasm_exec.js": deadLoader})
	host := NewHost(t, before)
	p := Start(t, "").NewPage()
	p.Open(host.URL() + "/")
	p.Wait(mounted)
	p.Wait(activated)
	p.Eval(`localStorage.setItem("unsling.clinic", JSON.stringify({name: "Invented Shoulder Clinic", phone: "+1 555 0100"}))`, nil)

	host.Serve(dead)
	p.Eval("unslingBoot.registration.then(r => r.update())", nil)
	p.Wait("unslingBoot.registration.then(r => r.waiting)")
	p.Eval("unslingBoot.registration.then(r => r.waiting.postMessage({type: 'skipWaiting'}))", nil)
	p.Wait("unslingBoot.registration.then(r => !r.waiting && r.active.state === 'activated')")
	p.Reload()
	p.WaitText("#shell", "The app has stopped.")
	p.WaitText("#shell", "still on this phone")
	p.WaitText("#shell-clinic a[href='tel:+15550100']", "+1 555 0100")
	p.WaitText("#shell-reload", "Open again")
	p.WaitText("#shell-before", "Use the version from before")

	host.Stop()
	p.Click("#shell-before")
	p.Wait("window.unslingBoot && unslingBoot.version === '" + before.Version() + "'")
	p.Wait(mounted)
	p.Reload()
	p.Wait(mounted)
}

func TestFixedVersionComesInFromTheStoppedScreen(t *testing.T) {
	dead, fixed := site(t, map[string]string{"wasm_exec.js": deadLoader}), site(t, nil)
	host := NewHost(t, dead)
	p := Start(t, "").NewPage()
	p.Open(host.URL() + "/")
	p.WaitText("#shell", "The app has stopped.")
	p.Wait(activated)
	host.Serve(fixed)
	p.Reload() // whoever comes back later: the page looks for a newer version as soon as it has stopped
	p.WaitText("#shell", "The app has stopped.")
	p.Click("#shell-reload")
	if !p.WaitFor("unslingBoot.version === '"+fixed.Version()+"'", patience) {
		p.Click("#shell-reload") // on a slow machine the newer version arrives after the first tap
	}
	p.Wait("unslingBoot.version === '" + fixed.Version() + "'")
	p.Wait(mounted)
}

// storageOff is what a browser does whose owner has forbidden pages to store anything: looking is an error already.
const storageOff = `for (const name of ["localStorage", "sessionStorage", "indexedDB"]) {
	Object.defineProperty(window, name, { configurable: true, get() { throw new DOMException("denied", "SecurityError"); } });
}`

func TestProgramStartsWhereStorageIsSwitchedOff(t *testing.T) {
	host := NewHost(t, site(t, nil))
	p := Start(t, "").NewPage()
	p.Before(storageOff)
	p.Open(host.URL() + "/")
	p.Wait(mounted)
}

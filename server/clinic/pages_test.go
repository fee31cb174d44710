package clinic

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

// notPages are the routes for reading that no person looks at, and why.
var notPages = map[string]string{
	"GET /clinic/assets/{file}":   "style and script",
	"GET /clinic/sign-in/options": "JSON for the browser's passkeys",
	"GET /clinic/join/options":    "JSON for the browser's passkeys",
	"GET /clinic/again/options":   "JSON for the browser's passkeys",
	"GET /clinic/account/options": "JSON for the browser's passkeys",
	"GET /clinic/session":         "JSON for the clock that warns before signing out",
	"GET /clinic/outcomes/file":   "CSV to save",
	"GET /clinic/patients/{patient}/sheet": "shown once after an invitation: TestStructure looks at it as the answer of the form; " +
		"the code is not there a second time",
}

// Every page that can be opened is held to axe-core, by TestAxe or by
// TestAxeAtTheDoors: a new route has to be added to everyPage or doorPages, or
// to the list above.
func TestEveryPageIsLookedAt(t *testing.T) {
	p := newPractice(t)
	mux := http.NewServeMux()
	routes := p.desk.routes()
	for pattern := range routes {
		mux.Handle(pattern, http.NotFoundHandler())
	}
	seen := map[string]bool{}
	see := func(path string) {
		_, pattern := mux.Handler(httptest.NewRequest("GET", path, nil))
		seen[pattern] = true
	}
	for _, a := range everyPage(t, p) {
		if a.Request().Method == "GET" {
			see(a.Request().URL.Path)
		}
	}
	for _, paths := range doorPages {
		for _, path := range paths {
			see(path)
		}
	}
	pages := 0
	for pattern := range routes {
		if !strings.HasPrefix(pattern, "GET ") {
			continue
		}
		switch why := notPages[pattern]; {
		case why != "" && seen[pattern] && !strings.HasSuffix(pattern, "/sheet"):
			t.Errorf("%s is looked at, and listed as no page: %s", pattern, why)
		case why == "" && !seen[pattern]:
			t.Errorf("%s is not held to axe-core: add it to everyPage or doorPages", pattern)
		case why == "":
			pages++
		}
	}
	if pages < 30 {
		t.Errorf("only %d pages", pages)
	}
	for pattern := range notPages {
		if routes[pattern] == nil {
			t.Errorf("%s is not a route any more", pattern)
		}
	}
}

// The head of every page stays one row on a desk and on a tablet held across,
// however long the names are: the names give way, and no page goes sideways.
func TestHeadIsOneRow(t *testing.T) {
	p := newPractice(t)
	c := testClinic()
	c.Name = longNames[0]
	p.must(p.store.SetClinic(c, p.trail("server")))
	w := p.open(t, vega)
	for _, width := range []int64{1024, 1280, 1920} {
		w.look(width, 800, false)
		w.Open(w.url + "/clinic/")
		var got struct{ High, Wide float64 }
		w.Eval(`({High: document.querySelector('header.top').offsetHeight, Wide: document.documentElement.scrollWidth})`, &got)
		if got.High > 80 || got.High < 40 || got.Wide > float64(width) {
			t.Errorf("at %d the head is %.0f high and the page %.0f wide", width, got.High, got.Wide)
		}
	}
}

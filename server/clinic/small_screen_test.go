package clinic

import (
	"net/http/httptest"
	"strings"
	"testing"

	"unsling/server/access"
	"unsling/server/browsertest"
)

// WCAG 2.2, 1.4.10: at 320 CSS pixels no page scrolls sideways; 2.5.8: what
// is pressed is 24 pixels or more, links within a sentence excepted. And no
// page breaks its own content security policy. In Chromium.
func TestSmallScreen(t *testing.T) {
	p := newPractice(t)
	var paths []string
	for name, a := range everyPage(t, p) {
		if name != "preview" && name != "sorry" && name != "sign-in" && name != "sheet" {
			paths = append(paths, a.Request().URL.RequestURI())
		}
	}
	p.desk.Cookies = access.Cookies{Plain: true}
	server := httptest.NewServer(p.desk.Handler())
	defer server.Close()
	page := browsertest.Start(t, "").NewPage()
	page.Open(server.URL + "/clinic/sign-in?next=/clinic/enrol")
	page.Type("input[name=login]", "vega")
	page.Type("input[name=password]", password)
	page.Click("button.main")
	page.WaitText("h1", "Enrol a patient")
	page.Phone(320, 640)
	for _, path := range paths {
		page.Open(server.URL + path)
		page.Eval(`document.querySelectorAll('details').forEach(d => d.open = true)`, nil)
		var got struct {
			Wide  float64
			Small []string
		}
		page.Eval(`({
			Wide: document.documentElement.scrollWidth,
			Small: [...document.querySelectorAll('button, input:not([type=hidden]), select, summary, nav a, a.btn')].filter(e => {
				const r = (e.closest('label.tick') ?? e).getBoundingClientRect();
				return r.width > 0 && (r.height < 24 || r.width < 24);
			}).map(e => e.outerHTML.slice(0, 120)),
		})`, &got)
		if got.Wide > 320 {
			t.Errorf("%s is %.0f pixels wide", path, got.Wide)
		}
		for _, s := range got.Small {
			t.Errorf("%s: too small to press: %s", path, s)
		}
	}
	if len(paths) < 15 {
		t.Fatalf("only %d pages", len(paths))
	}
	for _, line := range page.Said() {
		if strings.Contains(line, "exception") || strings.Contains(line, "Content Security Policy") {
			t.Errorf("the browser said: %s", line)
		}
	}
}

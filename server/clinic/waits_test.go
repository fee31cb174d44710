package clinic

import (
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"

	"unsling/server/access"
	"unsling/server/browsertest"
)

// clock lets a server that runs beside the test read the practice's clock, and
// returns what puts it forward.
func (p *practice) clock() (forward func(time.Duration)) {
	var mu sync.Mutex
	p.desk.Now = func() time.Time {
		mu.Lock()
		defer mu.Unlock()
		return p.now
	}
	return func(d time.Duration) {
		mu.Lock()
		defer mu.Unlock()
		p.now = p.now.Add(d)
	}
}

// In Chromium, with the practice's clock: a page warns before the session
// ends and stays when asked; one left alone is locked and hides what it
// showed; what was being written is back in its form after the same person
// has signed in; and after the question who is there a form goes on by
// itself. No page needs a script for any of it to be safe.
func TestFormsWaitInTheBrowser(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	p.desk.Cookies = access.Cookies{Plain: true}
	forward := p.clock()
	server := httptest.NewServer(p.desk.Handler())
	defer server.Close()
	page := browsertest.Start(t, "").NewPage()
	signIn := func() {
		t.Helper()
		page.Wait("document.readyState === 'complete'")
		page.Type("input[name=login]", "vega")
		page.Type("input[name=password]", password)
		page.Click("button.main")
	}
	pass := func(d time.Duration) { // and the person comes back to the page
		page.Wait("document.readyState === 'complete'")
		forward(d)
		page.Eval("document.dispatchEvent(new Event('visibilitychange'))", nil)
	}
	page.Open(server.URL + "/clinic/sign-in?next=" + x.base + "/entry/note")
	signIn()
	page.WaitText("h1", "Message")

	pass(access.SessionIdle - time.Minute)
	page.WaitText("#ending", "You will be signed out in 0:")
	page.Click("#ending button")
	page.Wait("document.querySelector('#ending').hidden")

	page.Type("textarea[name=text]", "The sling stays on <b>until</b> Friday")
	pass(access.SessionIdle)
	page.WaitText("[role=alert]", "What you were writing is kept: sign in to go on.")
	var shows bool
	page.Eval("document.documentElement.outerHTML.includes('Friday') || document.documentElement.outerHTML.includes('Ada Rowe')", &shows)
	if shows {
		t.Error("the locked page still holds what was written, or the patient's name")
	}
	signIn()
	page.WaitText("main", "What you wrote before you were signed out is back in the form.")
	var text string
	page.Eval("document.querySelector('textarea[name=text]').value", &text)
	if text != "The sling stays on <b>until</b> Friday" {
		t.Errorf("back in the form: %q", text)
	}
	page.Click("form textarea[name=text] ~ * button.main, form button.main")
	page.Wait("!document.querySelector('textarea[name=text]')")
	if notes := x.history().Notes; len(notes) != 1 || notes[0].Body.Text != text {
		t.Errorf("notes: %+v", notes)
	}

	// The question who is there, answered: the invitation is made.
	page.Open(server.URL + x.base)
	pass(access.FreshFor + time.Minute)
	page.Click("button[name=kind][value=desk]")
	page.WaitText("h1", "Is it still you?")
	page.Type("input[name=password]", password)
	page.Click("button.main")
	page.WaitText("[role=status]", "New invitation made.")

	// Another person at the same browser is not let into the page of the first.
	page.Open(server.URL + x.base)
	other := p.as(quill)
	_, err := chromedp.Call(page.Context(), network.SetCookie, network.SetCookieParams{Name: p.desk.Cookies.Name(), Value: other.cookie, URL: server.URL})
	p.must(err)
	page.Wait("document.readyState === 'complete'")
	page.Eval("document.dispatchEvent(new Event('visibilitychange'))", nil)
	page.Wait("location.pathname === '/clinic/'")
	for _, line := range page.Said() {
		if strings.Contains(line, "exception") || strings.Contains(line, "Content Security Policy") {
			t.Errorf("the browser said: %s", line)
		}
	}
}

package browsertest

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// Page is one tab. Its methods fail the test at once when the browser refuses.
type Page struct {
	t   testing.TB
	ctx context.Context

	mu   sync.Mutex
	said []string
}

// NewPage opens a tab.
func (b *Browser) NewPage() *Page {
	b.t.Helper()
	ctx, cancel := chromedp.NewContext(b.ctx)
	b.t.Cleanup(cancel)
	p := &Page{t: b.t, ctx: ctx}
	if err := chromedp.Do(ctx); err != nil {
		b.t.Fatalf("open a tab: %v", err)
	}
	if err := chromedp.Listen(ctx, p.note); err != nil {
		b.t.Fatalf("listen to the tab: %v", err)
	}
	return p
}

func (p *Page) note(ev any) {
	line := ""
	switch ev := ev.(type) {
	case *runtime.EventConsoleAPICalled:
		var parts []string
		for _, a := range ev.Args {
			parts = append(parts, strings.Trim(string(a.Value), `"`)+a.Description)
		}
		line = string(ev.Type) + ": " + strings.Join(parts, " ")
	case *runtime.EventExceptionThrown:
		line = "exception: " + (&chromedp.ExceptionError{ExceptionDetails: ev.ExceptionDetails}).Error()
	default:
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.said = append(p.said, line)
}

// Said gives what the page has written to its console, and its uncaught exceptions ("exception: ...").
func (p *Page) Said() []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return append([]string(nil), p.said...)
}

// Context is the tab's chromedp context, for what has no helper here.
func (p *Page) Context() context.Context { return p.ctx }

// Close closes the tab.
func (p *Page) Close() {
	if err := chromedp.Cancel(p.ctx); err != nil {
		p.t.Logf("close the tab: %v", err)
	}
}

func (p *Page) limited() (context.Context, context.CancelFunc) {
	return context.WithTimeout(p.ctx, patience)
}

// Open goes to an address and waits until the page has loaded.
func (p *Page) Open(url string) {
	p.t.Helper()
	if err := p.TryOpen(url); err != nil {
		p.t.Fatalf("open %s: %v", url, err)
	}
}

// TryOpen is Open that gives the browser's error, such as net::ERR_CONNECTION_REFUSED.
func (p *Page) TryOpen(url string) error {
	ctx, cancel := p.limited()
	defer cancel()
	return chromedp.Do(ctx, chromedp.Navigate(url))
}

// Reload loads the page again, as the browser's own button does.
func (p *Page) Reload() {
	p.t.Helper()
	ctx, cancel := p.limited()
	defer cancel()
	if err := chromedp.Do(ctx, chromedp.Reload()); err != nil {
		p.t.Fatalf("reload: %v", err)
	}
}

// Eval runs a JavaScript expression, waits for it if it is a promise, and decodes its value into out (a pointer, or nil).
func (p *Page) Eval(expression string, out any) {
	p.t.Helper()
	if err := p.TryEval(expression, out); err != nil {
		p.t.Fatalf("evaluate %s: %v", short(expression), err)
	}
}

// TryEval is Eval that gives the error.
func (p *Page) TryEval(expression string, out any) error {
	ctx, cancel := p.limited()
	defer cancel()
	raw, err := chromedp.Run(ctx, chromedp.Evaluate[[]byte](expression, chromedp.EvalAwaitPromise))
	if err != nil || out == nil {
		return err
	}
	if len(raw) == 0 {
		return fmt.Errorf("no value")
	}
	return json.Unmarshal(raw, out)
}

// Wait waits until a JavaScript expression is true. It survives a page that goes away and comes back meanwhile.
func (p *Page) Wait(condition string) {
	p.t.Helper()
	if !p.WaitFor(condition, patience) {
		p.t.Fatalf("waited %v in vain for %s\nscreen: %s\nconsole: %s", patience, condition, short(p.Text("body")), strings.Join(p.Said(), "\n  "))
	}
}

// WaitFor is Wait with a limit of its own; it reports whether the condition came true.
func (p *Page) WaitFor(condition string, limit time.Duration) bool {
	return ComesTrue(p.TryEval, condition, limit)
}

// ComesTrue asks eval for a JavaScript condition until it is true or limit has passed. A page that goes away meanwhile is asked
// again.
func ComesTrue(eval func(expression string, out any) error, condition string, limit time.Duration) bool {
	for end := time.Now().Add(limit); ; time.Sleep(40 * time.Millisecond) {
		var yes bool
		if eval("(async () => !!(await ("+condition+")))()", &yes) == nil && yes {
			return true
		}
		if time.Now().After(end) {
			return false
		}
	}
}

// WaitText waits until the element's visible text contains want.
func (p *Page) WaitText(selector, want string) {
	p.t.Helper()
	p.Wait(fmt.Sprintf("(document.querySelector(%s)?.innerText ?? '').includes(%s)", quote(selector), quote(want)))
}

// Text is the visible text of the first element that matches, "" if there is none.
func (p *Page) Text(selector string) string {
	var text string
	_ = p.TryEval(fmt.Sprintf("document.querySelector(%s)?.innerText ?? ''", quote(selector)), &text)
	return text
}

// Click waits for the element, scrolls to it and clicks its middle with the mouse.
func (p *Page) Click(selector string) {
	p.t.Helper()
	p.act("click "+selector, chromedp.Click(selector))
}

// Tap is Click with a finger.
func (p *Page) Tap(selector string) {
	p.t.Helper()
	p.act("tap "+selector, chromedp.Tap(selector))
}

// Type waits for the element and types into it, key by key.
func (p *Page) Type(selector, text string) {
	p.t.Helper()
	p.act("type into "+selector, chromedp.SendKeys(selector, text))
}

// Upload puts files into a file input.
func (p *Page) Upload(selector string, paths ...string) {
	p.t.Helper()
	p.act("upload into "+selector, chromedp.SetUploadFiles(selector, paths))
}

func (p *Page) act(what string, a chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	ctx, cancel := p.limited()
	defer cancel()
	err := chromedp.Do(ctx, a)
	for tries := 0; tries < 5 && err != nil && strings.Contains(err.Error(), "Could not find node"); tries++ {
		err = chromedp.Do(ctx, a) // drawn anew between being found and being touched: a person would hit what stands there now
	}
	if err != nil {
		p.t.Fatalf("%s: %v\nscreen: %s\nconsole: %s", what, err, short(p.Text("body")), strings.Join(p.Said(), "\n  "))
	}
}

// Phone gives the tab the size, density and touch of a phone.
func (p *Page) Phone(width, height int64) {
	p.t.Helper()
	p.act("be a phone", chromedp.EmulateViewport(width, height, chromedp.EmulateMobile, chromedp.EmulateTouch, chromedp.EmulateScale(2)))
}

// Slow makes the page's processor so many times slower; 1 is full speed.
func (p *Page) Slow(times float64) {
	p.t.Helper()
	if _, err := chromedp.Call(p.ctx, emulation.SetCPUThrottlingRate, emulation.SetCPUThrottlingRateParams{Rate: times}); err != nil {
		p.t.Fatalf("slow down: %v", err)
	}
}

// Offline takes the tab off the network, navigator.onLine included, or back. The service worker has its own connection:
// to take everything away, stop the server ([Host.Stop]).
func (p *Page) Offline(off bool) {
	p.t.Helper()
	_, err := chromedp.Call(p.ctx, network.OverrideNetworkState, network.OverrideNetworkStateParams{Offline: off, DownloadThroughput: -1, UploadThroughput: -1})
	if err == nil {
		_, err = chromedp.Call(p.ctx, network.EmulateNetworkConditionsByRule, network.EmulateNetworkConditionsByRuleParams{
			EmulateOfflineServiceWorker: &off,
			MatchedNetworkConditions:    []*network.Conditions{{Offline: off, DownloadThroughput: -1, UploadThroughput: -1}},
		})
	}
	if err != nil {
		p.t.Fatalf("offline %v: %v", off, err)
	}
}

// Before runs a script in every document that this tab opens from now on, before the page's own scripts.
func (p *Page) Before(script string) {
	p.t.Helper()
	if _, err := chromedp.Call(p.ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: script}); err != nil {
		p.t.Fatalf("add a script: %v", err)
	}
}

// Screenshot writes what the tab shows as a PNG file.
func (p *Page) Screenshot(path string) {
	p.t.Helper()
	res, err := chromedp.Call(p.ctx, page.CaptureScreenshot, page.CaptureScreenshotParams{})
	if err == nil {
		err = os.WriteFile(path, res.Data, 0o644)
	}
	if err != nil {
		p.t.Fatalf("screenshot %s: %v", path, err)
	}
}

func quote(s string) string {
	b, err := json.Marshal(s)
	if err != nil {
		panic(err) // a string always marshals
	}
	return string(b)
}

func short(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	if len(s) > 300 {
		return s[:300] + " ..."
	}
	return s
}

package clinic

import (
	"net/url"
	"testing"

	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"

	"unsling/engine/rom"
	"unsling/server/access"
)

// doorPages are the pages of nobody and of an administrator.
var doorPages = map[rom.StaffID][]string{
	"": {"/clinic/join", "/clinic/sign-in"}, fenn: {"/clinic/staff", "/clinic/audit", "/clinic/audit/heads", "/clinic/server", "/clinic/settings"}, vega: {"/clinic/account"},
}

// TestAxeAtTheDoors holds what TestAxe does not come by to axe-core: the pages
// of an administrator and of nobody, the question who is there, and codes that
// are shown once; narrow and dark, wide and light.
func TestAxeAtTheDoors(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	p.must(p.store.BreakGlass(mustGlass(t, p, x.id), p.trail(orr)))
	p.as(fenn).post("/clinic/staff", url.Values{"act": {"reset"}, "staff": {string(quill)}})
	forward := p.clock()
	w := p.open(t, fenn)
	source := axe(t)
	be := func(who rom.StaffID) {
		t.Helper()
		if who == "" {
			if _, err := chromedp.Call(w.Context(), network.ClearBrowserCookies, struct{}{}); err != nil {
				t.Fatal(err)
			}
			return
		}
		_, err := chromedp.Call(w.Context(), network.SetCookie, network.SetCookieParams{Name: p.desk.Cookies.Name(), Value: p.as(who).cookie, URL: w.url})
		p.must(err)
	}
	check := func(what string) {
		t.Helper()
		w.Wait("document.readyState === 'complete'")
		w.Eval(`document.querySelectorAll('details').forEach(d => d.open = true)`, nil)
		w.Eval(source+"\n;undefined", nil)
		for _, dark := range []bool{true, false} {
			wide := int64(360)
			if !dark {
				wide = 1280
			}
			w.look(wide, 800, dark)
			var got struct {
				Wide  int64
				Found []string
			}
			w.Eval(`axe.run(document, {runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']}).then(r => ({Wide: document.documentElement.scrollWidth, Found: r.violations.map(v => v.id + ': ' + v.nodes.slice(0, 3).map(n => n.html.slice(0, 160) + ' ' + n.failureSummary).join(' | '))}))`, &got)
			for _, f := range got.Found {
				t.Errorf("%s at %d: %s", what, wide, f)
			}
			if got.Wide > wide {
				t.Errorf("%s at %d is %d pixels wide", what, wide, got.Wide)
			}
		}
	}
	for who, paths := range doorPages {
		be(who)
		if who == vega {
			paths = append(paths[:len(paths):len(paths)], x.base)
		}
		for _, path := range paths {
			w.Open(w.url + path)
			check(path)
		}
	}
	be(fenn)
	w.Open(w.url + "/clinic/staff")
	w.Type("input[name=name]", "Dr Ines Berg")
	w.Type("input[name=login]", "i.berg")
	w.Eval(`document.querySelector('form.box select[name=role]').value = 'surgeon'`, nil)
	w.Click("button[value=invite]")
	w.WaitText("h1", "Invitation for")
	check("the code of an invitation")
	be("")
	code := p.inviteStaff("o.new", "assistant")
	w.Open(w.url + "/clinic/join#" + code)
	w.Wait("document.querySelector('input[data-code]').value !== ''")
	w.Click("button.main")
	w.WaitText("h1", "Welcome")
	check("joining")
	w.Type("input[name=new]", fresh)
	w.Type("input[name=repeat]", fresh)
	w.Click("button.main")
	w.WaitText("h1", "Your account")
	w.Open(w.url + "/clinic/account")
	w.Click("form[action='/clinic/account/codes'] button")
	w.WaitText("h1", "Recovery codes")
	check("recovery codes")
	be(vega)
	w.Open(w.url + x.base)
	forward(access.FreshFor + 1)
	w.Click("button[name=kind][value=desk]")
	w.WaitText("h1", "Is it still you?")
	check("the question who is there")
}

package browsertest

import (
	"net/url"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
)

// What runs, or leaves its place, where a text is put into a page without being escaped. A shorter one for short fields.
const (
	hostileText  = `'"><b data-hostile>x</b><img src=x data-hostile onerror="hostile=1"><script data-hostile>hostile=1</script>`
	hostileShort = `'"><b data-hostile>y`
)

// harmless fails the test when a hostile text has become part of the page, or has run.
func (p *screenPage) harmless(where string) {
	p.t.Helper()
	var found string
	p.Eval(`(typeof hostile === "undefined" ? "" : "it ran; ") + [...document.querySelectorAll("[data-hostile], b, img[src='x']")].map(e => e.outerHTML.slice(0, 80)).join("; ")`, &found)
	if found != "" {
		p.t.Errorf("%s: a text has become part of the page: %s", where, found)
	}
}

// plant writes the hostile text into every field for text of the form that has the field, as far as it may be long.
func (p *screenPage) plant(field string) {
	p.t.Helper()
	p.Eval(`(() => {
		const form = document.querySelector(`+quote(field)+`).closest("form");
		for (const e of form.querySelectorAll("textarea, input:not([type]), input[type=text], input[type=tel]")) {
			if (["zone", "on", "next"].includes(e.name) || e.disabled || e.inputMode === "decimal" || e.inputMode === "numeric" || /^(from|to|p\.|x\.)/.test(e.name)) continue;
			const most = e.maxLength > 0 ? e.maxLength : 200;
			e.value = most >= `+quote(hostileText)+`.length ? `+quote(hostileText)+` : `+quote(hostileShort)+`.slice(0, most);
		}
	})()`, nil)
}

// TestHostileTexts stores texts that would run if they were not escaped in the fields of the clinic's forms and of the phone,
// and then opens every page of the clinic that a link leads to, as each person, and every screen of the phone: none has become
// part of a page, none has run, no page violates its policy (CSP level 3, reported by the browser), asks another host, or
// writes an error to the console.
func TestHostileTexts(t *testing.T) {
	h := openHouse(t)
	w := &watch{origin: h.URL()}
	b := Start(t, "")
	zone := Morning(t)

	d := newDesk(b, w)
	d.signIn(h, "solberg")
	d.Open(h.URL() + "/clinic/settings")
	d.plant("input[name=name]")
	d.fill("input[name=phone]", "+353 20 912 0101")
	d.fill("input[name=after_hours]", "+353 20 912 0199")
	d.fill("input[name=emergency]", "112")
	d.press("Save")
	d.harmless("settings")
	d.Close()

	d = newDesk(b, w)
	d.signIn(h, "spare")
	d.Open(h.URL() + "/clinic/enrol")
	d.plant("input[name=name]")
	d.Click("input[name=side][value=right]")
	d.fill("select[name=main]", string(rom.CuffRepair))
	d.fill("select[name=surgeon]", "spare")
	d.fill("input[name=surgery]", time.Now().AddDate(0, 0, 10).Format(time.DateOnly))
	d.press("Enrol")
	d.harmless("sheet")
	code := strings.TrimSpace(d.Text(".code"))
	var at string
	d.Eval("location.pathname.replace(/\\/sheet$/, '')", &at)
	if !strings.HasPrefix(at, "/clinic/patients/") {
		t.Fatalf("enrolled at %s: %s", at, short(d.Text("body")))
	}

	p := newPhone(b, w, zone, true, `Object.defineProperty(navigator, "platform", { value: `+quote(hostileText)+` });`)
	p.up(h.URL() + "/enrol")
	p.Type("#code", code)
	p.tap("#join")
	p.says("Welcome")
	p.harmless("first screen of the phone")
	p.throughFirstRun("right")
	p.note(hostileText)
	p.harmless("a kept note on the phone")

	for _, e := range []struct{ path, field, button string }{
		{"/entry/note", "textarea", ""}, {"/entry/visit", "textarea", ""}, {"/plan", "input[name=reason]", "Save the new revision"},
	} {
		d.Open(h.URL() + at + e.path)
		if e.path == "/plan" {
			d.Click("input[name=state][value=paused]")
		}
		d.plant(e.field)
		d.harmless("the form at " + e.path)
		button := e.button
		if button == "" {
			d.Eval("document.querySelector("+quote(e.field)+").closest('form').querySelector('button').innerText.trim()", &button)
		}
		d.press(button)
		d.harmless("after " + e.path)
	}
	d.Close()

	// The phone gets the clinic's name, the message and the reason.
	p.up(h.URL() + "/settings")
	p.tap("#send-now")
	p.WaitText("#unsent", "Nothing waits to be sent.")
	shown := 0
	for _, path := range []string{"/", "/help", "/limits", "/so-far", "/settings", "/measure", "/session", "/lock", "/phones", "/leave"} {
		p.up(h.URL() + path)
		p.there("#title")
		if path == "/help" {
			p.says("data-hostile")
		}
		p.harmless("phone " + path)
		if strings.Contains(p.Text("body"), "data-hostile") {
			shown++
		}
	}
	if shown < 1 {
		t.Errorf("the hostile texts are shown as text on %d screens: the test proves nothing", shown)
	}

	plantDesk(b, w, h, at)
	pages, shown := 0, 0
	for _, staff := range h.Staff {
		n, s := crawl(t, b, w, h, staff.Login)
		pages, shown = pages+n, shown+s
	}
	t.Logf("%d pages of the clinic, the texts shown as text on %d", pages, shown)
	if pages < 40 || shown < 8 {
		t.Errorf("%d pages were opened, on %d the hostile texts are shown as text: the test proves nothing", pages, shown)
	}
	w.clean(t)
}

// crawl opens one page of each kind that links lead to, as one person.
func crawl(t *testing.T, b *Browser, w *watch, h *house, login string) (pages, shown int) {
	t.Helper()
	d := newDesk(b, w)
	defer d.Close()
	d.Open(h.URL() + "/clinic/sign-in?next=" + url.QueryEscape(`/clinic/?find=`+hostileShort))
	d.harmless("sign-in")
	d.Type("input[name=login]", login)
	d.Type("input[name=password]", h.password(login))
	d.press("Sign in")
	d.Wait("!document.querySelector('input[name=password]') && document.querySelector('h1')")
	d.harmless("after signing in as " + login)
	seen := map[string]int{}
	queue := []string{"/clinic/?find=" + url.QueryEscape(hostileShort), "/clinic/"}
	for len(queue) > 0 {
		at := queue[0]
		queue = queue[1:]
		kind, _, _ := strings.Cut(pageIDs.ReplaceAllString(at, "/$1/one"), "?")
		hostile := strings.Contains(at, "data-hostile")
		if strings.Contains(kind, "sign-out") || seen[at] > 0 || seen[kind] >= 2 && !hostile {
			continue
		}
		seen[at]++
		seen[kind]++
		over := w.expect("net::ERR_ABORTED", "status of 4") // a file to be saved is no page
		err := d.TryOpen(h.URL() + at)
		over()
		var links []string
		if err != nil || d.TryEval(`document.querySelector("h1") ? [...document.querySelectorAll("a[href]")].map(a => a.href) : []`, &links) != nil || len(links) == 0 {
			continue
		}
		pages++
		d.harmless(login + " at " + at)
		if strings.Contains(d.Text("body"), "data-hostile") {
			shown++
		}
		for _, l := range links {
			u, err := url.Parse(l)
			if err == nil && strings.HasPrefix(l, h.URL()+"/clinic/") {
				queue = append(queue, u.RequestURI())
			}
		}
	}
	return pages, shown
}

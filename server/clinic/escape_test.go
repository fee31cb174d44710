package clinic

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// Texts that would become markup, leave an attribute, or start a script if a
// single page forgot to escape (OWASP XSS prevention sheet, rules 1 and 2).
var hostile = []string{
	`<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `' onmouseover='alert(1)`, `</title><svg onload=alert(1)>`,
	`{{.Clinic.Phone}}`, `javascript:alert(1)`, `</textarea><script>1</script>`, `&lt;b&gt;`, `--><script>1</script>`, "\u202Egnp.exe",
}

// elements that no page of the desk has.
var never = map[string]bool{"script": true, "img": true, "iframe": true, "object": true, "embed": true, "b": true}

func clean(t *testing.T, what string, a *answer) {
	t.Helper()
	for _, k := range a.page.all(func(*node) bool { return true }) {
		if never[k.name] && !ownScript(k) {
			t.Errorf("%s: a <%s> came out of somebody's text", what, k.name)
		}
		for name, value := range k.attr {
			if strings.HasPrefix(name, "on") && name != "on" {
				t.Errorf("%s: <%s %s=%q>", what, k.name, name, value)
			}
			if (name == "href" || name == "action") && strings.Contains(strings.ToLower(value), "javascript:") {
				t.Errorf("%s: <%s %s=%q>", what, k.name, name, value)
			}
		}
	}
}

// holds reports whether the page shows the very text, as text or in a field.
func holds(page *node, want string) bool {
	want = strings.Join(strings.Fields(want), " ")
	for _, k := range page.all(func(*node) bool { return true }) {
		if strings.Contains(strings.Join(strings.Fields(k.text), " "), want) || strings.Join(strings.Fields(k.attr["value"]), " ") == want {
			return true
		}
	}
	return false
}

func TestHostileTexts(t *testing.T) {
	p := newPractice(t)
	p.adopt(rom.CuffRepair)
	for i, text := range hostile {
		c := testClinic()
		c.Name, c.Phone, c.AfterHours = "Quay "+text, text, text
		p.must(p.store.SetClinic(c, p.trail("server")))
		row, err := p.store.Staff(quill)
		p.must(err)
		row.Name = "Ravi " + text
		p.must(p.store.PutStaff(row, p.trail("server")))

		form := enrolForm1(text + string(rune('A'+i)))
		form.Set("number", text)
		form.Set("surgery", p.today().Add(-30).String())
		if text == hostile[len(hostile)-1] {
			form.Set("phone", "1")
		}
		x := p.enrol(form).operated()
		e := x.episode()
		ph := x.phone()
		ph.write(p.now, wire.KindQuestion, rom.Question{Episode: e.ID, Text: text})
		ph.write(p.now, wire.KindSign, rom.Sign{Episode: e.ID, Sign: rom.SignID(text), Text: text})
		ph.write(p.now, wire.KindReading, own(e, rom.ForwardFlexion, 111))
		ph.exchange()
		w := p.as(vega)
		w.taken(w.post(x.base+"/clearance", url.Values{"episode": {string(e.ID)}, "phase": {"passive"}, "act": {"clear"}, "reason": {text}}))
		w.taken(w.post(x.base+"/plan", planForm(t, w, x, "state", "paused", "why", text, "reason", text)))
		q := p.as(quill)
		q.taken(q.post(x.base+"/finding", findingForm(t, q, x, "act", "comment", "text", text)))
		q.taken(q.post(x.base+"/entry/note", url.Values{"episode": {string(e.ID)}, "text": {text}}))
		q.taken(q.post(x.base+"/entry/visit", url.Values{"episode": {string(e.ID)}, "on": {p.today().String()}, "text": {text}}))

		shown := oneLine(text)
		for path, want := range map[string]bool{
			"/clinic/": true, "/clinic/?find=" + url.QueryEscape(text): true, x.base: true, x.base + "/plan": true, x.base + "/plan/history": true,
			x.base + "/episode": true, x.base + "/team": true, x.base + "/explain": true, x.base + "/entry/reading": true, x.base + "/entry/note": true,
			x.base + "/finding?episode=" + string(e.ID) + "&key=limit:FF": true, "/clinic/settings": true, "/clinic/enrol": true, "/clinic/protocols": true,
			"/clinic/sign-in?next=" + url.QueryEscape("/clinic/"+text): false, "/clinic/patients/" + url.PathEscape(text): false, x.base + "?episode=" + url.QueryEscape(text): false,
			x.base + "/explain?on=" + url.QueryEscape(text): false, x.base + "?done=" + url.QueryEscape(text): true,
		} {
			a := w.get(path)
			if a.page == nil {
				t.Errorf("%s: %d without a page", path, a.StatusCode)
				continue
			}
			clean(t, path, a)
			if want && a.StatusCode == http.StatusOK && !holds(a.page, shown) {
				t.Errorf("%.80s does not show %q", path, shown)
			}
		}
		// And in every field of a form that comes back.
		for path, fields := range map[string][]string{
			"/clinic/enrol": {"name", "born", "number", "phone", "zone", "surgery"}, x.base + "/plan": {"why", "reason", "p.passive.from", "p.passive.l.FF.ceil", "base"},
			x.base + "/entry/reading": {"FF-right", "on"}, x.base + "/entry/note": {"text", "author", "n"}, x.base + "/entry/visit": {"on", "text"}, x.base + "/episode": {"surgery", "block_hours", "reason", "version"},
			x.base + "/finding": {"key", "state", "until"}, "/clinic/settings": {"name", "phone", "from1", "zone", "emergency"}, "/clinic/sign-in": {"login", "next", "then", "body"}, x.base + "/clearance": {"phase", "reason"},
		} {
			for _, field := range fields {
				form := url.Values{"episode": {string(e.ID)}, field: {text}, "act": {"save"}, "base": {"3"}}
				if field == "base" {
					form.Set("base", text)
				}
				a := w.post(path, form)
				if a.page == nil {
					if a.StatusCode >= 400 {
						t.Errorf("POST %s with %s: %d without a page", path, field, a.StatusCode)
					}
					continue
				}
				clean(t, "POST "+path+" with "+field, a)
			}
			w = p.as(vega)
		}
		p.must(p.store.SetClinic(testClinic(), ledger.Trail{At: p.now, Actor: "server"}))
	}
}

// Marks that turn the direction of writing, with which one name could pass
// for another, do not get into names.
func TestNamesAreOneLine(t *testing.T) {
	for in, want := range map[string]string{
		"  Ada\n\tRowe ": "Ada Rowe", "Ada\u202EewoR": "AdaewoR", "Ada\x00Rowe": "AdaRowe", "Ada\u2066Rowe\u2069": "AdaRowe",
		"Łucja Ötvös": "Łucja Ötvös", "محمد علي": "محمد علي", "王小明": "王小明", "Ada\xffRowe": "Ada\uFFFDRowe", "": "",
	} {
		if got := oneLine(in); got != want {
			t.Errorf("%q became %q, want %q", in, got, want)
		}
	}
}

package browsertest

import (
	"net/http"
	"testing"
)

// TestSharedRecordCanBeRead: the file that the patient gives away is a page that stands alone, breaks none of axe-core's rules,
// and fits a phone.
func TestSharedRecordCanBeRead(t *testing.T) {
	stage := newStage(t)
	a := enterStage(t, Start(t, ""), stage)
	var text string
	host := NewHost(t, http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_, _ = w.Write([]byte(text))
	}))
	for _, lang := range []string{"en", "es"} {
		a.become(plain)
		a.Eval("unslingRecord("+quote(lang)+")", &text)
		p := a.Page
		p.Open(host.URL() + "/")
		p.Eval(axeScript(t)+"\n;undefined", nil)
		var found []string
		p.Eval(`(async () => {
			for (const d of document.querySelectorAll("details")) d.open = true;
			const r = await axe.run(document);
			const out = r.violations.flatMap((v) => v.nodes.map((n) => v.id + ": " + n.target.join(" ")));
			if (r.passes.length < 8) out.push("only " + r.passes.length + " rules found anything to look at");
			if (document.documentElement.scrollWidth > innerWidth) out.push("it is " + document.documentElement.scrollWidth + " px wide");
			if (document.querySelectorAll("table").length < 2) out.push("hardly a table");
			if (getComputedStyle(document.querySelector("main")).maxWidth === "none") out.push("its style was not let in");
			return out;
		})()`, &found)
		for _, line := range found {
			t.Errorf("%s: %s", lang, line)
		}
		a.Open(stage.URL() + "/")
		a.set()
	}
}

package browsertest

import (
	"strings"
	"testing"
)

// faults are planted into a screen that is sound; each must be found by the audit named, or that audit sees nothing.
var faults = []struct{ audit, plant, want string }{
	{"rules", `main.insertAdjacentHTML("beforeend", "<button class=button id=f></button>")`, "button-name"},
	{"rules", `main.insertAdjacentHTML("beforeend", "<p class=faint id=f>words that can hardly be seen</p>")`, "color-contrast"},
	{"rules", `main.insertAdjacentHTML("beforeend", "<input type=text id=f>")`, "label"},
	{"rules", `main.insertAdjacentHTML("beforeend", "<div role=slider tabindex=0 id=f></div>")`, "aria-"},
	{"rules", `document.documentElement.removeAttribute("lang")`, "html-has-lang"},
	{"targets", `main.insertAdjacentHTML("beforeend", "<button class=small id=f>x</button>")`, "button#f"},
	{"reflow", `main.insertAdjacentHTML("beforeend", "<p class=broad id=f>x</p>")`, "the page is"},
	{"reflow", `main.insertAdjacentHTML("beforeend", "<button class=tight id=f>Incomprehensibilities</button>")`, "words stand out"},
	{"overlap", `main.insertAdjacentHTML("beforeend", "<p class=over id=f>words over words</p>")`, "lie over one another"},
	{"words", `main.insertAdjacentHTML("beforeend", "<p id=f>undefined</p>")`, "undefined"},
	{"words", `main.insertAdjacentHTML("beforeend", "<h2 class=tall id=f> </h2>")`, "has no words"},
	{"words", `document.getElementById("live").remove()`, "live region"},
	{"focusable", `main.insertAdjacentHTML("beforeend", "<button class=blind id=f>x</button>")`, "cannot be seen"},
	{"moves", `main.insertAdjacentHTML("beforeend", "<p class=moving id=f>x</p>")`, "moves"},
}

// faultySheet holds what the faults look like; the policy lets no style into the page otherwise.
const faultySheet = `
.faint { color: #888; background: #999; }
.small { width: 10px; height: 10px; min-height: 0; min-width: 0; padding: 0; }
.broad { width: 900px; }
.tight { width: 60px; white-space: nowrap; }
.over { position: absolute; top: 90px; left: 20px; }
.tall { min-height: 20px; }
.blind:focus { outline: none !important; }
@keyframes shift { to { translate: 9px; } }
.moving { animation: shift 1s infinite; }
`

// TestAuditsFindPlantedFaults shows that each audit can fail.
func TestAuditsFindPlantedFaults(t *testing.T) {
	stage := newStage(t)
	a := enterStage(t, Start(t, ""), stage)
	dress := func() {
		a.become(plain)
		a.Eval(`{ const s = new CSSStyleSheet(); s.replaceSync(`+quote(faultySheet)+`); document.adoptedStyleSheets = [s]; }`, nil)
	}
	dress()
	for _, f := range faults {
		if said := a.check("settings", f.audit); len(said) != 0 {
			t.Fatalf("before anything was planted, %s says: %v", f.audit, said)
		}
		var said []string
		a.Eval(`(async () => { const main = document.getElementById("main"); `+f.plant+`; const out = await audit.`+f.audit+`(); document.getElementById("f")?.remove(); return out; })()`, &said)
		found := false
		for _, line := range said {
			found = found || strings.Contains(line, f.want)
		}
		if !found {
			t.Errorf("%s did not find %s: %q", f.audit, f.plant, said)
		}
		if strings.Contains(f.plant, "document.") { // what was taken away does not come back by itself
			a.Reload()
			a.set()
			dress()
		}
	}
}

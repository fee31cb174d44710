package clinic

import (
	"net/http"
	"strings"
	"testing"

	"unsling/server/ledger"
)

// The page of administrators names what the check found, by id only; nobody
// else sees it.
func TestServerPage(t *testing.T) {
	p := newPractice(t)
	p.desk.Server = func() ServerState {
		return ServerState{
			Ready: true, Room: "plenty", Free: 3 << 30, Store: ledger.Health{Bytes: 5 << 20, Patients: 7}, App: "v-test", Started: monday, Verified: monday,
			Report: ledger.Report{Patients: 7, Lines: 900, Entries: 40, Faults: []ledger.Fault{{Patient: "p-damaged", Seq: 12, What: "the line does not match its hash"}},
				Aside: []ledger.Aside{{Patient: "p-copied", Forked: 2, Malformed: 1}}},
			HasBackup: true, Backup: monday, LeftOut: 1, Troubles: map[string]string{"disk": "cannot be asked"},
		}
	}
	w := p.as(fenn)
	a := w.get("/clinic/server")
	if a.StatusCode != http.StatusOK {
		t.Fatal(a.StatusCode, alerts(a))
	}
	text := a.page.words()
	for _, want := range []string{"p-damaged", "12", "does not match its hash", "p-copied", "3 lines came that did not fit", "3.0 GiB free", "5.0 MiB", "disk: cannot be asked", "Patients left out, unreadable 1"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page lacks %q: %s", want, text)
		}
	}
	p.as(vega).refused(p.as(vega).get("/clinic/server"), http.StatusForbidden, "your role may not do this")
	p.desk.Server = nil
	if a := w.get("/clinic/server"); a.StatusCode != http.StatusOK || !strings.Contains(a.page.words(), "Not yet since the start") {
		t.Errorf("before anything is known: %d", a.StatusCode)
	}
}

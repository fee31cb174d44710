package clinic

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
)

// Emergency access (45 CFR 164.312 (a)(2)(ii)): with a reason, for an hour,
// told to the team on its list and on the patient's page, to the administrator
// and in the patient's own report; it ends by itself, and opens nothing more
// than is needed.
func TestEmergencyAccess(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	o := p.as(orr)
	page := o.refused(o.get(x.base), http.StatusNotFound, "There is no such patient in your care.")
	if !strings.Contains(page.body, "/clinic/emergency") {
		t.Error("the way to emergency access is not shown")
	}
	open := func(w *person, set ...string) *answer {
		t.Helper()
		v := url.Values{"act": {"open"}, "reason": {"Rang on call: cannot feel the hand after a fall."}}
		for i := 0; i+1 < len(set); i += 2 {
			v.Set(set[i], set[i+1])
		}
		return w.post("/clinic/emergency", v)
	}
	o.refused(open(o, "number", "N-Ada Rowe", "reason", "urgent"), http.StatusUnprocessableEntity, "Say in a sentence why")
	o.refused(open(o), http.StatusNotFound, "Nobody is found by this.")
	o.refused(open(o, "name", "Ada Rowe"), http.StatusNotFound, "Nobody is found by this.")
	o.refused(open(o, "name", "Ada Rowe", "born", "1961-05-05"), http.StatusNotFound, "Nobody is found by this.")
	for _, who := range []rom.StaffID{marsh, fenn} {
		w := p.as(who)
		w.refused(open(w, "number", "N-Ada Rowe"), http.StatusForbidden, "your role may not do this")
		w.refused(w.get("/clinic/emergency"), http.StatusForbidden, "your role may not do this")
	}
	a := o.taken(open(o, "name", "ada rowe", "born", "1961-05-04"))
	if a.StatusCode != 200 || !strings.Contains(a.page.words(), "You see this patient by emergency access, until 11:00.") {
		t.Fatalf("%d %s", a.StatusCode, alerts(a))
	}
	// It shows, and lets stop; it changes nothing else.
	if a := o.get(x.base + "/plan"); a.StatusCode != 200 {
		t.Errorf("plan: %d", a.StatusCode)
	}
	if a := o.post(x.base+"/invite", url.Values{"kind": {"desk"}}); a.StatusCode != http.StatusForbidden && a.StatusCode != http.StatusNotFound {
		t.Errorf("an invitation by emergency access: %d", a.StatusCode)
	}
	if a := o.post(x.base+"/team", url.Values{"staff": {string(orr)}, "act": {"add"}}); a.StatusCode != http.StatusForbidden {
		t.Errorf("into the care team by emergency access: %d", a.StatusCode)
	}

	told := "Dr Per Orr opened"
	q := p.as(quill)
	for _, at := range []string{"/clinic/", x.base, x.base + "/team"} {
		if a := q.get(at); !strings.Contains(alerts(a), told) || !strings.Contains(alerts(a), "cannot feel the hand") {
			t.Errorf("the team is not told on %s: %s", at, alerts(a))
		}
	}
	if a := p.as(moss).get("/clinic/"); strings.Contains(alerts(a), told) {
		t.Error("somebody outside the team is told")
	}
	f := p.as(fenn)
	if a := f.get("/clinic/staff"); !strings.Contains(a.page.words(), "Dr Per Orr") || !strings.Contains(a.page.words(), "cannot feel the hand") || strings.Contains(a.body, "Ada Rowe") {
		t.Error("the administrator is not told, or is told the name")
	}
	report := q.get(x.base + "/access").page.words()
	if !strings.Contains(report, "Emergency access: Rang on call") || !strings.Contains(report, "Dr Per Orr") {
		t.Errorf("the patient's report: %s", report)
	}

	// It ends by itself, or by hand.
	p.now = p.now.Add(access.GlassLife)
	o = p.as(orr)
	o.refused(o.get(x.base), http.StatusNotFound, "There is no such patient in your care.")
	o.taken(open(o, "number", "n-ada rowe"))
	o.taken(o.post("/clinic/emergency", url.Values{"act": {"end"}, "patient": {string(x.id)}}))
	o.refused(o.get(x.base), http.StatusNotFound, "There is no such patient in your care.")
	o.refused(o.post("/clinic/emergency", url.Values{"act": {"end"}, "patient": {string(x.id)}}), http.StatusConflict, "ended already")
	p.now = p.now.Add(alarmOnList + time.Hour)
	if a := p.as(quill).get("/clinic/"); strings.Contains(alerts(a), told) {
		t.Error("the list still tells after a week")
	}

	// A search that finds nobody leaves a trace, and cannot be repeated at will.
	entries, err := p.store.Audit(1, 100_000)
	p.must(err)
	missed := 0
	for _, e := range entries {
		if e.Act == "glass.break" && e.Outcome == "nobody found" && e.Actor == string(orr) {
			missed++
		}
	}
	if missed != 3 {
		t.Errorf("%d searches in vain are in the audit log", missed)
	}
	o = p.as(orr)
	limited := false
	for range 12 {
		limited = limited || open(o, "number", "nobody").StatusCode == http.StatusTooManyRequests
	}
	if !limited {
		t.Error("twelve searches in vain are not limited")
	}
}

// Who, what, when and why, by filter and page, without anything that is known
// of a patient but pseudonym and number (45 CFR 164.312 (b)).
func TestAuditPage(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	q := p.as(quill)
	for range 120 {
		q.get(x.base)
	}
	f := p.as(fenn)
	rows := func(path string) (a *answer, out [][]string) {
		t.Helper()
		a = f.get(path)
		if a.StatusCode != 200 {
			t.Fatalf("%s: %d %s", path, a.StatusCode, alerts(a))
		}
		for _, tr := range a.page.all(func(k *node) bool { return k.name == "tr" }) {
			var cells []string
			for _, td := range tr.all(func(k *node) bool { return k.name == "td" }) {
				cells = append(cells, td.words())
			}
			if len(cells) > 0 {
				out = append(out, cells)
			}
		}
		return a, out
	}
	a, all := rows("/clinic/audit")
	if len(all) != auditRows || strings.Contains(a.body, "Ada Rowe</") || strings.Contains(a.body, "1961-05-04") {
		t.Errorf("%d rows, or data of a patient", len(all))
	}
	_, seen := rows("/clinic/audit?who=quill&act=patient")
	for _, r := range seen {
		if r[1] != "Ravi Quill" || r[2] != "opened the record" || !strings.Contains(r[3], "(N-Ada Rowe)") {
			t.Errorf("row %v", r)
		}
	}
	if len(seen) != auditRows {
		t.Errorf("%d rows by filter", len(seen))
	}
	older := ""
	for _, link := range f.get("/clinic/audit?who=quill&act=patient").page.all(func(k *node) bool { return k.name == "a" && k.words() == "Older" }) {
		older = link.attr["href"]
	}
	if _, rest := rows(older); len(rest) < 20 || len(rest) >= auditRows {
		t.Errorf("the next page has %d rows", len(rest))
	}
	if _, r := rows("/clinic/audit?patient=N-Ada+Rowe&act=session"); len(r) != 0 {
		t.Errorf("sign-ins of a patient: %v", r)
	}
	if _, r := rows("/clinic/audit?from=2026-03-03"); len(r) != 0 {
		t.Errorf("tomorrow: %v", r)
	}
	if _, r := rows("/clinic/audit?from=2026-03-02&to=2026-03-02&act=protocol"); len(r) != 1 || r[0][2] != "adopted a protocol" {
		t.Errorf("protocols: %v", r)
	}
	f.refused(f.get("/clinic/audit?patient=nobody"), http.StatusUnprocessableEntity, "No patient has this number")
	f.refused(f.get("/clinic/audit?from=yesterday"), http.StatusUnprocessableEntity, "is not a date")
	for _, who := range []rom.StaffID{vega, quill, marsh} {
		w := p.as(who)
		w.refused(w.get("/clinic/audit"), http.StatusForbidden, "your role may not do this")
		w.refused(w.get("/clinic/audit/heads"), http.StatusForbidden, "your role may not do this")
	}
	// A head that the server signed is on its page, with the way back.
	end, err := p.desk.auditEnd()
	p.must(err)
	last, err := p.store.Audit(end, 1)
	p.must(err)
	key := access.Keyring{ClinicMAC: []byte("x")}.AuditKey()
	p.desk.AuditKey = key.Public()
	text, err := access.SignHead(key, access.AuditHead{Clinic: "https://clinic.test", Seq: end, Hash: last[0].Hash, At: p.now})
	p.must(err)
	p.must(p.store.Note(ledger.Entry{At: p.now, Actor: "server", Act: access.HeadAct, Resource: text}))
	if a := f.get("/clinic/audit/heads"); !strings.Contains(a.body, text) || !strings.Contains(a.body, last[0].Hash) {
		t.Error("the signed head is not shown")
	}
}

// mustGlass is an emergency access of the surgeon outside the team.
func mustGlass(t *testing.T, p *practice, id rom.PatientID) ledger.Glass {
	t.Helper()
	return ledger.Glass{Patient: id, Staff: orr, Reason: "Rang on call: cannot feel the hand.", From: p.now, Until: p.now.Add(access.GlassLife)}
}

package clinic

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// hrefOf is the address of the link with these words.
func hrefOf(t *testing.T, a *answer, words string) string {
	t.Helper()
	for _, k := range a.page.named("a") {
		if strings.HasPrefix(k.words(), words) {
			return k.attr["href"]
		}
	}
	t.Fatalf("no link %q on this page: %s", words, a.page.words())
	return ""
}

func rowsOf(a *answer) (names []string) {
	for _, list := range sections(a) {
		names = append(names, list...)
	}
	slices.Sort(names)
	return names
}

// The filters narrow the list to what they say, and say beforehand how many
// they would leave.
func TestListFilters(t *testing.T) {
	p := newPractice(t)
	x, _ := pastLimit(t, p) // a surgeon's or therapist's finding, urgent
	quiet := p.running("Sid Silent")
	quiet.phone()
	planned := p.planned(t)
	p.now = p.now.Add(4 * 24 * time.Hour)
	p.must(touch(x))
	w := p.as(quill)
	all := w.get("/clinic/")
	if got := rowsOf(all); len(got) != 3 {
		t.Fatalf("%v", got)
	}
	for _, c := range []struct {
		query, chip string
		want        []string
	}{
		{"silent=1", "Silent 1", []string{"Sid Silent"}},
		{"overdue=1", "Overdue 1", []string{"Ada Rowe"}},
		{"finding=silent", "", []string{"Sid Silent"}},
		{"finding=limit-passed", "", []string{"Ada Rowe"}},
		{"phase=passive", "", []string{"Ada Rowe", "Sid Silent"}},
		{"phase=passive&silent=1", "", []string{"Sid Silent"}},
		{"procedure=" + string(rom.CuffRepair), "", []string{"Ada Rowe", "Cy Planned", "Sid Silent"}},
		{"procedure=" + string(rom.SLAPRepair), "", nil},
		{"find=silent", "", []string{"Sid Silent"}},
		{"find=SID+n-", "", []string{"Sid Silent"}},
		{"silent=1&overdue=1", "", nil},
	} {
		if got := rowsOf(w.get("/clinic/?" + c.query)); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.query, got, c.want)
		}
		if c.chip != "" && hrefOf(t, all, c.chip) != "/clinic/?"+c.query {
			t.Errorf("%s leads to %s", c.chip, hrefOf(t, all, c.chip))
		}
	}
	for _, s := range []string{"phase=passive", "finding=silent"} {
		field, value, _ := strings.Cut(s, "=")
		for _, o := range all.page.named("option") {
			if o.up.attr["name"] == field && o.attr["value"] == value {
				if n := len(rowsOf(w.get("/clinic/?" + s))); !strings.HasSuffix(o.words(), "("+string(rune('0'+n))+")") {
					t.Errorf("%q leaves %d", o.words(), n)
				}
			}
		}
	}
	// Mine is by role until somebody is named.
	owner := func(who rom.StaffID) bool {
		return slices.Contains(rowsOf(p.as(who).get("/clinic/?mine=1")), "Sid Silent")
	}
	if owner(vega) || owner(quill) || !owner(marsh) {
		t.Error("a silent patient is the assistant's")
	}
	form := url.Values{"episode": {string(quiet.episode().ID)}, "key": {"silent"}, "act": {"assign"}, "to": {string(vega)}}
	w.taken(w.post(quiet.base+"/finding", form))
	if !owner(vega) || owner(marsh) {
		t.Error("what was assigned is the person's")
	}
	_ = planned
}

// What is acknowledged from the list can be taken back there; both records
// stay, and the finding stands as before.
func TestUndo(t *testing.T) {
	p := newPractice(t)
	x, _ := pastLimit(t, p)
	w := p.as(quill)
	a := w.taken(w.post(x.base+"/finding", change(t, w.get("/clinic/"), "seen", "act", "seen")))
	if a.Request().URL.Path != "/clinic/" || slices.Contains(sections(a)["urgent"], "Ada Rowe") {
		t.Fatalf("after acknowledging on the list: %s %v", a.Request().URL.Path, sections(a))
	}
	undo := change(t, a, "author")
	bare := url.Values{"author": undo["author"], "n": undo["n"]} // as another person's form has it
	p.as(vega).refused(p.as(vega).post(x.base+"/undo", bare), http.StatusForbidden, "Only the person who did this can undo it.")
	back := w.taken(w.post(x.base+"/undo", undo))
	if !slices.Contains(sections(back)["urgent"], "Ada Rowe") || !back.page.says("status", "Taken back.") {
		t.Errorf("after undo: %v", sections(back))
	}
	h := x.history()
	if len(h.Tasks) != 0 || len(h.Voided) != 1 {
		t.Errorf("%d tasks stand, %d were taken back", len(h.Tasks), len(h.Voided))
	}
	undo.Del("once")
	w.refused(w.post(x.base+"/undo", undo), http.StatusConflict, "This was taken back already.")
	undo.Set("n", "999")
	w.refused(w.post(x.base+"/undo", undo), http.StatusNotFound, "There is no such act")
	// Later than a day it is a correction, with a reason.
	a = w.taken(w.post(x.base+"/finding", findingForm(t, w, x, "act", "seen")))
	late := change(t, a, "author")
	p.now = p.now.Add(25 * time.Hour)
	w = p.as(quill)
	w.refused(w.post(x.base+"/undo", late), http.StatusConflict, "more than a day ago")
	entries, err := p.store.Audit(1, 0)
	p.must(err)
	if !slices.ContainsFunc(entries, func(e ledger.Entry) bool { return e.Act == "record.void" && e.Actor == string(quill) }) {
		t.Error("the audit log does not know of the undo")
	}
}

// "New" is what was not on the list when the person last marked it, by what
// stood there and not by clocks.
func TestNewSinceLastLook(t *testing.T) {
	p := newPractice(t)
	x, ph := pastLimit(t, p)
	w := p.as(vega)
	isNew := func(who *person) []string { return rowsOf(who.get("/clinic/?new=1")) }
	if a := w.get("/clinic/"); strings.Contains(a.page.words(), "new Forward") || len(isNew(w)) != 0 {
		t.Error("before the first mark everything is new, which says nothing")
	}
	form := change(t, w.get("/clinic/"), "shown")
	w.get("/clinic/?find=ada") // a search shows a part and changes nothing
	w.taken(w.post("/clinic/looked", form))
	if got := isNew(w); len(got) != 0 {
		t.Errorf("new after the mark: %v", got)
	}
	// A report that a phone wrote days ago and sends now is new.
	hurt := p.running("Hal Hurt")
	other := hurt.phone()
	form = change(t, w.get("/clinic/"), "shown")
	other.write(p.now.AddDate(0, 0, -3), wire.KindSign, rom.Sign{Episode: hurt.episode().ID, Sign: rom.SignChest})
	other.exchange()
	w.taken(w.post("/clinic/looked", form)) // came after the list was shown
	if got := isNew(w); !slices.Equal(got, []string{"Hal Hurt"}) {
		t.Errorf("new: %v", got)
	}
	if again := w.post("/clinic/looked", url.Values{"shown": {"another"}}); again.StatusCode != http.StatusConflict {
		t.Errorf("a mark for a list that was not shown: %d", again.StatusCode)
	}
	// A finding that changes is new again.
	ph.write(p.now, wire.KindReading, own(x.episode(), rom.ForwardFlexion, 118))
	ph.exchange()
	if got := isNew(w); !slices.Equal(got, []string{"Ada Rowe", "Hal Hurt"}) {
		t.Errorf("new: %v", got)
	}
	if got := isNew(p.as(quill)); len(got) != 0 {
		t.Error("one person's mark is another's")
	}
}

// What stays overdue goes to the deputy and then to everybody, in clinic
// hours, and the list says so to all who see the patient.
func TestEscalation(t *testing.T) {
	p := newPractice(t)
	pastLimit(t, p)
	c := testClinic()
	c.Deputy = marsh
	p.must(p.store.SetClinic(c, p.trail("server")))
	words := func(who rom.StaffID) string { return p.as(who).get("/clinic/").page.words() }
	for _, at := range []struct {
		after time.Duration // monday is ten in the morning, the clinic closes at five
		want  string
		mine  bool // of the deputy
	}{
		{6 * time.Hour, "then Dagny Marsh", false},
		{22*time.Hour + time.Minute, "overdue Therapist", false},
		{26*time.Hour + 30*time.Minute, "overdue 4 clinic hours Therapist, was due today · now with the deputy, Dagny Marsh", true},
		{31*time.Hour - time.Minute, "overdue 8 clinic hours", true},
		{30*time.Hour + 30*time.Minute, "now with everybody of the care team", true},
	} {
		p.now = monday.Add(at.after)
		want := at.want
		if at.after == 26*time.Hour+30*time.Minute {
			want = "now with the deputy, Dagny Marsh"
		}
		for _, who := range []rom.StaffID{vega, quill, marsh} {
			if s := words(who); !strings.Contains(s, want) {
				t.Errorf("after %s %s does not see %q: %.900s", at.after, who, want, s)
			}
		}
		if got := slices.Contains(rowsOf(p.as(marsh).get("/clinic/?mine=1")), "Ada Rowe"); got != at.mine {
			t.Errorf("after %s: the deputy's own: %v", at.after, got)
		}
	}
	// Somebody answers: nobody is bothered any more.
	p.now = monday.Add(30 * time.Hour)
}

// The sheet for paper holds who needs somebody, with all their findings, and
// nobody else.
func TestMorningSheet(t *testing.T) {
	p := newPractice(t)
	pastLimit(t, p)
	calm := p.running("Cal Calm")
	calm.phone()
	w := p.as(vega)
	a := w.get(hrefOf(t, w.get("/clinic/?phase=passive"), "Morning sheet"))
	s := a.page.words()
	if !strings.Contains(s, "Ada Rowe") || strings.Contains(s, "Cal Calm") || !strings.Contains(s, "Monday") && !strings.Contains(s, "Mon 2 Mar 2026, 10:00") || !strings.Contains(s, "· passive") || !strings.Contains(s, "+353 20 900 0000") {
		t.Errorf("the sheet: %s", s)
	}
	if s := p.as(orr).get("/clinic/morning").page.words(); !strings.Contains(s, "Nobody on the list needs anybody") || strings.Contains(s, "Ada") {
		t.Errorf("a stranger's sheet: %s", s)
	}
	p.as(fenn).refused(p.as(fenn).get("/clinic/morning"), http.StatusForbidden, "Not possible")
}

// The clinic sets after how many of its hours a finding goes to the deputy.
func TestEscalationSetting(t *testing.T) {
	p := newPractice(t)
	w := p.as(vega)
	for _, wrong := range []string{"0", "81", "soon", ""} {
		form := change(t, w.get("/clinic/settings"), "name", "escalate_hours", wrong)
		w.refused(w.post("/clinic/settings", form), http.StatusUnprocessableEntity, "is not a number of clinic hours")
	}
	w.taken(w.post("/clinic/settings", change(t, w.get("/clinic/settings"), "name", "escalate_hours", "1")))
	c, err := p.store.Clinic()
	p.must(err)
	if escalateHours(c) != 1 {
		t.Errorf("%d hours", escalateHours(c))
	}
	if escalateHours(ledger.Clinic{}) != 4 {
		t.Error("without a setting it is four hours")
	}
}

// Judging ahead gives what a list would have judged itself, and a list takes
// it over until something changes.
func TestWarm(t *testing.T) {
	p := newPractice(t)
	x, ph := pastLimit(t, p)
	want := p.as(vega).get("/clinic/").page.words()
	p.desk.judged.Forget()
	p.must(p.desk.Warm(t.Context()))
	panel, err := p.store.Heads(vega)
	p.must(err)
	briefs, ok := p.desk.judged.Get(p.desk.source().AsOf(testClinic(), p.now), panel[slices.IndexFunc(panel, func(r ledger.PanelRow) bool { return r.Patient.ID == x.id })])
	if !ok || len(briefs) != 1 || len(briefs[0].Findings) == 0 {
		t.Fatalf("nothing was judged ahead: %+v", briefs)
	}
	if got := p.as(vega).get("/clinic/").page.words(); got != want {
		t.Errorf("the list differs:\n%s\n%s", got, want)
	}
	ph.write(p.now, wire.KindReading, own(x.episode(), rom.ForwardFlexion, 125))
	ph.exchange()
	if got := p.as(vega).get("/clinic/").page.words(); !strings.Contains(got, "125") {
		t.Error("the list shows what was judged before the record came")
	}
}

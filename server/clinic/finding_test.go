package clinic

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"unsling/engine/review"
	"unsling/engine/rom"
	"unsling/server/clinic/cases"
	"unsling/sync/wire"
)

// pastLimit is a patient whose own reading is clearly past the ceiling of
// flexion (90): 111 is three standard errors over it.
func pastLimit(t *testing.T, p *practice) (*patient, *phone) {
	t.Helper()
	x := p.running("Ada Rowe")
	ph := x.phone()
	ph.write(p.now, wire.KindReading, own(x.episode(), rom.ForwardFlexion, 111))
	ph.exchange()
	return x, ph
}

// findingForm is the form of the one finding about a limit that stands on the
// patient's page.
func findingForm(t *testing.T, w *person, x *patient, set ...string) url.Values {
	t.Helper()
	for _, f := range w.get(x.base).page.named("form") {
		if v := f.values(); strings.HasPrefix(v.Get("key"), "limit:") {
			for i := 0; i+1 < len(set); i += 2 {
				v.Set(set[i], set[i+1])
			}
			return v
		}
	}
	t.Fatal("no finding about a limit on the patient's page")
	return nil
}

func sections(a *answer) map[string][]string {
	out := map[string][]string{}
	for _, s := range a.page.named("section") {
		key := strings.TrimPrefix(s.attr["aria-labelledby"], "s-")
		for _, row := range s.all(func(k *node) bool { return k.attr["class"] == "row" }) {
			out[key] = append(out[key], row.named("a")[0].words())
		}
	}
	return out
}

// Who needs somebody stands first on the list, with the reason in one short
// sentence; answering quiets the finding until its facts change.
func TestFindingFromListToClosed(t *testing.T) {
	p := newPractice(t)
	x, ph := pastLimit(t, p)
	w := p.as(quill)
	list := w.get("/clinic/")
	if got := sections(list); !slices.Equal(got["urgent"], []string{"Ada Rowe"}) {
		t.Fatalf("the list: %v", got)
	}
	says := list.page.all(func(k *node) bool { return k.attr["class"] == "says" })
	if len(says) != 1 || says[0].words() != "Forward flexion 111°, probably past the limit of 90°, chance of a pass 92 %." {
		t.Errorf("the reason: %q", says[0].words())
	}
	if !strings.Contains(list.page.words(), "Therapist, due today, 17:00") {
		t.Error("the row does not say who, and by when")
	}
	page := w.get(x.base)
	for _, want := range []string{"Your arm went further than your plan allows.", "Have you chest pain", "What settles it", "rule limit"} {
		if !strings.Contains(page.page.words(), want) {
			t.Errorf("the patient's page lacks %q", want)
		}
	}
	// Called, nobody there; then talked; then closed with a word.
	w.taken(w.post(x.base+"/finding", findingForm(t, w, x, "act", "tried", "text", "No answer at ten")))
	if got := sections(w.get("/clinic/")); len(got["urgent"]) != 1 {
		t.Errorf("after a call that nobody answered: %v", got)
	}
	w.refused(w.post(x.base+"/finding", findingForm(t, w, x, "act", "done")), http.StatusUnprocessableEntity, "Please say in a few words what was done.")
	after := w.taken(w.post(x.base+"/finding", findingForm(t, w, x, "act", "done", "text", "Talked through, measured again within the limit")))
	if !after.page.says("status", "Noted.") || !strings.Contains(after.page.words(), "today: closed, Ravi Quill: Talked through, measured again within the limit") {
		t.Error("the page does not say what was done")
	}
	if got := sections(w.get("/clinic/")); len(got["urgent"]) != 0 || len(got["quiet"]) != 1 {
		t.Errorf("after closing: %v", got)
	}
	// The phone learns that its reading was seen, and by whom.
	seens := x.history().Seens
	if len(seens) != 1 || seens[0].Body.By != quill || seens[0].Body.What.Author != ph.author {
		t.Errorf("seen records: %+v", seens)
	}
	// Another reading past the limit speaks up again.
	p.now = p.now.Add(24 * time.Hour)
	ph.write(p.now, wire.KindReading, own(x.episode(), rom.ForwardFlexion, 115))
	ph.exchange()
	w = p.as(quill)
	if got := sections(w.get("/clinic/")); len(got["urgent"]) != 1 {
		t.Errorf("after another reading: %v", got)
	}
}

// An answer to what stood on the screen does not answer what came since.
func TestAnswerToOldFacts(t *testing.T) {
	p := newPractice(t)
	x, ph := pastLimit(t, p)
	w := p.as(quill)
	form := findingForm(t, w, x, "act", "done", "text", "talked")
	p.now = p.now.Add(time.Minute)
	ph.write(p.now, wire.KindReading, own(x.episode(), rom.ForwardFlexion, 120))
	ph.exchange()
	w.taken(w.post(x.base+"/finding", form))
	if got := sections(w.get("/clinic/")); len(got["urgent"]) != 1 {
		t.Errorf("a newer reading was answered unseen: %v", got)
	}
}

func TestFindingRefused(t *testing.T) {
	p := newPractice(t)
	x, _ := pastLimit(t, p)
	w := p.as(quill)
	for _, c := range []struct {
		who    rom.StaffID
		set    []string
		status int
		says   string
	}{
		{quill, []string{"act", "snooze"}, 422, "Please give a date within the next 60 days."},
		{quill, []string{"act", "snooze", "until", "2026-03-02"}, 422, "Please give a date within the next 60 days."},
		{quill, []string{"act", "snooze", "until", "2027-03-02"}, 422, "Please give a date within the next 60 days."},
		{quill, []string{"act", "snooze", "until", "Friday"}, 422, `The date: "Friday" is not a date.`},
		{quill, []string{"act", "assign", "to", "orr"}, 422, "Please choose somebody of the care team."},
		{quill, []string{"act", "assign", "to", ""}, 422, "Please choose somebody of the care team."},
		{quill, []string{"act", "assign", "to", "vega", "until", "2026-01-01"}, 422, "The date lies in the past."},
		{quill, []string{"act", "comment", "text", ""}, 422, "Please say in a few words what was done."},
		{quill, []string{"act", "forget"}, 422, "Please choose what was done about this."},
		{quill, []string{"act", "seen", "text", strings.Repeat("x", 1001)}, 422, "Please say it in 1000 letters."},
		{marsh, []string{"act", "done", "text", "fine"}, 403, "your role may not do this"},
		{marsh, []string{"act", "snooze", "until", "2026-03-05"}, 403, "your role may not do this"},
		{quill, []string{"key", "limit:XX"}, 404, "This finding does not stand any more"},
	} {
		form := findingForm(t, w, x, c.set...)
		if !slices.Contains(c.set, "text") {
			form.Set("text", "what I had typed")
			if slices.Contains(c.set, "comment") {
				form.Set("text", "")
			}
		}
		who := p.as(c.who)
		form.Del("once") // the form was the page's of w
		a := who.refused(who.post(x.base+"/finding", form), c.status, c.says)
		if c.status != 404 {
			if back := a.page.form(t, "text").values(); back.Get("text") != form.Get("text") || back.Get("until") != form.Get("until") {
				t.Errorf("%q: typed text came back as %q, %q", c.set, back.Get("text"), back.Get("until"))
			}
		}
	}
	if n := len(x.history().Tasks); n != 0 {
		t.Errorf("%d acts were written", n)
	}
}

// Kept quiet until a date, given to somebody, opened again.
func TestSnoozeAssignReopen(t *testing.T) {
	p := newPractice(t)
	x, _ := pastLimit(t, p)
	w := p.as(vega)
	w.taken(w.post(x.base+"/finding", findingForm(t, w, x, "act", "assign", "to", "vega", "until", "2026-03-04", "text", "I call myself")))
	if words := w.get("/clinic/").page.words(); !strings.Contains(words, "Dr Ines Vega, due today") {
		t.Error("the list does not name who has it")
	}
	w.taken(w.post(x.base+"/finding", findingForm(t, w, x, "act", "snooze", "until", "2026-03-04")))
	if got := sections(w.get("/clinic/")); len(got["urgent"]) != 0 {
		t.Errorf("snoozed: %v", got)
	}
	w.taken(w.post(x.base+"/finding", findingForm(t, w, x, "act", "reopen", "text", "second thoughts")))
	if got := sections(w.get("/clinic/")); len(got["urgent"]) != 1 {
		t.Errorf("opened again: %v", got)
	}
	w.taken(w.post(x.base+"/finding", findingForm(t, w, x, "act", "snooze", "until", "2026-03-04")))
	p.now = p.now.Add(48 * time.Hour)
	w = p.as(vega)
	if got := sections(w.get("/clinic/")); len(got["urgent"]) != 1 {
		t.Errorf("when the date has come: %v", got)
	}
}

// Findings that only a surgeon closes are not closed by a therapist, and what
// is about reaching somebody may be closed by the assistant.
func TestWhoCloses(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	ph := x.phone()
	ph.write(p.now, wire.KindSign, rom.Sign{Episode: x.episode().ID, Sign: rom.SignFall})
	ph.exchange()
	act := func(who rom.StaffID, class review.Class) *answer {
		w := p.as(who)
		w.get("/clinic/") // judge
		facts, err := p.store.Facts(x.id)
		p.must(err)
		h, _ := testHistory(facts.Data)
		for _, f := range review.Findings(h, x.episode().ID, p.today(), review.Inputs{Hours: cases.Hours(testClinic()), Minute: 600, Phones: []review.Phone{{Author: ph.author, Since: p.today().Add(-20), Contact: rom.DateOf(monday), Following: ph.rev}}}) {
			if f.Class == class {
				return w.post(x.base+"/finding", url.Values{"episode": {string(x.episode().ID)}, "key": {f.Key}, "state": {f.Fingerprint}, "act": {"done"}, "text": {"settled"}})
			}
		}
		t.Fatalf("no finding %s", class)
		return nil
	}
	if a := act(quill, review.Fall); a.StatusCode != http.StatusForbidden || !strings.Contains(alerts(a), "this finding is closed by the surgeon") {
		t.Errorf("a therapist closes a fall: %d %s", a.StatusCode, alerts(a))
	}
	if a := act(vega, review.Fall); a.StatusCode != http.StatusSeeOther {
		t.Errorf("the surgeon: %d %s", a.StatusCode, alerts(a))
	}
	p.now = p.now.Add(10 * 24 * time.Hour)
	if a := act(marsh, review.Silent); a.StatusCode != http.StatusSeeOther {
		t.Errorf("the assistant and silence: %d %s", a.StatusCode, alerts(a))
	}
}

// "Received" never looks like "read": only a person's own act writes a seen
// record, and the page says who read it and when.
func TestReadByWhom(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	ph := x.phone()
	e := x.episode().ID
	ph.write(p.now, wire.KindQuestion, rom.Question{Episode: e, Text: "May I shower?"})
	ph.write(p.now, wire.KindSign, rom.Sign{Episode: e, Sign: rom.SignHand, Text: "Fingers are thick"})
	ph.exchange()
	w := p.as(marsh)
	w.get("/clinic/")
	a := w.get(x.base)
	if len(x.history().Seens) != 0 {
		t.Error("looking at the page says read")
	}
	if got := strings.Count(a.page.words(), "Not read yet"); got != 2 {
		t.Errorf("%d messages are said to be unread", got)
	}
	a = w.taken(w.post(x.base+"/entry/read", a.page.form(t, "").values()))
	seens := x.history().Seens
	if len(seens) != 2 || seens[0].Body.By != marsh {
		t.Errorf("seen: %+v", seens)
	}
	if got := strings.Count(a.page.words(), "Read by Dagny Marsh, 2 Mar 10:00"); got != 2 {
		t.Errorf("%d messages are said to be read", got)
	}
	// Once is enough.
	w.taken(w.post(x.base+"/entry/read", url.Values{"episode": {string(e)}}))
	if n := len(x.history().Seens); n != 2 {
		t.Errorf("%d seen records", n)
	}
	// The answer names the question.
	q := x.history().Questions[0].Ref
	w = p.as(quill)
	a = w.get(x.base + "/entry/note?author=" + string(q.Author) + "&n=1&episode=" + string(e))
	_ = a
	form := url.Values{"episode": {string(e)}, "author": {string(q.Author)}, "n": {"3"}, "text": {"Yes, with the arm hanging."}}
	w.taken(w.post(x.base+"/entry/note", form))
	if n := x.history().Notes; len(n) != 1 || n[0].Body.Answers != (rom.Ref{Author: q.Author, N: 3}) || n[0].Body.By != quill {
		t.Errorf("notes: %+v", n)
	}
}

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

// recordAddress is the page of the newest record of a kind.
func recordAddress(t *testing.T, w *person, x *patient, kind wire.Kind) string {
	t.Helper()
	a := w.get(x.base + "/records?kind=" + string(kind))
	for _, k := range a.page.named("a") {
		if strings.Contains(k.attr["href"], "/record?") {
			return k.attr["href"]
		}
	}
	t.Fatalf("no record of kind %s", kind)
	return ""
}

// A clinic reading is corrected by a record of its own: everything counts the
// new value, and the old one stays readable.
func TestCorrectReading(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	w := p.as(quill)
	w.taken(w.post(x.base+"/entry/reading", change(t, w.get(x.base+"/entry/reading"), "method", "FF-right", "29")))
	at := recordAddress(t, w, x, wire.KindReading)
	form := change(t, w.get(at), "value", "act", "amend", "value", "92", "feel", "firm", "pain", "2", "on", p.today().Add(-1).String())
	w.refused(w.post(x.base+"/record", form), http.StatusUnprocessableEntity, "Please say why.")
	form.Set("reason", "turned digits")
	form.Set("value", "300")
	w.refused(w.post(x.base+"/record", form), http.StatusUnprocessableEntity, "is not an angle from")
	form.Set("value", "92")
	a := w.taken(w.post(x.base+"/record", form))
	if s := a.page.words(); !strings.Contains(s, "92") || !strings.Contains(s, "before: Reading, right arm, Flexion: 29°") || !strings.Contains(s, "turned digits (Ravi Quill)") {
		t.Errorf("the record: %s", s)
	}
	h := x.history()
	r := h.Readings[0].Body
	if len(h.Readings) != 1 || r.Angle != rom.Deg(92) || r.EndFeel != rom.FirmFeel || *r.Pain != 2 || r.On != p.today().Add(-1) || r.By != quill {
		t.Errorf("reads as %+v", r)
	}
	if s := w.get(x.base + "/records").page.words(); !strings.Contains(s, "corrected, before:") || !strings.Contains(s, "Corrects record") {
		t.Errorf("every record: %s", s)
	}
	again := change(t, w.get(at), "value", "act", "amend", "reason", "again")
	w.refused(w.post(x.base+"/record", again), http.StatusUnprocessableEntity, "Nothing is different")

	// Taken back, it holds for ever.
	w.taken(w.post(x.base+"/record", change(t, w.get(at), "void", "act", "void", "reason", "another patient")))
	if h := x.history(); len(h.Readings) != 0 || len(h.Voided) != 1 {
		t.Errorf("%d readings, %d taken back", len(h.Readings), len(h.Voided))
	}
	if s := w.get(at).page.words(); !strings.Contains(s, "Taken back:") || !strings.Contains(s, "That holds for ever.") {
		t.Errorf("the record: %s", s)
	}
	form = url.Values{"author": again["author"], "n": again["n"], "act": {"void"}, "reason": {"x"}}
	w.refused(w.post(x.base+"/record", form), http.StatusConflict, "cannot be taken back")
}

// Who may correct what: a clinician of the team; not an assistant; and no one
// removes what the patient reported or what is a chain of its own.
func TestCorrectionsRefused(t *testing.T) {
	p := newPractice(t)
	x, ph := pastLimit(t, p)
	e := x.episode()
	wrong := rom.Session{Episode: e.ID, ID: "s1", Due: p.today(), Slot: 1, Phase: "passive", Ended: rom.StoppedByMe, Stop: rom.StopWrong,
		Items: []rom.SessionItem{{Exercise: rom.TableSlideFlexion, Motion: rom.ForwardFlexion, Dose: rom.Dose{Hold: 20, Reps: 5, PerDay: 3}}}}
	ph.write(p.now, wire.KindSession, wrong)
	ph.write(p.now, wire.KindSign, rom.Sign{Episode: e.ID, Sign: rom.SignPop})
	ph.exchange()
	w := p.as(quill)
	for kind, why := range map[wire.Kind]string{
		wire.KindSession: "something was wrong", wire.KindSign: "is answered, not removed", wire.KindPlan: "by the next one of its kind",
		wire.KindEpisode: "by the next one of its kind", wire.KindAdopted: "a trace of what happened",
	} {
		at := recordAddress(t, w, x, kind)
		a := w.get(at)
		if !strings.Contains(a.page.words(), why) {
			t.Errorf("%s does not say %q: %s", kind, why, a.page.words())
		}
		q, _ := url.ParseQuery(at[strings.Index(at, "?")+1:])
		q.Set("act", "void")
		q.Set("reason", "away with it")
		w.refused(w.post(x.base+"/record", q), http.StatusConflict, "cannot be taken back")
	}
	at := recordAddress(t, w, x, wire.KindReading)
	q, _ := url.ParseQuery(at[strings.Index(at, "?")+1:])
	q.Set("act", "void")
	q.Set("reason", "away with it")
	m := p.as(marsh)
	if s := m.get(at).page.words(); !strings.Contains(s, "Only a clinician") {
		t.Errorf("an assistant's page: %s", s)
	}
	m.refused(m.post(x.base+"/record", q), http.StatusForbidden, "your role may not do this")
	// A patient's reading that was a mistake is taken back by a clinician, and
	// the finding goes with it.
	w.taken(w.post(x.base+"/record", q))
	if strings.Contains(w.get(x.base).page.words(), "the limit of 90°, chance") {
		t.Error("the finding stands on a reading that was taken back")
	}
	q.Set("n", "77")
	w.refused(w.post(x.base+"/record", q), http.StatusNotFound, "There is no such record of this patient.")
}

// What a phone sent after it was taken out of service waits until somebody
// lets it in.
func TestSealedLines(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe")
	ph := x.phone()
	p.must(p.store.RevokeAuthor(ph.author, p.trail(marsh)))
	ph.write(p.now, wire.KindReading, own(x.episode(), rom.ForwardFlexion, 71))
	_, err := p.store.Exchange(ledger.ExchangeRequest{Author: ph.author, At: p.now, Trail: p.trail("phone"), MaxLines: 500, MaxBytes: 1 << 20,
		Request: wire.Request{Header: wire.Header{Proto: 1, App: "test", Author: ph.author, From: int64(ph.sent) + 1, Since: ph.since, Epoch: ph.epoch}, Lines: ph.lines[ph.sent:]}})
	p.must(err)
	w := p.as(quill)
	if len(x.history().Readings) != 0 {
		t.Fatal("a sealed line counts")
	}
	page := w.get(x.base + "/held")
	if s := page.page.words(); !strings.Contains(s, "From a phone out of service") || !strings.Contains(s, "Flexion: 71°") {
		t.Errorf("kept aside: %s", s)
	}
	if s := w.get(x.base).page.words(); !strings.Contains(s, "1 line is kept aside") {
		t.Error("the patient's page does not say that something is kept aside")
	}
	author := url.Values{"author": {string(ph.author)}, "act": {"release"}}
	w.refused(w.post(x.base+"/phone", author), http.StatusUnprocessableEntity, "Please choose what to do with this phone.")
	if n := len(x.history().Readings); n != 0 {
		t.Fatalf("%d readings were let in and nobody said who wrote them", n)
	}
	if s := w.get(x.base + "/phones").body; strings.Contains(s, "release") || !strings.Contains(s, x.base+"/held") {
		t.Error("the page of phones does not lead to where sealed lines are let in")
	}
	form := change(t, page, "sure")
	form.Del("sure")
	w.refused(w.post(x.base+"/held", form), http.StatusUnprocessableEntity, "Please tick that it was the patient")
	form.Set("sure", "yes")
	m := p.as(marsh)
	bare := url.Values{"author": form["author"], "sure": {"yes"}}
	m.refused(m.post(x.base+"/held", bare), http.StatusForbidden, "your role may not do this")
	w.taken(w.post(x.base+"/held", form))
	if n := len(x.history().Readings); n != 1 {
		t.Errorf("%d readings after they were let in", n)
	}
	w.refused(w.post(x.base+"/held", bare), http.StatusConflict, "Nothing of this phone is kept aside any more.")
	other := p.running("Bea Other").phone()
	w.refused(w.post(x.base+"/held", url.Values{"author": {string(other.author)}, "sure": {"yes"}}), http.StatusNotFound, "does not belong to this patient")
}

// A form of one patient sent to another changes nothing.
func TestWrongPatientsForm(t *testing.T) {
	p := newPractice(t)
	x, y := p.running("Ada Rowe"), p.running("Bea Other")
	w := p.as(quill)
	form := change(t, w.get(x.base+"/entry/reading"), "method", "FF-right", "92")
	form.Set("episode", string(y.episode().ID))
	w.refused(w.post(y.base+"/entry/reading", form), http.StatusConflict, "This form is about another patient.")
	if len(y.history().Readings) != 0 {
		t.Error("a reading of another patient was entered")
	}
	if s := w.get(x.base + "/entry/reading").page.words(); !strings.Contains(s, "Ada Rowe RIGHT") {
		t.Error("the form does not say whom it is about")
	}
}

// On the first day nothing was missed yet, and the days before the phone was
// enrolled are not held against anybody.
func TestFirstDayIsNoMissedOne(t *testing.T) {
	p := newPractice(t)
	x := p.running("Ada Rowe") // operated 30 days ago, enrolled today
	if s := p.as(vega).get(x.base).page.words(); !strings.Contains(s, "too early to say nothing is known of these days yet") {
		t.Errorf("without a phone: %s", s[strings.Index(s, "Done of what was asked"):][:120])
	}
	ph := x.phone()
	if s := p.as(vega).get(x.base).page.words(); !strings.Contains(s, "too early to say no full day yet, today 0 of") {
		t.Errorf("on the first day: %s", s[strings.Index(s, "Done of what was asked"):][:120])
	}
	p.now = p.now.AddDate(0, 0, 2)
	ph.exchange()
	if s := p.as(vega).get(x.base).page.words(); !strings.Contains(s, "0 % of 2 known days") {
		t.Errorf("after two days of nothing: %s", s[strings.Index(s, "Done of what was asked"):][:120])
	}
}

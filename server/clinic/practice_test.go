package clinic

import (
	"bytes"
	"context"
	crand "crypto/rand"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/server/ledger/badgerstore"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// The people of the tests' practice. All are invented.
const (
	vega  rom.StaffID = "vega"  // surgeon, in every care team
	orr   rom.StaffID = "orr"   // surgeon outside the care team
	quill rom.StaffID = "quill" // therapist, in every care team
	moss  rom.StaffID = "moss"  // therapist outside the care team
	marsh rom.StaffID = "marsh" // assistant, in every care team
	fenn  rom.StaffID = "fenn"  // administrator
	gone  rom.StaffID = "gone"  // left the clinic
)

const password = "a short sentence is good"

// hashOnce makes the one slow hash that everybody in the tests has.
var hashOnce = sync.OnceValues(func() (string, error) {
	p, err := access.NewPasswords(crand.Reader)
	if err != nil {
		return "", err
	}
	return p.Hash(context.Background(), password, crand.Reader)
})

// practice is a desk over a store in memory with a clock that stands still.
type practice struct {
	t     testing.TB
	store *badgerstore.Store
	desk  *Desk
	http  http.Handler
	now   time.Time
	log   *bytes.Buffer
	ids   int
}

// Monday is a working day, ten in the morning in Dublin, without summer time.
var monday = time.Date(2026, 3, 2, 10, 0, 0, 0, time.UTC)

var testFold = ledger.Fold{Version: replica.FoldVersion, Add: func(facts []byte, lines []ledger.Line) ([]byte, error) {
	facts = bytes.Clone(facts)
	for _, l := range lines {
		facts = append(append(facts, l.Bytes...), '\n')
	}
	return facts, nil
}}

func testHistory(facts []byte) (rom.History, error) {
	var f replica.Folder
	for line := range bytes.SplitSeq(facts, []byte("\n")) {
		if len(line) > 0 {
			f.Add(line)
		}
	}
	return f.History(), nil
}

func testClinic() ledger.Clinic {
	c := ledger.Clinic{Name: "Quay Shoulder Practice (invented)", Phone: "+353 20 911 0000", AfterHours: "+353 20 911 0099", Zone: "Europe/Dublin",
		Deputy: quill, Demo: true, Settings: map[string]string{"emergency": "112"}}
	for d := time.Monday; d <= time.Friday; d++ {
		c.Hours = append(c.Hours, ledger.Hours{Day: d, From: 8 * 60, To: 17 * 60})
	}
	return c
}

func newPractice(t testing.TB) *practice {
	t.Helper()
	p := &practice{t: t, now: monday, log: &bytes.Buffer{}}
	var err error
	p.store, err = badgerstore.OpenMemory(badgerstore.Options{
		Content: bytes.Repeat([]byte{1}, 32), ClinicMAC: bytes.Repeat([]byte{2}, 32), Fold: testFold, Chance: crand.Reader, Run: "test", Started: monday,
	})
	p.must(err)
	t.Cleanup(func() { p.store.Close() })
	keys, err := access.NewKeySet(crand.Reader, monday.Add(-time.Hour))
	p.must(err)
	words, err := access.NewPasswords(crand.Reader)
	p.must(err)
	p.desk = &Desk{
		Store: p.store, Tokens: &access.Tokens{Issuer: "https://clinic.test", Keys: keys}, Passwords: words, Gate: access.NewGate(),
		Codes: bytes.Repeat([]byte{3}, 32), Secrets: bytes.Repeat([]byte{4}, 32), PublicURL: "https://clinic.test", History: testHistory, Now: func() time.Time { return p.now },
		Chance: crand.Reader, Log: slog.New(slog.NewTextHandler(p.log, nil)),
	}
	p.http = p.desk.Handler()
	p.must(p.store.SetClinic(testClinic(), p.trail("server")))
	hash, err := hashOnce()
	p.must(err)
	for _, s := range []ledger.Staff{
		{ID: vega, Name: "Dr Ines Vega", Role: ledger.Surgeon}, {ID: orr, Name: "Dr Per Orr", Role: ledger.Surgeon},
		{ID: quill, Name: "Ravi Quill", Role: ledger.Therapist}, {ID: moss, Name: "Tova Moss", Role: ledger.Therapist},
		{ID: marsh, Name: "Dagny Marsh", Role: ledger.Assistant}, {ID: fenn, Name: "Otto Fenn", Role: ledger.Administrator},
		{ID: gone, Name: "Lev Gone", Role: ledger.Therapist, Disabled: true},
	} {
		s.Login, s.Password, s.Added = string(s.ID), hash, monday
		p.must(p.store.AddStaff(s, p.trail("server")))
	}
	return p
}

func (p *practice) must(err error) {
	p.t.Helper()
	if err != nil {
		p.t.Fatal(err)
	}
}

func (p *practice) trail(actor rom.StaffID) ledger.Trail {
	return ledger.Trail{At: p.now, Actor: string(actor)}
}

func (p *practice) id(prefix string) string {
	p.ids++
	return fmt.Sprint(prefix, p.ids)
}

func (p *practice) today() rom.Date { return rom.DateOf(p.now) }

// person is somebody at a browser.
type person struct {
	p      *practice
	cookie string
	bound  string // ties a passkey's challenge to the browser
	addr   string // "" for the usual one
}

// as signs somebody in past the slow hash of the password.
func (p *practice) as(id rom.StaffID) *person {
	p.t.Helper()
	row, err := p.store.Staff(id)
	p.must(err)
	session := ledger.Session{ID: p.id("session"), Staff: id, Started: p.now, Until: p.now.Add(access.SessionLife)}
	p.must(p.store.StartSession(session, p.trail(id)))
	token, err := p.desk.Tokens.IssueStaff(access.StaffToken{Staff: string(id), Session: session.ID, Started: p.now, Scopes: access.ScopesFor(row.Role)}, p.id("jti"), p.now)
	p.must(err)
	return &person{p: p, cookie: token}
}

// answer is what came back.
type answer struct {
	*http.Response
	body string
	page *node
	of   *http.Request
}

// Request is what was asked.
func (a *answer) Request() *http.Request { return a.of }

func (w *person) send(r *http.Request) *answer {
	w.p.t.Helper()
	if w.cookie != "" {
		r.AddCookie(&http.Cookie{Name: w.p.desk.Cookies.Name(), Value: w.cookie})
	}
	if w.addr != "" {
		r.RemoteAddr = w.addr
	}
	if w.bound != "" {
		r.AddCookie(&http.Cookie{Name: "__Host-ask", Value: w.bound})
	}
	rec := httptest.NewRecorder()
	w.p.http.ServeHTTP(rec, r)
	res := rec.Result()
	for _, c := range res.Cookies() {
		if c.Name == w.p.desk.Cookies.Name() {
			if w.cookie = c.Value; c.MaxAge < 0 {
				w.cookie = ""
			}
		}
	}
	a := &answer{Response: res, body: rec.Body.String(), of: r}
	if strings.HasPrefix(res.Header.Get("Content-Type"), "text/html") {
		a.page = parsePage(w.p.t, a.body)
	}
	return a
}

func (w *person) get(path string) *answer {
	w.p.t.Helper()
	return w.send(httptest.NewRequest("GET", "https://clinic.test"+path, nil))
}

func (w *person) post(path string, form url.Values) *answer {
	w.p.t.Helper()
	r := httptest.NewRequest("POST", "https://clinic.test"+path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return w.send(r)
}

// taken asserts that a form was taken and returns the page it led to.
func (w *person) taken(a *answer) *answer {
	w.p.t.Helper()
	if a.StatusCode != http.StatusSeeOther {
		w.p.t.Fatalf("the form was not taken: %d %s", a.StatusCode, alerts(a))
	}
	return w.get(a.Header.Get("Location"))
}

// refused asserts the status and the one sentence of a refusal.
func (w *person) refused(a *answer, status int, sentence string) *answer {
	w.p.t.Helper()
	if a.StatusCode != status || a.page == nil || !a.page.says("alert", sentence) {
		w.p.t.Fatalf("want %d with %q, got %d: %s", status, sentence, a.StatusCode, alerts(a))
	}
	return a
}

func alerts(a *answer) string {
	if a.page == nil {
		return a.body
	}
	s := ""
	for _, k := range a.page.all(func(k *node) bool { return k.attr["role"] == "alert" }) {
		s += k.words() + " | "
	}
	return s
}

// change is a form of a page as the browser would send it, with some fields
// set; a button is given as "act", "save".
func change(t testing.TB, a *answer, form string, set ...string) url.Values {
	t.Helper()
	v := a.page.form(t, form).values()
	for i := 0; i+1 < len(set); i += 2 {
		v.Set(set[i], set[i+1])
	}
	return v
}

// adopt makes the protocols of the procedures the clinic's own, over the page.
func (p *practice) adopt(procedures ...rom.Procedure) {
	p.t.Helper()
	for _, x := range procedures {
		id := protocol.For(x)[0].ID
		w := p.as(vega)
		w.taken(w.post("/clinic/protocols/"+id, url.Values{"reviewed": {"yes"}, "note": {"invented"}}))
	}
}

// patient is somebody enrolled in the tests.
type patient struct {
	p    *practice
	id   rom.PatientID
	base string
}

func enrolForm1(name string) url.Values {
	return url.Values{"name": {name}, "born": {"1961-05-04"}, "number": {"N-" + string([]rune(name)[:min(40, len([]rune(name)))])}, "phone": {"+353 20 900 0000"}, "lang": {"en"}, "zone": {"Europe/Dublin"},
		"side": {"right"}, "surgery": {"2026-03-01"}, "main": {string(rom.CuffRepair)}, "therapy": {"1", "3", "5"}, "surgeon": {string(vega)}, "therapist": {string(quill)}}
}

// enrol enrols over the page, as the assistant.
func (p *practice) enrol(form url.Values) *patient {
	p.t.Helper()
	w := p.as(marsh)
	a := w.post("/clinic/enrol", form)
	if a.StatusCode != http.StatusSeeOther {
		p.t.Fatalf("not enrolled: %d %s", a.StatusCode, alerts(a))
	}
	path := strings.Split(strings.TrimPrefix(a.Header.Get("Location"), "/clinic/patients/"), "/")
	return &patient{p, rom.PatientID(path[0]), "/clinic/patients/" + path[0]}
}

func (x *patient) history() rom.History {
	x.p.t.Helper()
	facts, err := x.p.store.Facts(x.id)
	x.p.must(err)
	h, _ := testHistory(facts.Data)
	return h
}

func (x *patient) episode() rom.Episode {
	x.p.t.Helper()
	h := x.history()
	e, ok := h.Episode(h.EpisodeIDs()[0])
	if !ok {
		x.p.t.Fatal("no episode")
	}
	return e
}

func (x *patient) plan() rom.Plan {
	x.p.t.Helper()
	plan, ok := x.history().Plan(x.episode().ID)
	if !ok {
		x.p.t.Fatal("no plan")
	}
	return plan
}

// operated confirms the operation by the surgeon and the side by the
// assistant, over the pages.
func (x *patient) operated() *patient {
	x.p.t.Helper()
	w := x.p.as(vega)
	e := x.episode()
	w.taken(w.post(x.base+"/episode", change(x.p.t, w.get(x.base+"/episode"), "confirm", "act", "confirm", "side", string(e.Side), "surgery", e.Surgery.String(), "block_hours", "24")))
	w = x.p.as(marsh)
	w.taken(w.post(x.base+"/episode", change(x.p.t, w.get(x.base+"/episode"), "side", "act", "side", "side", string(e.Side))))
	return x
}

// running is a patient in the passive phase of a cuff repair: operated 30
// days ago, cleared.
func (p *practice) running(name string) *patient {
	p.t.Helper()
	if rows, err := p.store.Adoptions(); err != nil || len(rows) == 0 {
		p.adopt(rom.CuffRepair)
	}
	form := enrolForm1(name)
	form.Set("surgery", p.today().Add(-30).String())
	form.Set("again", oneLine(name+" "+form.Get("number")))
	x := p.enrol(form).operated()
	w := p.as(vega)
	w.taken(w.post(x.base+"/clearance", url.Values{"episode": {string(x.episode().ID)}, "phase": {"passive"}, "act": {"clear"}}))
	return x
}

// phone is an installation that writes a chain of its own.
type phone struct {
	x      *patient
	author rom.Author
	lines  [][]byte
	sent   int
	since  wire.Cursor
	epoch  string
	rev    int
}

func (x *patient) phone() *phone {
	x.p.t.Helper()
	ph := &phone{x: x, author: rom.Author(x.p.id("a"))}
	secret := x.p.id("secret")
	x.p.must(x.p.store.Invite(ledger.Invitation{ID: x.p.id("i"), Patient: x.id, Kind: ledger.AtDesk, Secrets: []string{secret}, Made: x.p.now, Until: x.p.now.Add(time.Minute)}, x.p.trail(marsh)))
	_, err := x.p.store.Enrol(ledger.Enrolment{Secret: secret, Author: ph.author, Key: []byte(`{"kty":"EC"}`), Thumbprint: "t" + string(ph.author), Name: "phone", Check: "47", At: x.p.now}, x.p.trail("phone"))
	x.p.must(err)
	ph.exchange()
	return ph
}

// write keeps a record on the phone.
func (ph *phone) write(at time.Time, kind wire.Kind, body any) rom.Ref {
	t := ph.x.p.t
	t.Helper()
	raw, v, err := wire.EncodeBody(kind, body)
	if err != nil {
		t.Fatal(err)
	}
	n := int64(len(ph.lines)) + 1
	prev := wire.NoPrev
	if n > 1 {
		prev = wire.HashOf(ph.lines[n-2])
	}
	line, err := wire.Encode(wire.Record{Author: ph.author, N: n, Prev: prev, Salt: wire.Salt([16]byte{byte(n)}), Kind: kind, V: v, Run: "r", Mono: n, At: at, TZ: "Europe/Dublin", Rev: ph.rev, Body: raw})
	if err != nil {
		t.Fatal(err)
	}
	ph.lines = append(ph.lines, line)
	return rom.Ref{Author: ph.author, N: n}
}

// exchange sends what is unsent and follows the newest plan, as a phone does.
func (ph *phone) exchange() {
	p := ph.x.p
	p.t.Helper()
	for range 2 {
		out, err := p.store.Exchange(ledger.ExchangeRequest{Author: ph.author, At: p.now, Trail: p.trail("phone"), MaxLines: 500, MaxBytes: 1 << 20,
			Request: wire.Request{Header: wire.Header{Proto: 1, App: "test", Author: ph.author, From: int64(ph.sent) + 1, Since: ph.since, Epoch: ph.epoch, Following: ph.rev}, Lines: ph.lines[ph.sent:]}})
		p.must(err)
		if out.Code != "" {
			p.t.Fatalf("exchange refused: %s", out.Code)
		}
		ph.sent, ph.epoch = len(ph.lines), out.Reply.Epoch
		for _, l := range out.Lines {
			ph.since = wire.Cursor{Seq: l.Seq, Hash: l.Hash}
		}
		h := ph.x.history()
		for _, e := range h.EpisodeIDs() {
			if plan, ok := h.Plan(e); ok && plan.Rev > ph.rev {
				ph.rev = plan.Rev
				ph.write(p.now, wire.KindAdopted, rom.Adopted{Episode: e, Rev: plan.Rev})
			}
		}
	}
}

// own is a patient's reading by photograph.
func own(e rom.Episode, m rom.Motion, degrees int) rom.Reading {
	a := rom.Deg(degrees)
	return rom.Reading{Episode: e.ID, Side: e.Side, Motion: m, Class: rom.Passive, Method: rom.Photo, Position: rom.Supine, Angle: a, SE: rom.Deg(7), Trials: []rom.Trial{{Angle: a, SE: rom.Deg(3)}}}
}

func sorted(list ...string) []string {
	slices.Sort(list)
	return list
}

package ledgertest

import (
	"bytes"
	"context"
	"fmt"
	"sync"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// Setup says how to open a store. Place is new for every test; opening the
// same place again, after Close, must show the same data. A store that ends
// with its process has Forgets set, and is not opened again.
type Setup struct {
	Open    func(t *testing.T, place string, keys Keys, fold ledger.Fold) ledger.Store
	Forgets bool
	// Refuses opens a place that must be refused, and returns the refusal.
	Refuses func(place string, keys Keys, fold ledger.Fold) error
}

// Keys are the secrets of a store.
type Keys struct {
	Content, ClinicMAC []byte
}

// TestKeys are the secrets that all tests use.
func TestKeys() Keys {
	return Keys{bytes.Repeat([]byte{1}, 32), bytes.Repeat([]byte{2}, 32)}
}

// Noon is when the tests' stories begin.
var Noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

// TestFold lists what it saw: every line's author and number, in order.
func TestFold(version int) ledger.Fold {
	return ledger.Fold{Version: version, Add: func(facts []byte, lines []ledger.Line) ([]byte, error) {
		out := bytes.Clone(facts)
		for _, l := range lines {
			out = fmt.Appendf(out, "%d:%s/%d ", version, l.Author, l.N)
		}
		return out, nil
	}}
}

// Run runs the whole suite.
func Run(t *testing.T, setup Setup) {
	for _, one := range []struct {
		name string
		run  func(*testing.T, *bench)
	}{
		{"staff", testStaff}, {"sessions", testSessions}, {"adoptions", testAdoptions},
		{"accounts", testAccounts}, {"next session", testNextSession}, {"end of emergency access", testEndGlass},
		{"patients", testPatients}, {"heads", testHeads}, {"look", testLook}, {"care team", testTeam}, {"emergency access", testGlass},
		{"enrol", testEnrol}, {"enrol refused", testEnrolRefused}, {"one invitation, fifty phones", testEnrolRace}, {"copied phone", testRegister},
		{"phone replaced", testReplacePhone}, {"phone in again", testEnrolAgain},
		{"exchange", testExchange}, {"fork and gap", testForkAndGap}, {"quarantine", testQuarantine},
		{"paging", testPaging}, {"patients apart", testApart}, {"rewind", testRewind}, {"lost", testLost},
		{"pending and revoked", testRevoked}, {"exchanges at once", testExchangeRace},
		{"plans", testPlans}, {"plans at once", testPlanRace}, {"plan lost and returned", testReturned},
		{"a stop is not held up", testStopIsNotHeldUp},
		{"facts", testFacts}, {"audit", testAudit}, {"upkeep", testUpkeep},
		{"export and import", testArchive}, {"what is final", testFinal}, {"import stops", testImportStops}, {"import spoilt", testImportSpoilt},
		{"erasure", testErase}, {"restriction", testRestrict}, {"room", testRoom}, {"any order of acts", testModel},
	} {
		t.Run(one.name, func(t *testing.T) { one.run(t, newBench(t, setup)) })
	}
	if !setup.Forgets {
		t.Run("open again", func(t *testing.T) { testReopen(t, newBench(t, setup)) })
		t.Run("another fold", func(t *testing.T) { testNewFold(t, newBench(t, setup)) })
	}
}

// bench is one store with a clinic, two members of staff and two patients.
type bench struct {
	t     *testing.T
	setup Setup
	place string
	ledger.Store
	now time.Time
	mu  sync.Mutex
	ids int
}

func newBench(t *testing.T, setup Setup) *bench {
	t.Helper()
	place := ""
	if !setup.Forgets {
		place = t.TempDir()
	}
	b := &bench{t: t, setup: setup, place: place, now: Noon}
	b.Store = setup.Open(t, place, TestKeys(), TestFold(1))
	t.Cleanup(func() {
		r, err := b.Verify(context.Background())
		if err != nil || len(r.Faults) > 0 {
			t.Errorf("verify after the test: %v %v", r.Faults, err)
		}
		if err := b.Close(); err != nil {
			t.Errorf("close: %v", err)
		}
	})
	b.must(b.SetClinic(ledger.Clinic{Name: "Test practice", Phone: "1", Zone: "UTC"}, b.trail("setup")))
	for _, s := range []ledger.Staff{
		{ID: "vega", Login: "vega", Name: "Dr Vega", Role: ledger.Surgeon},
		{ID: "roth", Login: "roth", Name: "T Roth", Role: ledger.Therapist},
	} {
		b.must(b.AddStaff(s, b.trail("setup")))
	}
	for _, p := range []rom.PatientID{"p1", "p2"} {
		b.must(b.CreatePatient(ledger.Patient{ID: p, Name: "Invented " + string(p), Zone: "UTC", Lang: "en"},
			[]rom.StaffID{"vega"}, nil, b.trail("vega")))
	}
	return b
}

// reopen closes the store and opens it again, if it remembers.
func (b *bench) reopen() {
	b.t.Helper()
	if b.setup.Forgets {
		return
	}
	b.must(b.Close())
	b.Store = b.setup.Open(b.t, b.place, TestKeys(), TestFold(1))
}

func (b *bench) must(err error) {
	b.t.Helper()
	if err != nil {
		b.t.Fatal(err)
	}
}

func (b *bench) trail(actor string) ledger.Trail { return ledger.Trail{At: b.now, Actor: actor} }

func (b *bench) id(prefix string) string {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.ids++
	return fmt.Sprintf("%s%d", prefix, b.ids)
}

// invite stores an invitation and returns its secret.
func (b *bench) invite(p rom.PatientID) string {
	b.t.Helper()
	secret := b.id("secret")
	b.must(b.Invite(ledger.Invitation{
		ID: b.id("i"), Patient: p, Kind: ledger.AtDesk, Secrets: []string{secret, secret + "-typed"},
		Made: b.now, Until: b.now.Add(15 * time.Minute),
	}, b.trail("vega")))
	return secret
}

// phone is an installation as the store sees it: it builds its own chain.
type phone struct {
	b       *bench
	author  rom.Author
	patient rom.PatientID
	lines   [][]byte
	from    int64       // n from which it sends
	since   wire.Cursor // how far it has the log
	epoch   string
	follows int
	got     []ledger.Line
}

func (b *bench) enrol(p rom.PatientID) *phone {
	b.t.Helper()
	ph := &phone{b: b, author: rom.Author(b.id("a")), patient: p, from: 1}
	row, err := b.Enrol(ph.enrolment(b.invite(p)), b.trail(string(ph.author)))
	b.must(err)
	if row.Patient != p || row.State != ledger.Active {
		b.t.Fatalf("enrolled as %+v", row)
	}
	return ph
}

func (p *phone) enrolment(secret string) ledger.Enrolment {
	return ledger.Enrolment{Secret: secret, Author: p.author, Key: []byte(`{"kty":"EC"}`), Thumbprint: "thumb-" + string(p.author),
		Name: "phone", Check: "47", At: p.b.now}
}

// write appends a record to the phone's own chain.
func (p *phone) write(text string) []byte {
	p.b.t.Helper()
	n := int64(len(p.lines)) + 1
	prev := wire.NoPrev
	if n > 1 {
		prev = wire.HashOf(p.lines[n-2])
	}
	line, err := wire.Encode(wire.Record{Author: p.author, N: n, Prev: prev, Salt: wire.Salt([16]byte{byte(n)}), Kind: wire.KindPain, V: 1,
		Run: "r", Mono: n, At: p.b.now, TZ: "UTC", Body: fmt.Appendf(nil, `{"text":%q}`, text)})
	p.b.must(err)
	p.lines = append(p.lines, line)
	return line
}

func (p *phone) request() ledger.ExchangeRequest {
	var lines [][]byte
	if p.from <= int64(len(p.lines)) {
		lines = p.lines[p.from-1:]
	}
	return ledger.ExchangeRequest{
		Author: p.author, At: p.b.now, Trail: ledger.Trail{At: p.b.now, Actor: string(p.author)}, MaxLines: 200, MaxBytes: 64 << 10,
		Request: wire.Request{Header: wire.Header{Proto: 1, App: "1.0", Author: p.author, From: p.from, Since: p.since, Epoch: p.epoch, Following: p.follows}, Lines: lines},
	}
}

// exchange sends what is unsent and takes in what comes.
func (p *phone) exchange() ledger.ExchangeReply {
	p.b.t.Helper()
	out, err := p.b.Exchange(p.request())
	p.b.must(err)
	p.take(out)
	return out
}

func (p *phone) take(out ledger.ExchangeReply) {
	p.b.t.Helper()
	if out.Code != "" {
		return
	}
	p.from, p.epoch = out.Reply.Ack.N+1, out.Reply.Epoch
	if out.Reply.Seq == 1 {
		p.got = nil
	}
	for i, l := range out.Lines {
		if l.Seq != out.Reply.Seq+int64(i) || wire.HashOf(l.Bytes) != l.Hash {
			p.b.t.Fatalf("line %d of the reply has seq %d or another hash", i, l.Seq)
		}
		p.got = append(p.got, l)
		p.since = wire.Cursor{Seq: l.Seq, Hash: l.Hash}
	}
}

func note(text string) ledger.Draft {
	raw, v, err := wire.EncodeBody(wire.KindNote, rom.Note{Episode: "e1", Text: text, By: "vega"})
	if err != nil {
		panic(err)
	}
	return ledger.Draft{Kind: wire.KindNote, V: v, Body: raw, At: Noon, Zone: "UTC"}
}

func plan(e rom.EpisodeID, base, rev int) ledger.Draft { return planIn(rom.Running, "", e, base, rev) }

func stopped(e rom.EpisodeID, base, rev int) ledger.Draft {
	return planIn(rom.Stopped, "Please come in.", e, base, rev)
}

func planIn(state rom.PlanState, why string, e rom.EpisodeID, base, rev int) ledger.Draft {
	raw, v, err := wire.EncodeBody(wire.KindPlan, rom.Plan{Episode: e, Rev: rev, Base: base, State: state, Why: why, By: "vega",
		WakeFrom: 8 * 60, WakeTo: 20 * 60, Contact: rom.Contact{Phone: "1"}, Phases: []rom.Phase{{Key: "protect", Sling: rom.SlingAlways}}})
	if err != nil {
		panic(err)
	}
	return ledger.Draft{Kind: wire.KindPlan, V: v, Body: raw, At: Noon, Zone: "UTC", Rev: base}
}

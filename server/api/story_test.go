package api

import (
	"context"
	crand "crypto/rand"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/server/ledger/badgerstore"
	"unsling/sync/client"
	"unsling/sync/journal"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// story is a clinic and its patients, as the files tell of them.
type story struct {
	t      *testing.T
	dir    string
	copied string // the folder's copy
	ring   access.Keyring
	store  *badgerstore.Store
	door   http.Handler
	server *httptest.Server
	at     time.Time
	people map[string]*person
	ids    int
}

// person is a patient with the phones that are in use.
type person struct {
	id     rom.PatientID
	phones []*storyPhone
	erased bool
}

// storyPhone is a phone of one or two windows.
type storyPhone struct {
	windows []*real
	disk    *journal.Disk
	folder  *replica.Folder
	signal  bool
	skew    time.Duration
	keys    *keys
	kept    map[string]bool // salts of what was called kept
	notices []string
	learned int
}

func newStory(t *testing.T) *story {
	s := &story{t: t, dir: t.TempDir(), at: noon, people: map[string]*person{}}
	s.server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { s.door.ServeHTTP(w, r) }))
	s.openAt(s.dir)
	trail := s.trail("vega")
	if err := errors.Join(s.store.SetClinic(ledger.Clinic{Name: "Invented practice", Phone: "555 0100", Zone: "UTC"}, trail),
		s.store.AddStaff(ledger.Staff{ID: "vega", Login: "vega", Role: ledger.Surgeon}, trail),
		s.store.AddStaff(ledger.Staff{ID: "roth", Login: "roth", Role: ledger.Surgeon}, trail)); err != nil {
		t.Fatal(err)
	}
	return s
}

func (s *story) trail(who string) ledger.Trail { return ledger.Trail{At: s.at, Actor: who} }

func (s *story) openAt(dir string) {
	store, ring, err := openDisk(dir)
	if err != nil {
		s.t.Fatal(err)
	}
	a := &API{Store: store, Ring: ring, Public: s.server.URL, Tokens: &access.Tokens{Issuer: s.server.URL, Keys: ring.Signing},
		Now: func() time.Time { return s.at }, Chance: crand.Reader, Log: slog.New(slog.DiscardHandler)}
	s.store, s.ring, s.dir, s.door = store, ring, dir, a.Handler()
}

func (s *story) end() {
	s.server.Close()
	s.store.Close()
}

// clock sets the time of the week that began on a Monday.
func (s *story) clock(day, hour, minute string) {
	for i, d := range []string{"Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"} {
		if d == day {
			h, _ := strconv.Atoi(hour)
			m, _ := strconv.Atoi(minute)
			s.at = time.Date(2026, 3, 2+i, h, m, 0, 0, time.UTC)
		}
	}
}

func (s *story) add(id rom.PatientID, code string) *storyPhone {
	ph := &storyPhone{disk: journal.NewDisk(), signal: true, keys: &keys{}, kept: map[string]bool{}}
	s.open(ph, 2)
	if _, err := ph.windows[0].client.Join(context.Background(), ph.windows[0].store, client.Invitation{Code: code}); err != nil {
		s.t.Fatalf("join: %v", err)
	}
	return ph
}

// open starts the app in so many windows.
func (s *story) open(ph *storyPhone, windows int) {
	ph.windows, ph.folder = nil, &replica.Folder{}
	for range windows {
		w := newReal(s.server.URL, ph.keys, func() time.Time { return s.at.Add(ph.skew) })
		s.ids++
		store := ph.disk.Open()
		w.store, w.writer.Store, w.writer.Author, w.syncer.Store = store, store, journal.Author(store), store
		w.writer.Run = fmt.Sprint("run-", s.ids)
		w.syncer.Following = func() int {
			a, _ := replica.Adopt(ph.folder.History(), "e1", nil)
			return a.Plan.Rev
		}
		w.syncer.Learned = func(lines [][]byte) {
			for _, l := range lines {
				ph.folder.Add(l)
			}
			ph.learned += len(lines)
		}
		w.syncer.Notice = func(n replica.Notable) { ph.notices = append(ph.notices, string(n)) }
		ph.windows = append(ph.windows, w)
	}
	if f, err := journal.Fold(context.Background(), ph.windows[0].store); err == nil {
		ph.folder = f
	}
}

func (s *story) invite(id rom.PatientID) string {
	secrets, inv, err := access.NewInvitation(ledger.AtDesk, s.ring.Codes, s.at, crand.Reader)
	if err == nil {
		s.ids++
		inv.ID, inv.Patient = fmt.Sprint("i", s.ids), id
		err = s.store.Invite(inv, s.trail("vega"))
	}
	if err != nil {
		s.t.Fatalf("invite: %v", err)
	}
	return secrets.QR
}

// sentence is one thing that can happen, by its words.
type sentence struct {
	form *regexp.Regexp
	do   func(s *story, m []string) []string
}

func (s *story) step(what string) []string {
	for _, one := range sentences() {
		if m := one.form.FindStringSubmatch(what); m != nil {
			return one.do(s, m)
		}
	}
	s.t.Fatalf("nobody knows how to do %q", what)
	return nil
}

// phone is a person's phone: the first, the second, ...
func (s *story) phone(name, which string) *storyPhone {
	p := s.people[name]
	n := map[string]int{"": 0, "second ": 1, "new ": 1, "copied ": 1, "third ": 2}[which]
	if p == nil || n >= len(p.phones) {
		s.t.Fatalf("%s has no %sphone", name, which)
	}
	return p.phones[n]
}

func (s *story) append(ph *storyPhone, window int, k wire.Kind, body any) string {
	a, err := ph.windows[window].writer.Append(context.Background(), k, body)
	if err != nil {
		return "not kept: " + err.Error()
	}
	rec, err := wire.Decode(a.Line)
	if err != nil {
		s.t.Fatal(err)
	}
	ph.kept[rec.Salt] = true
	ph.folder.Add(a.Line)
	return "kept"
}

// contact is what the app does when it has signal: exchange, follow the plan,
// tell the clinic so.
func (s *story) contact(ph *storyPhone, window int) []string {
	if !ph.signal {
		return []string{fmt.Sprintf("no answer; %s on the phone to be sent", count(s.waiting(ph), "record"))}
	}
	before := s.waiting(ph)
	ph.notices, ph.learned = nil, 0
	res, err := ph.windows[window].syncer.Sync(context.Background())
	if err == nil && res.Code == "" {
		if a, ok := replica.Adopt(ph.folder.History(), "e1", nil); ok && a.New && !res.State.Revoked {
			s.append(ph, window, wire.KindAdopted, rom.Adopted{Episode: "e1", Rev: a.Plan.Rev})
			before++
			res, err = ph.windows[window].syncer.Sync(context.Background())
		}
	}
	if err != nil && !errors.Is(err, client.ErrNoAnswer) {
		s.t.Fatalf("exchange: %v", err)
	}
	var out []string
	if res.Code != "" {
		out = append(out, fmt.Sprintf("the server says: %s", res.Code.Sentence()))
	}
	for _, n := range ph.notices {
		out = append(out, noticeWords[n])
	}
	out = append(out, fmt.Sprintf("sent %d, received %d, %d to be sent", max(0, before-s.waiting(ph)), ph.learned, s.waiting(ph)))
	if ph.folder.NeedsUpdate() {
		out = append(out, "the phone says: update the app, the plan was changed in a way that it cannot read")
	}
	return out
}

var noticeWords = map[string]string{
	"revoked": "the phone learns that its access has ended; sessions are locked", "server-rewound": "the phone notices that the server has lost records",
	"new-epoch": "the phone hears that the server began anew, and looks through everything again", "tail-restored": "an own record comes back to the phone",
	"now-other": "the phone was a copy and goes on under a name of its own", "too-late": "the server lost what the phone had dropped",
	"not-believed": "the phone does not believe an acknowledgement", "line-damaged": "the server sent something that is no record",
	"out-of-order": "the answer does not fit", "not-known": "the phone learns that the clinic does not know it any more, and keeps everything",
}

// waiting is how many own records the server has not acknowledged.
func (s *story) waiting(ph *storyPhone) int {
	st, err := journal.LoadState(context.Background(), ph.windows[0].store)
	if err != nil || st.Author == "" {
		return 0
	}
	tail, err := journal.Tail(context.Background(), ph.windows[0].store, st.Author)
	if err != nil {
		s.t.Fatal(err)
	}
	return max(0, int(tail.N-st.Acked.N))
}

func (s *story) plan(name string, base int, state rom.PlanState, ceiling int) string {
	p := rom.Plan{
		Episode: "e1", Rev: base + 1, Base: base, State: state, WakeFrom: 480, WakeTo: 1320, By: "vega", On: 20000,
		Contact: rom.Contact{Phone: "555 0100"}, Reason: "as seen",
		Phases: []rom.Phase{{Key: "protect", Sling: rom.SlingAlways, Limits: []rom.Limit{
			{Motion: rom.ForwardFlexion, Class: rom.Passive, Ceiling: rom.Deg(ceiling), From: rom.Source{Key: "CLINIC", Mark: rom.Clinic}}}}},
	}
	if state == rom.Stopped {
		p.Why = "come and see us"
	}
	raw, v, err := wire.EncodeBody(wire.KindPlan, p)
	if err != nil {
		s.t.Fatal(err)
	}
	_, err = s.store.Append(s.people[name].id, []ledger.Draft{{Kind: wire.KindPlan, V: v, Body: raw, At: s.at, Zone: "UTC"}}, nil, s.trail("vega"))
	var stale *ledger.StaleError
	switch {
	case errors.As(err, &stale):
		return fmt.Sprintf("refused: the newest plan is %d", stale.Newest)
	case errors.Is(err, replica.ErrPlanLost):
		return "refused: plan lost; a phone follows one that the server does not have"
	case err != nil:
		s.t.Fatal(err)
	}
	return fmt.Sprintf("plan %d", base+1)
}

// copyFolder makes a copy of the data folder, as a backup of files does.
func (s *story) copyFolder(from string) string {
	to := filepath.Join(s.t.TempDir(), "copy")
	if err := os.CopyFS(to, os.DirFS(from)); err != nil {
		s.t.Fatal(err)
	}
	names, _ := filepath.Glob(filepath.Join(to, "keys", "*"))
	for _, name := range names {
		if err := os.Chmod(name, 0o600); err != nil {
			s.t.Fatal(err)
		}
	}
	return to
}

// nothingMissing holds whatever the files say.
func (s *story) nothingMissing() {
	for name, p := range s.people {
		if p.erased {
			continue
		}
		lines, err := s.store.Read(p.id, 1, 0)
		if err != nil {
			s.t.Fatal(err)
		}
		at := map[string]int{}
		own := map[string]bool{}
		for _, l := range lines {
			rec, err := wire.Decode(l.Bytes)
			if err != nil {
				s.t.Fatal(err)
			}
			if at[rec.Salt]++; !l.Author.FromClinic() {
				own[rec.Salt] = true
			}
		}
		rows, err := s.store.Authors(p.id)
		if err != nil {
			s.t.Fatal(err)
		}
		for _, row := range rows {
			if row.State != ledger.Revoked {
				continue
			}
			sealed, err := s.store.Sealed(row.ID)
			if err != nil {
				s.t.Fatal(err)
			}
			for _, l := range sealed {
				if rec, err := wire.Decode(l.Bytes); err == nil {
					at[rec.Salt]++
				}
			}
		}
		for i, ph := range p.phones {
			for salt := range ph.kept {
				if at[salt] != 1 {
					s.t.Errorf("a record that phone %d of %s called kept is with the clinic %d times", i+1, name, at[salt])
				}
			}
		}
		for other, q := range s.people {
			for _, ph := range q.phones {
				for salt := range ph.kept {
					if other != name && own[salt] {
						s.t.Errorf("a record of %s is with %s", other, name)
					}
				}
			}
		}
	}
	if rep, err := s.store.Verify(context.Background()); err != nil || len(rep.Faults) != 0 {
		s.t.Errorf("verify: %+v %v", rep.Faults, err)
	}
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return strconv.Itoa(n) + " " + what + "s"
}

func joined(parts []string) string { return strings.Join(parts, "; ") }

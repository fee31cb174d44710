package backup

import (
	"bytes"
	"context"
	crand "crypto/rand"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"filippo.io/age"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/api"
	"unsling/server/internal/phonekeys"
	"unsling/server/ledger"
	"unsling/server/ledger/badgerstore"
	"unsling/sync/client"
	"unsling/sync/journal"
	"unsling/sync/wire"
)

// noon is when the tests' story begins.
var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

// clinic is a server on a folder with a backup folder beside it, on a clock
// that is moved by hand.
type clinic struct {
	t      *testing.T
	ring   access.Keyring
	dir    string
	folder string
	id     *age.X25519Identity
	store  *badgerstore.Store
	backup *Backup
	server *httptest.Server
	said   []string

	mu      sync.Mutex
	at      time.Time
	handler http.Handler
	ids     int
}

func (c *clinic) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.at
}

func (c *clinic) later(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.at = c.at.Add(d)
}

func (c *clinic) trail(actor string) ledger.Trail { return ledger.Trail{At: c.now(), Actor: actor} }

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// linesFold keeps the lines.
var linesFold = ledger.Fold{Version: 1, Add: func(facts []byte, lines []ledger.Line) ([]byte, error) {
	out := bytes.Clone(facts)
	for _, l := range lines {
		out = append(append(out, l.Bytes...), '\n')
	}
	return out, nil
}}

func newClinic(t *testing.T) *clinic {
	t.Helper()
	signing, err := access.NewKeySet(crand.Reader, noon)
	must(t, err)
	id, err := age.GenerateX25519Identity()
	must(t, err)
	c := &clinic{t: t, dir: filepath.Join(t.TempDir(), "store"), folder: filepath.Join(t.TempDir(), "backup"), id: id, at: noon,
		ring: access.Keyring{Signing: signing, Codes: bytes.Repeat([]byte{1}, 32), Content: bytes.Repeat([]byte{2}, 32), ClinicMAC: bytes.Repeat([]byte{3}, 32)}}
	c.server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		c.mu.Lock()
		h := c.handler
		c.mu.Unlock()
		h.ServeHTTP(w, r)
	}))
	t.Cleanup(func() {
		c.server.Close()
		if r, err := c.store.Verify(context.Background()); err != nil || len(r.Faults) > 0 {
			t.Errorf("verify: %+v %v", r.Faults, err)
		}
		must(t, c.store.Close())
	})
	c.open(c.dir)
	must(t, errors.Join(
		c.store.SetClinic(ledger.Clinic{Name: "Invented practice", Phone: "555 0100", Zone: "UTC"}, c.trail("admin")),
		c.store.AddStaff(ledger.Staff{ID: "vega", Login: "vega", Role: ledger.Surgeon}, c.trail("admin")),
		c.store.AddStaff(ledger.Staff{ID: "roth", Login: "roth", Role: ledger.Therapist}, c.trail("admin")),
		c.store.CreatePatient(ledger.Patient{ID: "p1", Name: "Canary Surname"}, []rom.StaffID{"vega"}, nil, c.trail("vega")),
		c.store.CreatePatient(ledger.Patient{ID: "p2", Name: "Other Surname"}, []rom.StaffID{"vega"}, nil, c.trail("vega"))))
	return c
}

// open starts the server on a folder of a store.
func (c *clinic) open(dir string) {
	c.t.Helper()
	c.dir = dir
	var err error
	c.store, err = badgerstore.Open(dir, badgerstore.Options{Content: c.ring.Content, ClinicMAC: c.ring.ClinicMAC, Fold: linesFold, Chance: crand.Reader, Started: noon})
	must(c.t, err)
	c.serve()
}

func (c *clinic) serve() {
	a := &api.API{Store: c.store, Ring: c.ring, Public: c.server.URL, Tokens: &access.Tokens{Issuer: c.server.URL, Keys: c.ring.Signing},
		Now: c.now, Chance: crand.Reader, Log: slog.New(slog.NewTextHandler(io.Discard, nil))}
	h := a.Handler()
	c.mu.Lock()
	c.handler = h
	c.mu.Unlock()
	c.backup = &Backup{Store: c.store, Folder: c.folder, Recipient: c.id.Recipient().String(), Key: c.ring.ClinicMAC, Now: c.now,
		NewID: func() string { c.ids++; return fmt.Sprint("id", c.ids) },
		Say:   func(f string, a ...any) { c.said = append(c.said, fmt.Sprintf(f, a...)) }}
}

func (c *clinic) run() Result {
	c.t.Helper()
	c.later(time.Minute)
	res, err := c.backup.Run(context.Background())
	must(c.t, err)
	return res
}

func (c *clinic) choice() Choice {
	return Choice{Folder: c.folder, Key: c.ring.ClinicMAC, Identities: []age.Identity{c.id}}
}

// restore reads a backup into a fresh store.
func (c *clinic) restore(choice Choice) (*badgerstore.Store, ledger.Imported, error) {
	c.t.Helper()
	s, err := Open(choice)
	if err != nil {
		return nil, ledger.Imported{}, err
	}
	final, err := s.Final()
	if err != nil {
		return nil, ledger.Imported{}, err
	}
	store, err := badgerstore.Open(filepath.Join(c.t.TempDir(), "restored"), badgerstore.Options{
		Content: c.ring.Content, ClinicMAC: c.ring.ClinicMAC, Fold: linesFold, Chance: crand.Reader, Started: noon})
	must(c.t, err)
	in, err := store.Import(s.Rows(), final, c.trail("server"))
	if err != nil {
		must(c.t, store.Close())
		return nil, in, err
	}
	return store, in, nil
}

// phone is made of the phone's own parts: journal, client, syncer.
type phone struct {
	c      *clinic
	store  journal.Store
	client *client.Client
	writer *journal.Writer
	syncer *client.Syncer
}

func (c *clinic) phone(p rom.PatientID) *phone {
	c.t.Helper()
	secrets, inv, err := access.NewInvitation(ledger.InDemo, c.ring.Codes, c.now(), crand.Reader)
	must(c.t, err)
	c.ids++
	inv.ID, inv.Patient = fmt.Sprint("i", c.ids), p
	must(c.t, c.store.Invite(inv, c.trail("vega")))
	store := journal.NewMem()
	cl := &client.Client{Base: c.server.URL, Keys: &keys{}, Random: random16}
	ph := &phone{c: c, store: store, client: cl,
		writer: &journal.Writer{Store: store, Author: journal.Author(store), Run: "r1", Mono: func() int64 { return 1 }, Now: c.now,
			Zone: func() string { return "UTC" }, Rev: func() int { return 0 }, Salt: random16},
		syncer: &client.Syncer{Store: store, Server: cl, App: "test", Following: func() int { return 0 }, Now: c.now}}
	_, err = cl.Join(context.Background(), store, client.Invitation{Code: secrets.QR, Name: "canary phone"})
	must(c.t, err)
	return ph
}

func (p *phone) write(texts ...string) {
	p.c.t.Helper()
	for _, text := range texts {
		_, err := p.writer.Append(context.Background(), wire.KindQuestion, rom.Question{Episode: "e1", Text: text})
		must(p.c.t, err)
	}
}

func (p *phone) sync() client.Result {
	p.c.t.Helper()
	res, err := p.syncer.Sync(context.Background())
	must(p.c.t, err)
	return res
}

func (p *phone) author() rom.Author {
	a, err := journal.Author(p.store)(context.Background())
	must(p.c.t, err)
	return a
}

func random16() [16]byte {
	var b [16]byte
	_, _ = crand.Read(b[:])
	return b
}

// keys are the private keys of installations, as phones keep them.
type keys = phonekeys.Keys

// note is a clinic record.
func (c *clinic) note(p rom.PatientID, text string) {
	c.t.Helper()
	raw, v, err := wire.EncodeBody(wire.KindNote, rom.Note{Episode: "e1", Text: text, By: "vega"})
	must(c.t, err)
	_, err = c.store.Append(p, []ledger.Draft{{Kind: wire.KindNote, V: v, Body: raw, At: c.now(), Zone: "UTC"}}, nil, c.trail("vega"))
	must(c.t, err)
}

// files lists the files of a folder that do not stand in clear.
func files(t *testing.T, dir string) []string {
	t.Helper()
	var all []string
	must(t, filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			all = append(all, path)
		}
		return err
	}))
	return all
}

package api

import (
	"context"
	crand "crypto/rand"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"math/big"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/server/ledger/badgerstore"
	"unsling/sync/client"
	"unsling/sync/journal"
	"unsling/sync/wire"
)

// real is a phone made of the phone's own parts: journal, client, syncer.
type real struct {
	store  journal.Store
	writer *journal.Writer
	syncer *client.Syncer
	client *client.Client
}

func newReal(base string, k *keys, now func() time.Time) *real {
	store := journal.NewMem()
	c := &client.Client{Base: base, Keys: k, Random: func() [16]byte { return [16]byte(random16()) }}
	return &real{
		store: store, client: c,
		writer: &journal.Writer{Store: store, Author: journal.Author(store), Run: "r1", Mono: func() int64 { return 1 }, Now: now,
			Zone: func() string { return "UTC" }, Rev: func() int { return 0 }, Salt: func() [16]byte { return [16]byte(random16()) }},
		syncer: &client.Syncer{Store: store, Server: c, App: "test", Following: func() int { return 0 }, Now: now},
	}
}

func (p *real) ask(text string) error {
	_, err := p.writer.Append(context.Background(), wire.KindQuestion, rom.Question{Episode: "e1", Text: text})
	return err
}

// The phone's own code against the real door: enrol, write without signal,
// sync, hear from the clinic, be revoked.
func TestJourneyOfTheRealPhone(t *testing.T) {
	r := newRig(t)
	ctx := context.Background()
	p := newReal(r.url, &keys{}, r.now)
	if err := p.ask("too early"); !errors.Is(err, journal.ErrNobody) {
		t.Errorf("before enrolment: %v", err)
	}
	if _, err := p.client.Join(ctx, p.store, client.Invitation{Code: "ZZZZ-ZZZZ"}); !errors.Is(err, wire.Refuse(wire.CodeUnknown)) {
		t.Errorf("wrong code: %v", err)
	}
	in, err := p.client.Join(ctx, p.store, client.Invitation{Code: r.invite(ledger.AtDesk, "p1").Code, Name: "phone"})
	if err != nil || in.Patient != "p1" {
		t.Fatalf("join: %+v %v", in, err)
	}
	for i := range 450 { // more than two messages
		if err := p.ask(fmt.Sprint("question ", i)); err != nil {
			t.Fatal(err)
		}
	}
	res, err := p.syncer.Sync(ctx)
	if err != nil || !res.Done || res.Unsent != 0 || res.Code != "" {
		t.Fatalf("sync: %+v %v", res, err)
	}
	lines, err := r.store.Read("p1", 1, 0)
	if err != nil || len(lines) != 450 {
		t.Errorf("log has %d lines: %v", len(lines), err)
	}
	raw, v, _ := wire.EncodeBody(wire.KindNote, rom.Note{Episode: "e1", Text: "answer", By: "vega"})
	if _, err := r.store.Append("p1", []ledger.Draft{{Kind: wire.KindNote, V: v, Body: raw, At: noon, Zone: "UTC"}}, nil, ledger.Trail{At: noon}); err != nil {
		t.Fatal(err)
	}
	r.later(20 * time.Minute) // the token has run out: a new one is asked for
	if res, err = p.syncer.Sync(ctx); err != nil || !res.Done {
		t.Fatalf("sync: %+v %v", res, err)
	}
	folded, err := journal.Fold(ctx, p.store)
	if err != nil || len(folded.History().Notes) != 1 {
		t.Errorf("the clinic's note is not on the phone: %v", err)
	}
	author, err := journal.Author(p.store)(ctx)
	if err != nil {
		t.Fatal(err)
	}
	if err := r.store.RevokeAuthor(author, ledger.Trail{At: noon}); err != nil {
		t.Fatal(err)
	}
	if err := p.ask("after the phone was lost"); err != nil {
		t.Fatal(err)
	}
	if res, err = p.syncer.Sync(ctx); err != nil || !res.State.Revoked {
		t.Errorf("after the revocation: %+v %v", res, err)
	}
	if sealed, err := r.store.Sealed(author); err != nil || len(sealed) != 1 {
		t.Errorf("sealed: %d %v", len(sealed), err)
	}
}

// crashEnv tells the test binary that it is the server to be killed.
const crashEnv = "UNSLING_CRASH_DIR"

func TestMain(m *testing.M) {
	if dir := os.Getenv(crashEnv); dir != "" {
		serveUntilKilled(dir)
	}
	os.Exit(m.Run())
}

func openDisk(dir string) (*badgerstore.Store, access.Keyring, error) {
	ring, err := access.OpenKeyring(filepath.Join(dir, "keys"), crand.Reader, time.Now())
	if err != nil {
		return nil, ring, err
	}
	s, err := badgerstore.Open(filepath.Join(dir, "store"), badgerstore.Options{
		Content: ring.Content, ClinicMAC: ring.ClinicMAC, Fold: linesFold, Chance: crand.Reader, Started: noon,
	})
	return s, ring, err
}

// serveUntilKilled prints its address and answers until the kill comes.
func serveUntilKilled(dir string) {
	store, ring, err := openDisk(dir)
	if err != nil {
		fmt.Println("failed:", err)
		os.Exit(1)
	}
	a := &API{Store: store, Ring: ring, Now: time.Now, Chance: crand.Reader, Log: slog.New(slog.NewTextHandler(io.Discard, nil))}
	var h http.Handler
	server := httptest.NewUnstartedServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { h.ServeHTTP(w, r) }))
	a.Public = "http://" + server.Listener.Addr().String()
	a.Tokens = &access.Tokens{Issuer: a.Public, Keys: ring.Signing}
	h = a.Handler()
	server.Start()
	fmt.Println(a.Public)
	select {}
}

// The server is killed with SIGKILL right after it answered, and again and
// again while phones send: opened again, nothing that was acknowledged is
// missing, and in the end everything is there once and in order.
func TestServerKilledAfterAnswer(t *testing.T) {
	dir := t.TempDir()
	store, ring, err := openDisk(dir)
	if err != nil {
		t.Fatal(err)
	}
	trail := ledger.Trail{At: time.Now(), Actor: "vega"}
	secrets, inv, err := access.NewInvitation(ledger.InDemo, ring.Codes, time.Now(), crand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	inv.ID, inv.Patient = "i1", "p1"
	if err := errors.Join(
		store.SetClinic(ledger.Clinic{Name: "Invented practice", Phone: "1", Zone: "UTC"}, trail),
		store.AddStaff(ledger.Staff{ID: "vega", Login: "vega", Role: ledger.Surgeon}, trail),
		store.CreatePatient(ledger.Patient{ID: "p1"}, []rom.StaffID{"vega"}, nil, trail),
		store.Invite(inv, trail), store.Close()); err != nil {
		t.Fatal(err)
	}
	ctx := context.Background()
	p := newReal("", &keys{}, time.Now)
	written := 0
	for round := range 6 {
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), crashEnv+"="+dir)
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		var base string
		if _, err := fmt.Fscanln(out, &base); err != nil {
			t.Fatalf("round %d: the server does not start: %s %v", round, base, err)
		}
		p.client = &client.Client{Base: base, Keys: p.client.Keys, Random: p.client.Random}
		p.syncer.Server = p.client
		if round == 0 {
			if _, err := p.client.Join(ctx, p.store, client.Invitation{Code: secrets.QR}); err != nil {
				t.Fatal(err)
			}
		}
		for range 7 {
			for range 10 {
				if err := p.ask(fmt.Sprint(written)); err != nil {
					t.Fatal(err)
				}
				written++
			}
			if res, err := p.syncer.Sync(ctx); err != nil || !res.Done {
				t.Fatalf("round %d: %+v %v", round, res, err)
			}
		}
		state, err := journal.LoadState(ctx, p.store)
		if err != nil || state.Acked.N != int64(written) {
			t.Fatalf("round %d: acknowledged %d of %d: %v", round, state.Acked.N, written, err)
		}
		if round%2 == 1 { // more under way when the kill comes
			for range 50 {
				if err := p.ask(fmt.Sprint(written)); err != nil {
					t.Fatal(err)
				}
				written++
			}
			ended := make(chan struct{})
			go func() { defer close(ended); _, _ = p.syncer.Sync(ctx) }()
			delay, _ := crand.Int(crand.Reader, big.NewInt(4000))
			time.Sleep(time.Duration(delay.Int64()) * time.Microsecond)
			_ = cmd.Process.Kill()
			<-ended
		} else {
			_ = cmd.Process.Kill() // SIGKILL
		}
		_ = cmd.Wait()

		store, _, err := openDisk(dir)
		if err != nil {
			t.Fatalf("round %d: open after the kill: %v", round, err)
		}
		lines, err := store.Read("p1", 1, 0)
		if err != nil || int64(len(lines)) < state.Acked.N {
			t.Errorf("round %d: %d lines, %d were acknowledged: %v", round, len(lines), state.Acked.N, err)
		}
		for i, l := range lines {
			if l.N != int64(i+1) {
				t.Fatalf("round %d: line %d is number %d", round, i+1, l.N)
			}
			own, err := journal.Lines(ctx, p.store, l.Author, l.N, 1, wire.MaxLine+1)
			if err != nil || len(own) != 1 || wire.HashOf(own[0]) != l.Hash {
				t.Fatalf("round %d: line %d is not what the phone wrote: %v", round, i+1, err)
			}
		}
		if rep, err := store.Verify(ctx); err != nil || len(rep.Faults) != 0 {
			t.Errorf("round %d: %+v %v", round, rep.Faults, err)
		}
		if err := store.Close(); err != nil {
			t.Fatal(err)
		}
	}
	if written < 400 {
		t.Errorf("only %d records were written", written)
	}
}

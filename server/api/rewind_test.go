package api

import (
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
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/sync/client"
	"unsling/sync/wire"
)

// An old copy of the data folder is put back (the restore nobody announced):
// the phone notices, the store gets a new epoch, and everything comes back
// from the phone, its own records and the clinic's.
func TestOldCopyPutBack(t *testing.T) {
	ctx := context.Background()
	dir := t.TempDir()
	var h http.Handler
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { h.ServeHTTP(w, r) }))
	defer server.Close()
	open := func(dir string) Store {
		store, ring, err := openDisk(dir)
		if err != nil {
			t.Fatal(err)
		}
		a := &API{Store: store, Ring: ring, Public: server.URL, Tokens: &access.Tokens{Issuer: server.URL, Keys: ring.Signing},
			Now: time.Now, Chance: crand.Reader, Log: slog.New(slog.NewTextHandler(io.Discard, nil))}
		h = a.Handler()
		return store
	}
	store := open(dir).(ledger.Store)
	trail := ledger.Trail{At: time.Now(), Actor: "vega"}
	ring, err := access.OpenKeyring(filepath.Join(dir, "keys"), crand.Reader, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	secrets, inv, err := access.NewInvitation(ledger.InDemo, ring.Codes, time.Now(), crand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	inv.ID, inv.Patient = "i1", "p1"
	if err := errors.Join(store.SetClinic(ledger.Clinic{Name: "Invented practice", Phone: "1", Zone: "UTC"}, trail),
		store.AddStaff(ledger.Staff{ID: "vega", Login: "vega", Role: ledger.Surgeon}, trail),
		store.CreatePatient(ledger.Patient{ID: "p1"}, []rom.StaffID{"vega"}, nil, trail), store.Invite(inv, trail)); err != nil {
		t.Fatal(err)
	}
	note := func(s ledger.Store, text string) {
		raw, v, err := wire.EncodeBody(wire.KindNote, rom.Note{Episode: "e1", Text: text, By: "vega"})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := s.Append("p1", []ledger.Draft{{Kind: wire.KindNote, V: v, Body: raw, At: time.Now(), Zone: "UTC"}}, nil, trail); err != nil {
			t.Fatal(err)
		}
	}
	p := newReal(server.URL, &keys{}, time.Now)
	if _, err := p.client.Join(ctx, p.store, client.Invitation{Code: secrets.QR}); err != nil {
		t.Fatal(err)
	}
	day := func(s ledger.Store, name string) {
		for i := range 30 {
			if err := p.ask(fmt.Sprint(name, i)); err != nil {
				t.Fatal(err)
			}
		}
		note(s, name)
		if res, err := p.syncer.Sync(ctx); err != nil || !res.Done || res.Unsent != 0 {
			t.Fatalf("%s: %+v %v", name, res, err)
		}
	}
	day(store, "monday")
	if err := store.Close(); err != nil {
		t.Fatal(err)
	}
	old := filepath.Join(t.TempDir(), "copy")
	if err := os.CopyFS(old, os.DirFS(dir)); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"signing.json", "codes.key", "content.key", "clinic-mac.key"} {
		if err := os.Chmod(filepath.Join(old, "keys", name), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	store = open(dir).(ledger.Store)
	day(store, "tuesday")
	before, _ := store.About()
	if err := store.Close(); err != nil {
		t.Fatal(err)
	}

	store = open(old).(ledger.Store)
	defer store.Close()
	res, err := p.syncer.Sync(ctx)
	if err != nil || !res.Done || res.Unsent != 0 {
		t.Fatalf("after the old copy was put back: %+v %v", res, err)
	}
	after, _ := store.About()
	if after.Epoch == before.Epoch {
		t.Error("the epoch is still the same")
	}
	own, clinic := 0, 0
	lines, err := store.Read("p1", 1, 0)
	for _, l := range lines {
		if l.Author.FromClinic() {
			clinic++
		} else {
			own++
		}
	}
	if err != nil || own != 60 || clinic != 2 {
		t.Errorf("%d records of the phone, want 60; %d of the clinic, want 2; %v", own, clinic, err)
	}
	day(store, "wednesday")
	if rep, err := store.Verify(ctx); err != nil || len(rep.Faults) != 0 {
		t.Errorf("%+v %v", rep.Faults, err)
	}
}

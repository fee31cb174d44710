package api

import (
	"context"
	crand "crypto/rand"
	"errors"
	"fmt"
	"net/http"
	"testing"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/server/ledger/badgerstore"
	"unsling/sync/client"
	"unsling/sync/journal"
	"unsling/sync/wire"
)

// swap puts another store behind the same address and the same keys, as a
// restore from before the enrolment or a server begun anew does.
func (r *rig) swap(store *badgerstore.Store) {
	r.t.Helper()
	r.store = store
	a := &API{Store: store, Ring: r.api.Ring, Now: r.now, Chance: crand.Reader, Log: r.api.Log, Public: r.url}
	a.Tokens = &access.Tokens{Issuer: r.url, Keys: r.api.Ring.Signing}
	h := a.Handler()
	r.api, r.handler = a, func() http.Handler { return h }
}

func (r *rig) emptyStore() *badgerstore.Store {
	r.t.Helper()
	s, err := badgerstore.OpenMemory(badgerstore.Options{Content: r.api.Ring.Content, ClinicMAC: r.api.Ring.ClinicMAC, Fold: linesFold, Chance: crand.Reader, Started: noon})
	if err != nil {
		r.t.Fatal(err)
	}
	r.t.Cleanup(func() { s.Close() })
	return s
}

// A server that lost the phone's enrolment: the phone keeps its records, says
// that it is not known, and after a new enrolment sends every one of them and
// gives the clinic's back. A code of somebody else sends nothing unless the
// person has said that the records are theirs.
func TestNotKnownAndEnrolledAnew(t *testing.T) {
	for _, mine := range []bool{false, true} {
		t.Run(fmt.Sprint("another record: ", mine), func(t *testing.T) {
			r := newRig(t)
			ctx := context.Background()
			p := newReal(r.url, &keys{}, r.now)
			if _, err := p.client.Join(ctx, p.store, client.Invitation{Code: r.invite(ledger.AtDesk, "p1").Code}); err != nil {
				t.Fatal(err)
			}
			raw, v, _ := wire.EncodeBody(wire.KindNote, rom.Note{Episode: "e1", Text: "the clinic's word", By: "vega"})
			if _, err := r.store.Append("p1", []ledger.Draft{{Kind: wire.KindNote, V: v, Body: raw, At: noon, Zone: "UTC"}}, nil, ledger.Trail{At: noon}); err != nil {
				t.Fatal(err)
			}
			salts := map[string]bool{}
			write := func(from, to int) {
				for i := from; i < to; i++ {
					if err := p.ask(fmt.Sprint("question ", i)); err != nil {
						t.Fatal(err)
					}
				}
				err := p.store.Each(ctx, func(row journal.Row) error {
					if rec, err := wire.Decode(row.Line); err == nil && rec.Kind == wire.KindQuestion {
						salts[rec.Salt] = true
					}
					return nil
				})
				if err != nil {
					t.Fatal(err)
				}
			}
			write(0, 30)
			if res, err := p.syncer.Sync(ctx); err != nil || !res.Done {
				t.Fatalf("%+v %v", res, err)
			}
			old, err := journal.LoadState(ctx, p.store)
			if err != nil {
				t.Fatal(err)
			}

			r.swap(r.emptyStore())
			r.furnish()
			p.client = &client.Client{Base: p.client.Base, Keys: p.client.Keys, Random: p.client.Random} // the token has run out
			p.syncer.Server = p.client
			write(30, 40)
			res, err := p.syncer.Sync(ctx)
			if err != nil || res.Code != wire.UnknownDevice || !res.State.Unknown || res.Unsent != 10 {
				t.Fatalf("not known: %+v %v", res, err)
			}
			write(40, 45) // recording goes on
			if res, err = p.syncer.Sync(ctx); err != nil || res.Code != wire.UnknownDevice {
				t.Fatalf("still not known: %+v %v", res, err)
			}
			patient := rom.PatientID("p1")
			inv := client.Invitation{}
			if mine {
				patient = "p2"
				inv.Code = r.invite(ledger.AtDesk, "p2").Code
				if _, err := p.client.Join(ctx, p.store, inv); !errors.Is(err, client.ErrOtherPatient) {
					t.Fatalf("a code of another record: %v", err)
				}
				if lines, _ := r.store.Read("p2", 1, 0); len(lines) != 0 {
					t.Fatalf("%d lines were sent into another record", len(lines))
				}
				if st, _ := journal.LoadState(ctx, p.store); st.Author != old.Author || !st.Unknown {
					t.Fatalf("the phone became another by a code of another record: %+v", st)
				}
				inv.Mine = true // the same code again
			} else {
				inv.Code = r.invite(ledger.AtDesk, "p1").Code
			}
			if out, err := p.client.Join(ctx, p.store, inv); err != nil || out.Patient != patient {
				t.Fatalf("enrolled anew: %+v %v", out, err)
			}
			write(45, 50)
			res, err = p.syncer.Sync(ctx)
			if err != nil || !res.Done || res.Unsent != 0 || res.State.Unknown || res.State.Author == old.Author {
				t.Fatalf("after it: %+v %v", res, err)
			}
			lines, err := r.store.Read(patient, 1, 0)
			if err != nil {
				t.Fatal(err)
			}
			notes := 0
			for _, l := range lines {
				rec, err := wire.Decode(l.Bytes)
				if err != nil {
					t.Fatal(err)
				}
				if rec.Kind == wire.KindNote {
					notes++
					continue
				}
				if !salts[rec.Salt] {
					t.Errorf("%v is twice or of nobody", rec.Ref())
				}
				delete(salts, rec.Salt)
			}
			if want := map[bool]int{false: 1, true: 0}[mine]; len(salts) != 0 || notes != want {
				t.Errorf("%d of 50 records are missing; %d of the clinic's came back, want %d", len(salts), notes, want)
			}
			if _, err := p.client.Join(ctx, p.store, inv); !errors.Is(err, client.ErrEnrolled) {
				t.Errorf("once more: %v", err)
			}
		})
	}
}

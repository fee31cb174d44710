package api

import (
	"context"
	"errors"
	"net/http"
	"strings"
	"testing"

	"unsling/server/ledger"
	"unsling/sync/client"
	"unsling/sync/journal"
	"unsling/sync/wire"
)

func TestPhoneLeaves(t *testing.T) {
	r := newRig(t)
	ctx := context.Background()
	ph := newReal(r.url, &keys{}, r.now)
	if _, err := ph.client.Join(ctx, ph.store, client.Invitation{Code: r.invite(ledger.AtDesk, "p1").Code}); err != nil {
		t.Fatal(err)
	}
	if err := ph.client.Leave(ctx, ph.store); err != nil {
		t.Fatal(err)
	}
	in, err := client.Load(ctx, ph.store)
	if err != nil {
		t.Fatal(err)
	}
	row, err := r.store.Author(in.Identity.Author)
	if err != nil || row.State != ledger.Revoked {
		t.Errorf("after leaving the phone is %s, %v", row.State, err)
	}
	if err := ph.client.Leave(ctx, ph.store); err != nil {
		t.Errorf("leaving twice: %v", err)
	}
	var found bool
	entries, _ := r.store.Audit(0, 0)
	for _, e := range entries {
		found = found || e.Act == "phone.revoke" && e.Reason != "" && e.Actor == string(in.Identity.Author)
	}
	if !found {
		t.Error("the audit log does not say who left")
	}
	if err := (&client.Client{Base: r.url}).Leave(ctx, journal.NewMem()); err != nil {
		t.Errorf("a phone that never joined: %v", err)
	}
	res, err := http.Post(r.url+wire.PathLeave, "application/json", strings.NewReader("{}"))
	if err != nil || res.StatusCode != http.StatusUnauthorized {
		t.Errorf("without a token: %v %v", res, err)
	}
}

func TestPhoneIsVouchedForAgain(t *testing.T) {
	r := newRig(t)
	ctx := context.Background()
	ph := newReal(r.url, &keys{}, r.now)
	if _, err := ph.client.Join(ctx, ph.store, client.Invitation{Code: r.invite(ledger.AtDesk, "p1").Code}); err != nil {
		t.Fatal(err)
	}
	own, other := r.invite(ledger.AtDesk, "p1"), r.invite(ledger.AtDesk, "p2")
	if err := ph.client.Vouch(ctx, ph.store, client.Invitation{Code: own.Code}); err != nil {
		t.Fatal(err)
	}
	if err := ph.client.Vouch(ctx, ph.store, client.Invitation{Code: other.Code}); !errors.Is(err, wire.Refuse(wire.DeviceTaken)) {
		t.Errorf("with another patient's code: %v", err)
	}
	if err := ph.client.Vouch(ctx, ph.store, client.Invitation{Code: "ZZZZ-ZZZZ"}); !errors.Is(err, wire.Refuse(wire.CodeUnknown)) {
		t.Errorf("with a code that nobody gave: %v", err)
	}
	if rows, err := r.store.Authors("p1"); err != nil || len(rows) != 1 {
		t.Errorf("%d phones, %v; want one", len(rows), err)
	}
}

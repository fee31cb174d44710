package ledgertest

import (
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

func testErase(t *testing.T, b *bench) {
	kept, lost := busy(b)
	mischief(b, kept, lost)
	if _, err := b.Facts("p1"); err != nil { // so that they are remembered
		t.Fatal(err)
	}
	_, err := b.Erase("p1", "roth", b.trail("roth"))
	wantErr(t, "nobody asked", err, ledger.ErrState)
	wantErr(t, "unknown patient", b.AskErasure("p9", "vega", b.trail("vega")), ledger.ErrUnknown)
	wantErr(t, "unknown person", b.AskErasure("p1", "nobody", b.trail("vega")), ledger.ErrUnknown)
	b.must(b.AskErasure("p1", "vega", b.trail("vega")))
	_, err = b.Erase("p1", "vega", b.trail("vega"))
	wantErr(t, "the same person twice", err, ledger.ErrState)
	b.must(b.DropErasure("p1", b.trail("vega")))
	_, err = b.Erase("p1", "roth", b.trail("roth"))
	wantErr(t, "taken back", err, ledger.ErrState)
	b.must(b.AskErasure("p1", "vega", b.trail("vega")))
	late := b.trail("roth")
	late.At = late.At.Add(ledger.ErasureWindow + time.Second)
	_, err = b.Erase("p1", "roth", late)
	wantErr(t, "too late", err, ledger.ErrState)

	if all, err := b.Erasures(); err != nil || len(all) != 1 || all[0].Done() {
		t.Errorf("the question: %+v %v", all, err)
	}
	receipt, err := b.Erase("p1", "roth", b.trail("roth"))
	if err != nil || receipt.AskedBy != "vega" || receipt.By != "roth" || receipt.Log.Seq != 12 || receipt.Phones != 2 || !receipt.Done() || !receipt.Purged {
		t.Errorf("receipt %+v %v", receipt, err)
	}
	if all, err := b.Erasures(); err != nil || len(all) != 1 || all[0] != receipt {
		t.Errorf("kept receipt: %+v %v", all, err)
	}
	_, err = b.Patient("p1")
	wantErr(t, "row", err, ledger.ErrErased)
	_, err = b.Facts("p1")
	wantErr(t, "facts", err, ledger.ErrErased)
	_, err = b.Quarantine("p1")
	wantErr(t, "quarantine", err, ledger.ErrErased)
	_, err = b.Sealed(lost.author)
	wantErr(t, "sealed", err, ledger.ErrErased)
	wantErr(t, "append", appendOne(b, note("x")), ledger.ErrErased)
	wantErr(t, "change the row", b.PutPatient(ledger.Patient{ID: "p1"}, b.trail("vega")), ledger.ErrErased)
	wantErr(t, "erase again", b.AskErasure("p1", "vega", b.trail("vega")), ledger.ErrErased)
	wantErr(t, "create again", b.CreatePatient(ledger.Patient{ID: "p1"}, []rom.StaffID{"vega"}, nil, b.trail("vega")), ledger.ErrTaken)
	kept.from = 7
	_, err = b.Exchange(kept.request())
	wantErr(t, "exchange", err, ledger.ErrErased)
	lines, err := b.Read("p1", 1, 0)
	if err != nil || len(lines) != 12 {
		t.Errorf("the log has %d lines: %v", len(lines), err)
	}
	for _, l := range lines {
		if !l.Erased || l.Bytes != nil || !l.Hash.Valid() {
			t.Errorf("line %+v", l)
		}
	}
	if row, err := b.Author(kept.author); err != nil || row.Name != "" || row.Check != "" || len(row.Key) == 0 {
		t.Errorf("the phone's row: %+v %v", row, err)
	}
	if glass, err := b.GlassOn("p1"); err != nil || len(glass) != 1 || glass[0].Reason != "erased" {
		t.Errorf("emergency access: %+v %v", glass, err)
	}
	if panel, err := b.Panel("vega"); err != nil || len(panel) != 1 || panel[0].Patient.ID != "p2" {
		t.Errorf("panel: %+v %v", panel, err)
	}
	b.must(b.SetTeam("p2", []rom.StaffID{"roth"}, nil, b.trail("vega"))) // the others are as before

	rows, out := export(b, true)
	for _, r := range rows {
		if r.Space == ledger.SpaceKey && r.Key == "p1" || r.Space == ledger.SpaceBeside && r.Key == "p1" {
			t.Errorf("an erased patient's %s is exported", r.Space)
		}
	}
	if len(out.Final.Erased) != 1 {
		t.Errorf("final: %+v", out.Final)
	}
	to, in := restored(b, all(rows), ledger.Final{})
	if in.Erased != 0 || len(in.Unreadable) != 0 {
		t.Errorf("imported %+v", in)
	}
	kept.b = to
	_, err = to.Exchange(kept.request())
	wantErr(t, "exchange after the restore", err, ledger.ErrErased)
}

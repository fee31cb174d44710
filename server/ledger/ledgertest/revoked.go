package ledgertest

import (
	"bytes"
	"testing"

	"unsling/server/ledger"
	"unsling/sync/wire"
)

func testRevoked(t *testing.T, b *bench) {
	secret := b.invite("p1")
	ph := &phone{b: b, author: "ap", patient: "p1", from: 1}
	e := ph.enrolment(secret)
	e.Confirm = true
	if row, err := b.Enrol(e, b.trail("ap")); err != nil || row.State != ledger.Pending {
		t.Fatalf("%+v %v", row, err)
	}
	ph.write("one")
	if out := ph.exchange(); out.Code != wire.Pending || len(out.Lines) != 0 {
		t.Errorf("pending: %+v", out)
	}
	b.must(b.ConfirmAuthor("ap", b.trail("vega")))
	wantErr(t, "confirmed twice", b.ConfirmAuthor("ap", b.trail("vega")), ledger.ErrState)
	ph.exchange()
	b.must(appendOne(b, note("secret of the clinic")))
	b.must(b.RevokeAuthor("ap", b.trail("vega")))
	wantErr(t, "revoked twice", b.RevokeAuthor("ap", b.trail("vega")), ledger.ErrState)
	ph.write("two")
	ph.lines = append(ph.lines, []byte("no record"))
	ph.write("four")
	out := ph.exchange()
	if out.Reply.State != wire.Revoked || out.Reply.Ack.N != 4 || out.Reply.Ack.Hash != wire.HashOf(ph.lines[3]) ||
		len(out.Lines) != 0 || out.Reply.Seq != 0 || out.Reply.Head != (wire.Cursor{}) || out.Reply.More {
		t.Errorf("revoked: %+v", out)
	}
	ph.from = 1
	if out := ph.exchange(); out.Code != "" || out.Reply.Ack.N != 4 {
		t.Errorf("revoked, sent again: %+v", out)
	}
	other := &phone{b: b, author: "ap", patient: "p1", from: 2, lines: [][]byte{ph.lines[0]}}
	other.write("another two")
	if out := other.exchange(); out.Code != wire.Fork {
		t.Errorf("revoked and forked: %+v", out)
	}
	if lines, _ := b.Read("p1", 1, 0); len(lines) != 2 {
		t.Errorf("log holds sealed lines: %d", len(lines))
	}
	sealed, err := b.Sealed("ap")
	if err != nil || len(sealed) != 3 || !bytes.Equal(sealed[0].Bytes, ph.lines[1]) {
		t.Errorf("sealed: %+v %v", sealed, err)
	}
	released, err := b.Release("ap", b.trail("vega"))
	if err != nil || len(released) != 2 || released[0].Seq != 3 || released[1].N != 4 {
		t.Errorf("released: %+v %v", released, err)
	}
	if again, err := b.Release("ap", b.trail("vega")); err != nil || len(again) != 0 {
		t.Errorf("released again: %+v %v", again, err)
	}
	ph.write("five")
	if out := ph.exchange(); out.Reply.Ack.N != 5 || out.Reply.State != wire.Revoked {
		t.Errorf("after the release: %+v", out)
	}
	if sealed, _ := b.Sealed("ap"); len(sealed) != 1 || sealed[0].N != 5 {
		t.Errorf("sealed after the release: %+v", sealed)
	}
	active := b.enrol("p1")
	_, err = b.Release(active.author, b.trail("vega"))
	wantErr(t, "release of an active phone", err, ledger.ErrState)
}

package ledgertest

import (
	"bytes"
	"testing"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

// What somebody had seen is the person's own and is replaced as a whole.
func testLook(t *testing.T, b *bench) {
	_, err := b.Look("vega")
	wantErr(t, "before the first", err, ledger.ErrUnknown)
	wantErr(t, "nobody's", b.SetLook(ledger.Look{Staff: "nobody", At: b.now}, b.trail("vega")), ledger.ErrUnknown)
	for _, seen := range []string{"eight by", "eight bytes each"} {
		b.must(b.SetLook(ledger.Look{Staff: "vega", At: b.now, Seen: []byte(seen)}, b.trail("vega")))
		got, err := b.Look("vega")
		if err != nil || got.Staff != "vega" || !got.At.Equal(b.now) || !bytes.Equal(got.Seen, []byte(seen)) {
			t.Errorf("%+v %v", got, err)
		}
	}
	_, err = b.Look("roth")
	wantErr(t, "another person's", err, ledger.ErrUnknown)
}

// Heads is Panel but for what the logs say.
func testHeads(t *testing.T, b *bench) {
	b.must(b.CreatePatient(ledger.Patient{ID: "p3", Name: "With records"}, []rom.StaffID{"roth"}, []ledger.Draft{note("first"), note("second")}, b.trail("roth")))
	for _, who := range []rom.StaffID{"vega", "roth", "nobody", ""} {
		panel, err := b.Panel(who)
		b.must(err)
		heads, err := b.Heads(who)
		if err != nil || len(heads) != len(panel) {
			t.Fatalf("%q: %d heads of %d rows: %v", who, len(heads), len(panel), err)
		}
		for i, h := range heads {
			p := panel[i]
			if h.Patient != p.Patient || h.Facts.Seq != p.Facts.Seq || h.Facts.Version != p.Facts.Version || h.Facts.Data != nil || len(h.Phones) != len(p.Phones) || h.Quarantined != p.Quarantined {
				t.Errorf("%q: head %+v of %+v", who, h, p)
			}
		}
	}
}

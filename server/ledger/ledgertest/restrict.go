package ledgertest

import (
	"testing"

	"unsling/server/ledger"
)

// A restriction begins once, is lifted by somebody else, survives a change of
// the row, and both acts are in the audit log with their reason.
func testRestrict(t *testing.T, b *bench) {
	why := func(text string) ledger.Trail {
		trail := b.trail("vega")
		trail.Reason = text
		return trail
	}
	wantErr(t, "lift where there is none", b.Lift("p1", "roth", why("x")), ledger.ErrState)
	wantErr(t, "without a reason", b.Restrict("p1", ledger.Restriction{By: "vega", Reason: " "}, why("")), ledger.ErrState)
	wantErr(t, "a stranger", b.Restrict("nobody", ledger.Restriction{By: "vega", Reason: "asked"}, why("asked")), ledger.ErrUnknown)
	b.must(b.Restrict("p1", ledger.Restriction{By: "vega", Reason: "the patient contests a record"}, why("the patient contests a record")))
	wantErr(t, "twice", b.Restrict("p1", ledger.Restriction{By: "roth", Reason: "again"}, why("again")), ledger.ErrState)
	row, err := b.Patient("p1")
	if err != nil || row.RestrictedBy() != "vega" || row.Restricted.Reason != "the patient contests a record" || !row.Restricted.At.Equal(b.trail("vega").At) {
		t.Errorf("restricted: %+v %v", row.Restricted, err)
	}
	if other, _ := b.Patient("p2"); other.RestrictedBy() != "" {
		t.Error("somebody else was restricted too")
	}
	row.Name, row.Restricted = "Changed", nil
	b.must(b.PutPatient(row, b.trail("vega")))
	if row, _ = b.Patient("p1"); row.Name != "Changed" || row.RestrictedBy() != "vega" {
		t.Errorf("a change of the row lifted it: %+v", row)
	}
	row.ID = "p2"
	b.must(b.PutPatient(row, b.trail("vega")))
	if row, _ = b.Patient("p2"); row.RestrictedBy() != "" {
		t.Error("a change of the row began it")
	}
	wantErr(t, "lifted by who began it", b.Lift("p1", "vega", why("x")), ledger.ErrState)
	b.must(b.Lift("p1", "roth", why("settled, the patient was told")))
	if row, _ = b.Patient("p1"); row.Restricted != nil {
		t.Errorf("lifted: %+v", row.Restricted)
	}
	entries, err := b.Audit(1, 0)
	if err != nil {
		t.Fatal(err)
	}
	said := map[string]string{}
	for _, e := range entries {
		if e.Patient == "p1" {
			said[e.Act] = e.Reason
		}
	}
	if said["patient.restrict"] != "the patient contests a record" || said["patient.lift"] != "settled, the patient was told" {
		t.Errorf("in the audit log: %v", said)
	}
}

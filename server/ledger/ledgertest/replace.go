package ledgertest

import (
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

// replacing makes an invitation for p that takes the place of phones.
func (b *bench) replacing(p rom.PatientID, secret string, old ...rom.Author) {
	b.must(b.Invite(ledger.Invitation{
		ID: "inv-" + secret, Patient: p, Kind: ledger.AtDesk, Secrets: []string{secret}, Replaces: old,
		Made: b.now, Until: b.now.Add(15 * time.Minute),
	}, b.trail("vega")))
}

func (b *bench) states(p rom.PatientID) map[rom.Author]ledger.AuthorState {
	rows, err := b.Authors(p)
	b.must(err)
	out := map[rom.Author]ledger.AuthorState{}
	for _, r := range rows {
		out[r.ID] = r.State
	}
	return out
}

// The old phone's access ends in the moment in which the new one is let in,
// not before: somebody who never comes with the new phone keeps the old one.
func testReplacePhone(t *testing.T, b *bench) {
	old, other, stranger := b.enrol("p1"), b.enrol("p1"), b.enrol("p2")
	b.replacing("p1", "new", old.author, stranger.author, "a-nobody")
	if got := b.states("p1")[old.author]; got != ledger.Active {
		t.Errorf("the old phone is %s before the new one came", got)
	}
	wantErr(t, "a used secret", func() error {
		_, err := b.Enrol(ledger.Enrolment{Secret: "none", Author: "x1", Thumbprint: "kx", At: b.now}, b.trail("x1"))
		return err
	}(), ledger.ErrUnknown)
	b.now = b.now.Add(time.Minute)
	if _, err := b.Enrol(ledger.Enrolment{Secret: "new", Author: "new-1", Thumbprint: "k-new-1", At: b.now}, b.trail("new-1")); err != nil {
		t.Fatal(err)
	}
	got := b.states("p1")
	if got[old.author] != ledger.Revoked || got[other.author] != ledger.Active || got["new-1"] != ledger.Active {
		t.Errorf("after the new one joined: %v", got)
	}
	if got := b.states("p2")[stranger.author]; got != ledger.Active {
		t.Errorf("a phone of another patient is %s", got)
	}
	row, err := b.Author(old.author)
	if err != nil || !row.Revoked.Equal(b.now) {
		t.Errorf("the old phone: revoked at %v, %v; want %v", row.Revoked, err, b.now)
	}

	// Where staff must confirm, the old one stays until they have.
	b.replacing("p1", "third", "new-1")
	if _, err := b.Enrol(ledger.Enrolment{Secret: "third", Author: "new-2", Thumbprint: "k-new-2", Confirm: true, At: b.now}, b.trail("new-2")); err != nil {
		t.Fatal(err)
	}
	if got := b.states("p1"); got["new-1"] != ledger.Active || got["new-2"] != ledger.Pending {
		t.Errorf("before the numbers were compared: %v", got)
	}
	b.must(b.ConfirmAuthor("new-2", b.trail("vega")))
	if got := b.states("p1"); got["new-1"] != ledger.Revoked || got["new-2"] != ledger.Active {
		t.Errorf("after the numbers were compared: %v", got)
	}
	entries, err := b.Audit(0, 0)
	b.must(err)
	replaced := 0
	for _, e := range entries {
		if e.Act == "phone.replace" {
			replaced++
		}
	}
	if replaced != 2 {
		t.Errorf("%d entries of a replaced phone in the audit log, want 2", replaced)
	}
}

// A phone that is in may use a further code up: so it shows that the clinic
// gave its owner one.
func testEnrolAgain(t *testing.T, b *bench) {
	ph := b.enrol("p1")
	before, err := b.Author(ph.author)
	b.must(err)
	try := func(secret, thumb string) error {
		_, err := b.Enrol(ledger.Enrolment{Secret: secret, Author: ph.author, Thumbprint: thumb, At: b.now}, b.trail(string(ph.author)))
		return err
	}
	b.replacing("p1", "again")
	b.must(try("again", before.Thumbprint))
	after, err := b.Author(ph.author)
	if err != nil || !after.Enrolled.Equal(before.Enrolled) || after.Invitation != before.Invitation || after.State != ledger.Active {
		t.Errorf("the row changed: %+v, %v", after, err)
	}
	_, err = b.Enrol(ledger.Enrolment{Secret: "again", Author: "x", Thumbprint: "kx", At: b.now}, b.trail("x"))
	wantErr(t, "the code once more", err, ledger.ErrUsed)
	b.replacing("p1", "other-key")
	wantErr(t, "with another key", try("other-key", "k-other"), ledger.ErrDeviceTaken)
	b.replacing("p2", "other-patient")
	wantErr(t, "with the code of another patient", try("other-patient", before.Thumbprint), ledger.ErrDeviceTaken)
	b.must(b.RevokeAuthor(ph.author, b.trail("vega")))
	b.replacing("p1", "late")
	wantErr(t, "when revoked", try("late", before.Thumbprint), ledger.ErrDeviceTaken)
}

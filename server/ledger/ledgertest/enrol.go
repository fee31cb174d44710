package ledgertest

import (
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

func testEnrol(t *testing.T, b *bench) {
	ph := &phone{b: b, author: "a1", patient: "p1", from: 1}
	secret := b.invite("p1")
	first, err := b.Enrol(ph.enrolment(secret+"-typed"), b.trail("a1"))
	if err != nil || first.Check != "47" || first.Patient != "p1" || !first.Enrolled.Equal(b.now) {
		t.Fatalf("%+v %v", first, err)
	}
	b.now = b.now.Add(time.Hour) // the answer was lost; the code has expired meanwhile
	again, err := b.Enrol(ph.enrolment(secret), b.trail("a1"))
	if err != nil || again.ID != first.ID || !again.Enrolled.Equal(first.Enrolled) {
		t.Errorf("the same again: %+v %v", again, err)
	}
	row, err := b.Author("a1")
	if err != nil || row.State != ledger.Active || row.Thumbprint != "thumb-a1" {
		t.Errorf("row: %+v %v", row, err)
	}
	invs, err := b.Invitations("p1")
	if err != nil || len(invs) != 1 || invs[0].UsedBy != "a1" || invs[0].Tries != 0 {
		t.Errorf("invitation: %+v %v", invs, err)
	}
	rows, err := b.Authors("p1")
	if err != nil || len(rows) != 1 {
		t.Errorf("authors: %+v %v", rows, err)
	}
}

func testEnrolRefused(t *testing.T, b *bench) {
	try := func(author rom.Author, thumb, secret, pin string) error {
		_, err := b.Enrol(ledger.Enrolment{Secret: secret, PIN: pin, Author: author, Thumbprint: thumb, At: b.now}, b.trail(string(author)))
		return err
	}
	wantErr(t, "unknown code", try("a1", "k1", "nothing", ""), ledger.ErrUnknown)
	old := b.invite("p1")
	b.now = b.now.Add(15 * time.Minute)
	wantErr(t, "expired code", try("a1", "k1", old, ""), ledger.ErrExpired)

	secret := b.invite("p1")
	b.must(try("a1", "k1", secret, ""))
	wantErr(t, "used code", try("a2", "k2", secret, ""), ledger.ErrUsed)
	wantErr(t, "used code, same id, another key", try("a1", "k2", secret, ""), ledger.ErrUsed)
	second := b.invite("p2")
	wantErr(t, "id of another enrolment", try("a1", "k3", second, ""), ledger.ErrDeviceTaken)
	wantErr(t, "key of another enrolment", try("a3", "k1", second, ""), ledger.ErrDeviceTaken)
	b.must(try("a3", "k3", second, ""))
	for _, author := range []rom.Author{"c-clinic", "a/b", ""} {
		if try(author, "k9", b.invite("p1"), "") == nil {
			t.Errorf("author %q was enrolled", author)
		}
	}

	b.must(b.Invite(ledger.Invitation{ID: "home", Patient: "p1", Kind: ledger.TakeHome, Secrets: []string{"home-secret"}, PIN: "right",
		Made: b.now, Until: b.now.Add(7 * 24 * time.Hour)}, b.trail("vega")))
	for range ledger.MaxTries {
		wantErr(t, "wrong number", try("a4", "k4", "home-secret", "wrong"), ledger.ErrWrongPIN)
	}
	wantErr(t, "right number after five wrong ones", try("a4", "k4", "home-secret", "right"), ledger.ErrTooMany)

	wantErr(t, "secret in use", b.Invite(ledger.Invitation{ID: "x", Patient: "p1", Secrets: []string{secret}}, b.trail("vega")), ledger.ErrTaken)
	wantErr(t, "invitation for nobody", b.Invite(ledger.Invitation{ID: "y", Patient: "p9", Secrets: []string{"s"}}, b.trail("vega")), ledger.ErrUnknown)
	_, err := b.Author("a9")
	wantErr(t, "unknown author", err, ledger.ErrUnknown)
}

// Fifty phones with one code: one is let in, the others are told that the
// code was used (OWASP ASVS 5.0, 15.4.2: check and use in one step).
func testEnrolRace(t *testing.T, b *bench) {
	secret := b.invite("p1")
	var wg sync.WaitGroup
	var mu sync.Mutex
	in, used := 0, 0
	for i := range 50 {
		wg.Go(func() {
			_, err := b.Enrol(ledger.Enrolment{Secret: secret, Author: rom.Author(fmt.Sprint("a", i)), Thumbprint: fmt.Sprint("k", i), At: b.now},
				ledger.Trail{At: b.now})
			mu.Lock()
			defer mu.Unlock()
			switch {
			case err == nil:
				in++
			case errors.Is(err, ledger.ErrUsed):
				used++
			default:
				t.Error(err)
			}
		})
	}
	wg.Wait()
	rows, err := b.Authors("p1")
	if err != nil || in != 1 || used != 49 || len(rows) != 1 {
		t.Errorf("%d let in, %d told used, %d rows, %v", in, used, len(rows), err)
	}
}

func testRegister(t *testing.T, b *bench) {
	ph := b.enrol("p1")
	e := ledger.Enrolment{Author: "copy", Key: []byte("{}"), Thumbprint: "k-copy", At: b.now}
	first, err := b.Register(ph.author, e, b.trail(string(ph.author)))
	if err != nil || first.Patient != "p1" || first.State != ledger.Active || first.CopyOf != ph.author {
		t.Fatalf("%+v %v", first, err)
	}
	if again, err := b.Register(ph.author, e, b.trail(string(ph.author))); err != nil || again.ID != first.ID {
		t.Errorf("again: %+v %v", again, err)
	}
	twin := &phone{b: b, author: "copy", patient: "p1", from: 1}
	twin.write("mine")
	if out := twin.exchange(); out.Code != "" || out.Reply.Ack.N != 1 {
		t.Errorf("exchange of the copy: %+v", out)
	}
	try := func(old, author rom.Author, thumb string) error {
		_, err := b.Register(old, ledger.Enrolment{Author: author, Thumbprint: thumb, At: b.now}, b.trail("x"))
		return err
	}
	wantErr(t, "unknown phone", try("a99", "x", "k-x"), ledger.ErrUnknown)
	wantErr(t, "id taken", try(ph.author, "copy", "k-other"), ledger.ErrDeviceTaken)
	wantErr(t, "key taken", try(ph.author, "x", "k-copy"), ledger.ErrDeviceTaken)
	b.must(b.RevokeAuthor("copy", b.trail("vega")))
	wantErr(t, "copy of a revoked phone", try("copy", "x", "k-x"), ledger.ErrState)
	for i := 0; ; i++ {
		err := try(ph.author, rom.Author(fmt.Sprint("more", i)), fmt.Sprint("k-more", i))
		if errors.Is(err, ledger.ErrTooMany) {
			break
		}
		if err != nil || i > ledger.MaxPhones {
			t.Fatalf("phone %d: %v", i, err)
		}
	}
}

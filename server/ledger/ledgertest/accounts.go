package ledgertest

import (
	"errors"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

// A change is made to the row as it stands, or not at all; what weakens the
// sign-in ends every session; the last administrator stays.
func testAccounts(t *testing.T, b *bench) {
	start := func(id string, who rom.StaffID) {
		b.must(b.StartSession(ledger.Session{ID: id, Staff: who, Started: b.now, Until: b.now.Add(12 * time.Hour)}, b.trail(string(who))))
	}
	live := func(id string) bool {
		s, _, err := b.Session(id)
		b.must(err)
		return s.Live(b.now)
	}
	start("s1", "vega")
	key := ledger.Passkey{ID: "k1", Name: "laptop", Record: []byte("{}"), Added: b.now}
	row, err := b.ChangeStaff("vega", "staff.passkey-add", b.trail("vega"), func(s *ledger.Staff) error {
		s.Factors.Passkeys = append(s.Factors.Passkeys, key)
		return nil
	})
	if err != nil || len(row.Factors.Passkeys) != 1 || !row.CanSignIn() || !live("s1") {
		t.Errorf("after adding a passkey: %+v %v", row, err)
	}
	got, err := b.Staff("vega")
	if err != nil || len(got.Factors.Passkeys) != 1 || got.Factors.Passkeys[0].Name != "laptop" || string(got.Factors.Passkeys[0].Record) != "{}" {
		t.Errorf("read again: %+v %v", got, err)
	}
	no := errors.New("no")
	_, err = b.ChangeStaff("vega", "x", b.trail("vega"), func(s *ledger.Staff) error { s.Name = "changed"; return no })
	wantErr(t, "a refused change", err, no)
	if got, _ := b.Staff("vega"); got.Name != "Dr Vega" {
		t.Errorf("a refused change was written: %+v", got)
	}
	for what, change := range map[string]func(*ledger.Staff){
		"login": func(s *ledger.Staff) { s.Login = "other" }, "id": func(s *ledger.Staff) { s.ID = "other" }, "role": func(s *ledger.Staff) { s.Role = "queen" },
	} {
		if _, err := b.ChangeStaff("vega", "x", b.trail("vega"), func(s *ledger.Staff) error { change(s); return nil }); err == nil {
			t.Errorf("another %s was taken", what)
		}
	}
	_, err = b.ChangeStaff("nobody", "x", b.trail("vega"), func(*ledger.Staff) error { return nil })
	wantErr(t, "nobody", err, ledger.ErrUnknown)

	for what, weaken := range map[string]func(*ledger.Staff){
		"without the passkey": func(s *ledger.Staff) { s.Factors.Passkeys = nil },
		"another password":    func(s *ledger.Staff) { s.Password = "another" },
		"another role":        func(s *ledger.Staff) { s.Role = ledger.Therapist },
		"disabled":            func(s *ledger.Staff) { s.Disabled = true },
	} {
		b.must(b.PutStaff(got, b.trail("x")))
		id := strings.ReplaceAll(what, " ", "-")
		start(id, "vega")
		_, err := b.ChangeStaff("vega", "staff.change", b.trail("x"), func(s *ledger.Staff) error { weaken(s); return nil })
		if err != nil || live(id) {
			t.Errorf("%s: session live %v, %v", what, live(id), err)
		}
	}

	admin := func(id rom.StaffID) {
		b.must(b.AddStaff(ledger.Staff{ID: id, Login: string(id), Role: ledger.Administrator, Password: "p"}, b.trail("x")))
	}
	off := func(id rom.StaffID) error {
		_, err := b.ChangeStaff(id, "staff.disable", b.trail("x"), func(s *ledger.Staff) error { s.Disabled = true; return nil })
		return err
	}
	admin("fenn")
	b.must(b.AddStaff(ledger.Staff{ID: "invited", Login: "invited", Role: ledger.Administrator}, b.trail("x"))) // cannot sign in yet
	wantErr(t, "the last administrator", off("fenn"), ledger.ErrLastAdministrator)
	_, err = b.ChangeStaff("fenn", "staff.change", b.trail("x"), func(s *ledger.Staff) error { s.Role = ledger.Assistant; return nil })
	wantErr(t, "another role for the last administrator", err, ledger.ErrLastAdministrator)
	admin("second")
	// Both at once: one of them stays.
	errs := make(chan error)
	for _, id := range []rom.StaffID{"fenn", "second"} {
		go func() { errs <- off(id) }()
	}
	one, two := <-errs, <-errs
	if (one == nil) == (two == nil) || !errors.Is(errors.Join(one, two), ledger.ErrLastAdministrator) {
		t.Errorf("both administrators at once: %v, %v", one, two)
	}
}

func testNextSession(t *testing.T, b *bench) {
	s := ledger.Session{ID: "s1", Staff: "vega", Started: b.now, Until: b.now.Add(12 * time.Hour)}
	b.must(b.StartSession(s, b.trail("vega")))
	next := s
	next.ID, next.Checked, next.How = "s2", b.now.Add(time.Hour), "passkey"
	b.must(b.NextSession("s1", next, b.trail("vega")))
	if old, _, err := b.Session("s1"); err != nil || old.Live(b.now) {
		t.Errorf("the old one is live: %v", err)
	}
	got, _, err := b.Session("s2")
	if err != nil || !got.Live(b.now) || !got.LastChecked().Equal(next.Checked) || got.How != "passkey" {
		t.Errorf("%+v %v", got, err)
	}
	next.ID = "s3"
	wantErr(t, "of an ended session", b.NextSession("s1", next, b.trail("vega")), ledger.ErrState)
	other := next
	other.Staff = "roth"
	wantErr(t, "for somebody else", b.NextSession("s2", other, b.trail("vega")), ledger.ErrState)
	next.ID = "s1"
	wantErr(t, "an id in use", b.NextSession("s2", next, b.trail("vega")), ledger.ErrTaken)
	all, err := b.Sessions("vega")
	if err != nil || len(all) != 1 || all[0].ID != "s2" {
		t.Errorf("sessions: %+v %v", all, err)
	}
}

func testEndGlass(t *testing.T, b *bench) {
	g := ledger.Glass{Patient: "p1", Staff: "roth", Reason: "fell at home, on call", From: b.now, Until: b.now.Add(time.Hour)}
	b.must(b.BreakGlass(g, b.trail("roth")))
	later := ledger.Glass{Patient: "p2", Staff: "roth", Reason: "another reason", From: b.now.Add(time.Minute), Until: b.now.Add(time.Hour)}
	b.must(b.BreakGlass(later, b.trail("roth")))
	if all, err := b.Breaks(); err != nil || len(all) != 2 || all[0].Patient != "p2" {
		t.Errorf("all: %+v %v", all, err)
	}
	wantErr(t, "nobody's", b.EndGlass("p1", "vega", b.trail("vega")), ledger.ErrUnknown)
	b.must(b.EndGlass("p1", "roth", b.trail("roth")))
	open, err := b.Glass("roth", b.now)
	if err != nil || len(open) != 0 {
		t.Errorf("still open: %+v %v", open, err)
	}
	if got, _ := b.Glass("roth", b.now.Add(2*time.Minute)); len(got) != 1 || got[0].Patient != "p2" {
		t.Errorf("the other one: %+v", got)
	}
	wantErr(t, "twice", b.EndGlass("p1", "roth", b.trail("roth")), ledger.ErrUnknown)
}

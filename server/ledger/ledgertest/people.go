package ledgertest

import (
	"errors"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

func wantErr(t *testing.T, what string, err, want error) {
	t.Helper()
	if !errors.Is(err, want) {
		t.Errorf("%s: %v, want %v", what, err, want)
	}
}

func testStaff(t *testing.T, b *bench) {
	got, err := b.StaffByLogin("vega")
	if err != nil || got.ID != "vega" || got.Role != ledger.Surgeon {
		t.Errorf("by login: %+v %v", got, err)
	}
	for what, s := range map[string]ledger.Staff{
		"same id": {ID: "vega", Login: "other", Role: ledger.Surgeon}, "same login": {ID: "other", Login: "vega", Role: ledger.Surgeon},
	} {
		wantErr(t, what, b.AddStaff(s, b.trail("x")), ledger.ErrTaken)
	}
	for what, s := range map[string]ledger.Staff{
		"no role": {ID: "x", Login: "x"}, "id with a slash": {ID: "a/b", Login: "x", Role: ledger.Surgeon},
		"upper case": {ID: "x", Login: "Vega", Role: ledger.Surgeon}, "no login": {ID: "x", Role: ledger.Surgeon},
	} {
		if b.AddStaff(s, b.trail("x")) == nil {
			t.Errorf("%s: added", what)
		}
	}
	_, err = b.StaffByLogin("nobody")
	wantErr(t, "unknown login", err, ledger.ErrUnknown)
	_, err = b.Staff("nobody")
	wantErr(t, "unknown id", err, ledger.ErrUnknown)
	wantErr(t, "change of nobody", b.PutStaff(ledger.Staff{ID: "nobody", Login: "n", Role: ledger.Surgeon}, b.trail("x")), ledger.ErrUnknown)

	roth, err := b.Staff("roth")
	b.must(err)
	roth.Login = "vega"
	wantErr(t, "login of another", b.PutStaff(roth, b.trail("x")), ledger.ErrTaken)
	roth.Login = "t.roth"
	b.must(b.PutStaff(roth, b.trail("x")))
	if got, err := b.StaffByLogin("t.roth"); err != nil || got.ID != "roth" {
		t.Errorf("after the change of login: %+v %v", got, err)
	}
	_, err = b.StaffByLogin("roth")
	wantErr(t, "old login", err, ledger.ErrUnknown)
	all, err := b.AllStaff()
	if err != nil || len(all) != 2 {
		t.Errorf("all staff: %v %v", all, err)
	}
	clinic, err := b.Clinic()
	if err != nil || clinic.Name != "Test practice" || clinic.Monitoring() {
		t.Errorf("clinic: %+v %v", clinic, err)
	}
}

func testSessions(t *testing.T, b *bench) {
	start := func(id string, who rom.StaffID) error {
		return b.StartSession(ledger.Session{ID: id, Staff: who, Started: b.now, Until: b.now.Add(12 * time.Hour)}, b.trail(string(who)))
	}
	b.must(start("s1", "vega"))
	b.must(start("s2", "vega"))
	b.must(start("s3", "roth"))
	wantErr(t, "same id", start("s1", "roth"), ledger.ErrTaken)
	wantErr(t, "nobody's", start("s4", "nobody"), ledger.ErrUnknown)
	sess, who, err := b.Session("s1")
	if err != nil || who.ID != "vega" || !sess.Live(b.now) || sess.Live(b.now.Add(12*time.Hour)) {
		t.Errorf("session: %+v %+v %v", sess, who, err)
	}
	b.must(b.EndSession("s1", b.trail("vega")))
	if sess, _, _ := b.Session("s1"); sess.Live(b.now) {
		t.Error("an ended session is live")
	}
	vega, err := b.Staff("vega")
	b.must(err)
	vega.Disabled = true
	b.must(b.PutStaff(vega, b.trail("admin")))
	if sess, who, _ := b.Session("s2"); sess.Live(b.now) || !who.Disabled {
		t.Error("the session of a disabled person is live")
	}
	if sess, _, _ := b.Session("s3"); !sess.Live(b.now) {
		t.Error("somebody else's session was ended")
	}
	wantErr(t, "sign-in of a disabled person", start("s5", "vega"), ledger.ErrState)
	_, _, err = b.Session("never")
	wantErr(t, "unknown session", err, ledger.ErrUnknown)
	wantErr(t, "end of an unknown session", b.EndSession("never", b.trail("x")), ledger.ErrUnknown)
}

func testAdoptions(t *testing.T, b *bench) {
	one := ledger.Adoption{Name: "cuff-small", Version: 1, By: "vega", At: b.now, Hash: "h", Body: []byte("text")}
	b.must(b.Adopt(one, b.trail("vega")))
	wantErr(t, "same version", b.Adopt(one, b.trail("vega")), ledger.ErrTaken)
	three := one
	three.Version = 3
	wantErr(t, "version with a gap", b.Adopt(three, b.trail("vega")), ledger.ErrTaken)
	two := one
	two.Version, two.Body = 2, []byte("changed")
	b.must(b.Adopt(two, b.trail("vega")))
	other := one
	other.Name = "cuff"
	b.must(b.Adopt(other, b.trail("vega")))
	all, err := b.Adoptions()
	if err != nil || len(all) != 3 || all[0].Name != "cuff" || string(all[1].Body) != "text" || string(all[2].Body) != "changed" {
		t.Errorf("adoptions: %+v %v", all, err)
	}
}

func testPatients(t *testing.T, b *bench) {
	row, err := b.Patient("p1")
	if err != nil || row.Name != "Invented p1" {
		t.Errorf("%+v %v", row, err)
	}
	row.Name = "Changed"
	b.must(b.PutPatient(row, b.trail("vega")))
	if row, _ := b.Patient("p1"); row.Name != "Changed" {
		t.Errorf("after the change: %+v", row)
	}
	create := func(p rom.PatientID, team ...rom.StaffID) error {
		return b.CreatePatient(ledger.Patient{ID: p}, team, nil, b.trail("vega"))
	}
	wantErr(t, "same id", create("p1", "vega"), ledger.ErrTaken)
	wantErr(t, "without a team", create("p3"), ledger.ErrState)
	wantErr(t, "with a stranger in the team", create("p3", "nobody"), ledger.ErrUnknown)
	if create("p/3", "vega") == nil {
		t.Error("id with a slash was taken")
	}
	_, err = b.Patient("p3")
	wantErr(t, "a refused patient", err, ledger.ErrUnknown)
	b.must(b.CreatePatient(ledger.Patient{ID: "p3", Name: "With records"}, []rom.StaffID{"roth"}, []ledger.Draft{note("first"), note("second")}, b.trail("roth")))
	lines, err := b.Read("p3", 1, 0)
	if err != nil || len(lines) != 2 || lines[1].Seq != 2 || lines[1].N != 2 {
		t.Errorf("first records: %+v %v", lines, err)
	}
	for who, want := range map[rom.StaffID]int{"vega": 2, "roth": 1, "nobody": 0, "": 3} {
		panel, err := b.Panel(who)
		if err != nil || len(panel) != want {
			t.Errorf("panel of %q has %d rows, want %d: %v", who, len(panel), want, err)
		}
	}
}

func testTeam(t *testing.T, b *bench) {
	b.must(b.SetTeam("p1", []rom.StaffID{"roth", "vega"}, nil, b.trail("vega")))
	team, err := b.Team("p1")
	if err != nil || len(team) != 2 || team[0].Staff != "roth" || team[0].By != "vega" || !team[0].Since.Equal(b.now) {
		t.Errorf("team: %+v %v", team, err)
	}
	b.must(b.SetTeam("p1", nil, []rom.StaffID{"vega"}, b.trail("roth")))
	if panel, _ := b.Panel("vega"); len(panel) != 1 || panel[0].Patient.ID != "p2" {
		t.Errorf("panel after leaving: %+v", panel)
	}
	wantErr(t, "nobody left", b.SetTeam("p1", nil, []rom.StaffID{"roth"}, b.trail("roth")), ledger.ErrState)
	if team, _ := b.Team("p1"); len(team) != 1 {
		t.Errorf("after the refusal: %+v", team)
	}
	wantErr(t, "stranger", b.SetTeam("p1", []rom.StaffID{"nobody"}, nil, b.trail("roth")), ledger.ErrUnknown)
	wantErr(t, "unknown patient", b.SetTeam("p9", []rom.StaffID{"roth"}, nil, b.trail("roth")), ledger.ErrUnknown)
	_, err = b.Team("p9")
	wantErr(t, "team of an unknown patient", err, ledger.ErrUnknown)
}

func testGlass(t *testing.T, b *bench) {
	g := ledger.Glass{Patient: "p1", Staff: "roth", Reason: "fell at home, on call", From: b.now, Until: b.now.Add(time.Hour)}
	b.must(b.BreakGlass(g, b.trail("roth")))
	for what, at := range map[string]time.Time{"at once": b.now, "at the end": b.now.Add(time.Hour)} {
		got, err := b.Glass("roth", at)
		if want := at.Before(g.Until); err != nil || (len(got) == 1) != want {
			t.Errorf("%s: %+v %v", what, got, err)
		}
	}
	if got, _ := b.Glass("vega", b.now); len(got) != 0 {
		t.Errorf("of somebody else: %+v", got)
	}
	later := g
	later.From, later.Until = b.now.Add(2*time.Hour), b.now.Add(3*time.Hour)
	b.must(b.BreakGlass(later, b.trail("roth")))
	if all, err := b.GlassOn("p1"); err != nil || len(all) != 2 || !all[0].From.Equal(later.From) {
		t.Errorf("on the patient: %+v %v", all, err)
	}
	g.Reason = ""
	wantErr(t, "without a reason", b.BreakGlass(g, b.trail("roth")), ledger.ErrState)
	g.Reason, g.Patient = "some reason", "p9"
	wantErr(t, "unknown patient", b.BreakGlass(g, b.trail("roth")), ledger.ErrUnknown)
}

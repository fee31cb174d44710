package ledgertest

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"slices"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// busy fills a bench with one of everything.
func busy(b *bench) (kept, lost *phone) {
	b.must(b.AddStaff(ledger.Staff{ID: "left", Login: "left", Role: ledger.Therapist}, b.trail("admin")))
	b.must(b.PutStaff(ledger.Staff{ID: "left", Login: "married", Role: ledger.Therapist}, b.trail("admin")))
	b.must(b.Adopt(ledger.Adoption{Name: "cuff", Version: 1, By: "vega", At: b.now, Hash: "h", Body: []byte("text")}, b.trail("vega")))
	kept, lost = b.enrol("p1"), b.enrol("p1")
	for i := range 5 {
		kept.write(fmt.Sprint(i))
		lost.write(fmt.Sprint(i))
	}
	kept.exchange()
	lost.exchange()
	b.must(appendOne(b, plan("e1", 0, 1)))
	b.must(appendOne(b, note("canary note")))
	b.must(b.SetTeam("p1", []rom.StaffID{"roth"}, nil, b.trail("vega")))
	b.must(b.BreakGlass(ledger.Glass{Patient: "p1", Staff: "roth", Reason: "canary reason", From: b.now, Until: b.now.Add(time.Hour)}, b.trail("roth")))
	b.invite("p1")
	return kept, lost
}

// mischief makes forks, a broken line, and sealed records.
func mischief(b *bench, kept, lost *phone) {
	broken := kept.request()
	broken.Request.Lines = [][]byte{[]byte("not a record")}
	out, err := b.Exchange(broken)
	b.must(err)
	if out.Reply.Ack.N != int64(len(kept.lines))+1 {
		b.t.Fatalf("the broken line was not acknowledged: %+v", out)
	}
	fork := kept.request()
	other := *kept
	other.lines = slices.Clone(kept.lines[:2])
	other.write("another third")
	fork.Request.Header.From, fork.Request.Lines = 3, other.lines[2:]
	if out, err = b.Exchange(fork); err != nil || out.Code != wire.Fork {
		b.t.Fatalf("fork: %+v %v", out, err)
	}
	b.must(b.RevokeAuthor(lost.author, b.trail("vega")))
	lost.write("after the loss")
	lost.exchange()
}

// export collects one export.
func export(b *bench, whole bool) ([]ledger.Row, ledger.Exported) {
	b.t.Helper()
	var rows []ledger.Row
	out, err := b.Export(whole, func(r ledger.Row) error {
		rows = append(rows, ledger.Row{Space: r.Space, Key: r.Key, Value: slices.Clone(r.Value)})
		return nil
	})
	b.must(err)
	return rows, out
}

// verified tells the store that the export was verified as segment n.
func verified(b *bench, n int, out ledger.Exported) {
	b.t.Helper()
	b.must(b.SetBackedUp(ledger.BackupState{Series: "s", Segment: n, Audit: out.Audit}, out, b.trail("server")))
}

func all(rows ...[]ledger.Row) iter.Seq2[ledger.Row, error] {
	return func(yield func(ledger.Row, error) bool) {
		for _, some := range rows {
			for _, r := range some {
				if !yield(r, nil) {
					return
				}
			}
		}
	}
}

// restored opens an empty store and imports.
func restored(b *bench, rows iter.Seq2[ledger.Row, error], final ledger.Final) (*bench, ledger.Imported) {
	b.t.Helper()
	place := ""
	if !b.setup.Forgets {
		place = b.t.TempDir()
	}
	to := &bench{t: b.t, setup: b.setup, place: place, now: b.now.Add(time.Hour), ids: b.ids}
	to.Store = b.setup.Open(b.t, place, TestKeys(), TestFold(1))
	b.t.Cleanup(func() { to.Close() })
	in, err := to.Import(rows, final, to.trail("server"))
	b.must(err)
	if r, err := to.Verify(context.Background()); err != nil || len(r.Faults) > 0 {
		b.t.Fatalf("verify after the restore: %+v %v", r.Faults, err)
	}
	return to, in
}

// What was exported in two steps is, imported, the same store in another
// epoch.
func testArchive(t *testing.T, b *bench) {
	if state, err := b.Backup(); err != nil || state.Series != "" || !state.Behind {
		t.Fatalf("before any backup: %+v %v", state, err)
	}
	kept, lost := busy(b)
	first, out := export(b, false)
	if out.New != 2 || out.Final == nil || out.Rows[ledger.SpaceLine] != 12 || out.Rows[ledger.SpaceKey] != 2 {
		t.Fatalf("first export: %+v", out)
	}
	verified(b, 1, out)
	if state, err := b.Backup(); err != nil || state.Behind || state.Segment != 1 || state.Audit != out.Audit {
		t.Fatalf("after the backup: %+v %v", state, err)
	}
	if row, err := b.Author(kept.author); err != nil || row.BackedUp != 5 {
		t.Errorf("backed up to %d, want 5: %v", row.BackedUp, err)
	}
	b.must(b.Note(ledger.Entry{At: b.now, Actor: "vega", Act: "patient.view", Patient: "p2"}))
	mischief(b, kept, lost)
	second, out := export(b, false)
	if out.New != 0 || out.Rows[ledger.SpaceLine] != 0 || out.Rows[ledger.SpacePatient] != 1 || out.Rows[ledger.SpaceAside] != 2 || out.Rows[ledger.SpaceSealed] != 1 {
		t.Fatalf("second export: %+v", out)
	}
	if out.Final == nil || out.Final.Revoked[lost.author].IsZero() {
		t.Errorf("final: %+v", out.Final)
	}
	verified(b, 2, out)
	third, out := export(b, false)
	if len(third) != 1 || third[0].Space != ledger.SpaceAudit || out.Final != nil {
		t.Errorf("nothing changed, yet exported: %+v", out)
	}
	to, in := restored(b, all(first, second, third), ledger.Final{})
	if in.Patients != 2 || in.Lines != 12 || in.Revoked+in.Erased+in.Disabled+len(in.Unreadable) != 0 || in.Audit != out.Audit {
		t.Errorf("imported %+v", in)
	}
	same(t, b.Store, to.Store, []rom.Author{kept.author, lost.author})
	old, _ := b.About()
	if about, _ := to.About(); about.Epoch == old.Epoch || about.Clinic == old.Clinic || about != in.About {
		t.Errorf("about %+v, was %+v", about, old)
	}
	_, err := to.Import(all(), ledger.Final{}, to.trail("server"))
	wantErr(t, "import into a store in use", err, ledger.ErrState)

	// The phone goes on where it was; what it has of the lost epoch stays.
	kept.lines, kept.from = append(kept.lines, []byte("not a record")), int64(len(kept.lines))+2
	kept.b = to
	kept.write("in the new epoch")
	if got := kept.exchange(); got.Code != "" || got.Reply.Ack.N != 7 {
		t.Errorf("exchange after the restore: %+v", got)
	}
	wantErr(t, "a stale plan after the restore", appendOne(to, plan("e1", 0, 1)), ledger.ErrStale)
	b.must(appendOne(to, plan("e1", 1, 2)))
}

// same compares two stores by what they answer.
func same(t *testing.T, a, b ledger.Store, phones []rom.Author) {
	t.Helper()
	ask := func(s ledger.Store) string {
		var out string
		add := func(v any, err error) { out += fmt.Sprintf("%+v %v\n", v, err) }
		for _, p := range []rom.PatientID{"p1", "p2"} {
			add(s.Patient(p))
			add(s.Team(p))
			add(s.GlassOn(p))
			add(s.Invitations(p))
			add(s.Read(p, 1, 0))
			add(s.Quarantine(p))
			add(s.Facts(p))
		}
		for _, x := range phones {
			row, err := s.Author(x)
			row.BackedUp = 0 // counts again in the new store
			add(row, err)
			add(s.Sealed(x))
		}
		add(s.AllStaff())
		_, err := s.StaffByLogin("left")
		add("a former login", err)
		add(s.Adoptions())
		add(s.Clinic())
		add(s.Audit(1, 20))
		add(s.Erasures())
		return out
	}
	if x, y := ask(a), ask(b); x != y {
		t.Errorf("restored store differs:\n%s\nwas\n%s", y, x)
	}
}

// A restore of an older state keeps what is final: the revoked phone, the
// person who left, the erased patient.
func testFinal(t *testing.T, b *bench) {
	kept, lost := busy(b)
	old, out := export(b, true)
	verified(b, 1, out)
	mischief(b, kept, lost)
	b.must(b.PutStaff(ledger.Staff{ID: "left", Login: "married", Role: ledger.Therapist, Disabled: true}, b.trail("admin")))
	b.must(b.AskErasure("p2", "vega", b.trail("vega")))
	_, err := b.Erase("p2", "roth", b.trail("roth"))
	b.must(err)
	_, out = export(b, false)
	to, in := restored(b, all(old), *out.Final)
	if in.Revoked != 1 || in.Erased != 1 || in.Disabled != 1 {
		t.Errorf("imported %+v", in)
	}
	if row, err := to.Author(lost.author); err != nil || row.State != ledger.Revoked {
		t.Errorf("the lost phone: %+v %v", row, err)
	}
	if row, err := to.Author(kept.author); err != nil || row.State != ledger.Active {
		t.Errorf("the other phone: %+v %v", row, err)
	}
	if s, err := to.Staff("left"); err != nil || !s.Disabled {
		t.Errorf("the person who left: %+v %v", s, err)
	}
	_, err = to.Patient("p2")
	wantErr(t, "the erased patient", err, ledger.ErrErased)
}

// An import that stops leaves a store that is not opened again.
func testImportStops(t *testing.T, b *bench) {
	busy(b)
	rows, _ := export(b, true)
	place := t.TempDir()
	to := b.setup.Open(t, place, TestKeys(), TestFold(1))
	torn := errors.New("torn tape")
	_, err := to.Import(func(yield func(ledger.Row, error) bool) {
		for _, r := range rows[:len(rows)/2] {
			if !yield(r, nil) {
				return
			}
		}
		yield(ledger.Row{}, torn)
	}, ledger.Final{}, b.trail("server"))
	wantErr(t, "a torn import", err, torn)
	b.must(to.Close())
	if b.setup.Forgets {
		return
	}
	if b.setup.Refuses == nil {
		t.Fatal("the setup cannot try to open a store")
	}
	wantErr(t, "open after a torn import", b.setup.Refuses(place, TestKeys(), TestFold(1)), ledger.ErrUnfinished)
}

// Rows that do not belong together are refused and not taken for truth.
func testImportSpoilt(t *testing.T, b *bench) {
	kept, lost := busy(b)
	mischief(b, kept, lost)
	rows, _ := export(b, true)
	for name, spoil := range map[string]func(rows []ledger.Row) []ledger.Row{
		"line gone": func(rows []ledger.Row) []ledger.Row {
			return slices.DeleteFunc(rows, func(r ledger.Row) bool { return r.Space == ledger.SpaceLine && r.Key == "p1/4" })
		},
		"line of another": func(rows []ledger.Row) []ledger.Row {
			for i, r := range rows {
				if r.Space == ledger.SpaceLine && r.Key == "p1/4" {
					rows[i].Value = slices.Clone(rows[i-1].Value)
				}
			}
			return rows
		},
		"audit entry gone": func(rows []ledger.Row) []ledger.Row {
			return slices.DeleteFunc(rows, func(r ledger.Row) bool { return r.Space == ledger.SpaceAudit && r.Key == "3" })
		},
		"key with another's name": func(rows []ledger.Row) []ledger.Row {
			for i, r := range rows {
				if r.Space == ledger.SpaceKey && r.Key == "p1" {
					rows[i].Key = "p2"
				}
			}
			return rows
		},
		"unknown space": func(rows []ledger.Row) []ledger.Row { return append(rows, ledger.Row{Space: "later", Key: "1"}) },
	} {
		place := ""
		if !b.setup.Forgets {
			place = t.TempDir()
		}
		to := b.setup.Open(t, place, TestKeys(), TestFold(1))
		if _, err := to.Import(all(spoil(slices.Clone(rows))), ledger.Final{}, b.trail("server")); err == nil {
			t.Errorf("%s: imported all the same", name)
		}
		b.must(to.Close())
	}
}

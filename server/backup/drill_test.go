package backup

import (
	"bytes"
	"context"
	"errors"
	"os"
	"strings"
	"testing"
	"time"

	"unsling/server/ledger"
)

// The restore drill. The machine is lost on Wednesday; what is left is
// Monday's backup and, newer, what is final. A phone refills its gap over
// HTTP and gives back the clinic's records of Tuesday, the phone that was
// reported lost on Tuesday stays revoked, and the erased patient erased.
func TestRestoreDrill(t *testing.T) {
	c := newClinic(t)
	kept, lost, gone := c.phone("p1"), c.phone("p1"), c.phone("p2")
	kept.write("monday 1", "monday 2")
	kept.sync()
	lost.write("lost phone, monday")
	lost.sync()
	gone.write("of the erased patient")
	gone.sync()
	c.note("p1", "clinic, monday")
	monday := c.run()
	if monday.Lines != 5 || monday.Why == "" {
		t.Fatalf("monday: %+v", monday)
	}
	if res := kept.sync(); res.State.BackedUp != 2 {
		t.Errorf("the phone is told that %d of 2 are backed up", res.State.BackedUp)
	}
	until := c.now()

	c.later(24 * time.Hour)
	c.note("p1", "clinic, tuesday")
	kept.write("tuesday 1", "tuesday 2")
	kept.sync()
	kept.sync() // has the clinic's note of Tuesday
	must(t, c.store.RevokeAuthor(lost.author(), c.trail("vega")))
	must(t, c.store.AskErasure("p2", "vega", c.trail("vega")))
	if _, err := c.store.Erase("p2", "roth", c.trail("roth")); err != nil {
		t.Fatal(err)
	}
	c.run()
	old, _ := c.store.About()
	must(t, c.store.Close())

	c.later(24 * time.Hour)
	choice := c.choice()
	choice.Until = until
	restored, in, err := c.restore(choice)
	must(t, err)
	if in.Patients != 2 || in.Lines != 5 || in.Revoked != 1 || in.Erased != 1 || in.Audit != auditAt(t, choice) {
		t.Errorf("restored %+v", in)
	}
	c.store = restored
	c.serve()
	if about, _ := c.store.About(); about.Epoch == old.Epoch || about.Clinic == old.Clinic {
		t.Error("the restored store is in the old epoch")
	}
	kept.write("wednesday")
	for range 2 {
		if res := kept.sync(); !res.Done || res.Unsent != 0 {
			t.Errorf("after the restore: %+v", res)
		}
	}
	lines, err := c.store.Read("p1", 1, 0)
	must(t, err)
	var text bytes.Buffer
	for _, l := range lines {
		text.Write(l.Bytes)
	}
	for _, want := range []string{"monday 1", "monday 2", "clinic, monday", "lost phone, monday", "clinic, tuesday", "tuesday 1", "tuesday 2", "wednesday"} {
		if strings.Count(text.String(), `"`+want+`"`) != 1 {
			t.Errorf("%q is in the log %d times", want, strings.Count(text.String(), want))
		}
	}
	if len(lines) != 8 {
		t.Errorf("the log has %d lines, want 8", len(lines))
	}
	lost.write("lost phone, wednesday")
	if res := lost.sync(); !res.State.Revoked {
		t.Errorf("the lost phone is back: %+v", res.State)
	}
	if sealed, err := c.store.Sealed(lost.author()); err != nil || len(sealed) != 1 {
		t.Errorf("what the lost phone sent: %d sealed, %v", len(sealed), err)
	}
	if _, err := c.store.Patient("p2"); !errors.Is(err, ledger.ErrErased) {
		t.Errorf("the erased patient: %v", err)
	}
	// Everything from the restored store goes into a series of its own.
	if res := c.run(); res.Why == "" || res.Lines != 9 {
		t.Errorf("first backup after the restore: %+v", res)
	}
	if res := kept.sync(); res.State.BackedUp != 5 {
		t.Errorf("backed up %d of 5", res.State.BackedUp)
	}
}

func auditAt(t *testing.T, choice Choice) ledger.Head {
	t.Helper()
	s, err := Open(choice)
	must(t, err)
	return s.Last().Audit
}

// A phone tells its patient only what a verified backup really holds.
func TestMarksRiseAfterVerification(t *testing.T) {
	c := newClinic(t)
	p := c.phone("p1")
	p.write("one", "two")
	p.sync()
	c.backup.Folder = "/proc/nowhere" // cannot be written
	if _, err := c.backup.Run(context.Background()); err == nil {
		t.Fatal("a backup into nowhere succeeded")
	}
	if res := p.sync(); res.State.BackedUp != 0 {
		t.Errorf("backed up %d without a backup", res.State.BackedUp)
	}
	c.backup.Folder = c.folder
	c.run()
	if res := p.sync(); res.State.BackedUp != 2 {
		t.Errorf("backed up %d, want 2", res.State.BackedUp)
	}
	if res := c.run(); !res.Nothing {
		t.Errorf("nothing changed: %+v", res)
	}
	p.write("three")
	p.sync()
	if res := c.run(); res.Nothing || res.Lines != 1 || res.Segment != 2 || res.Why != "" {
		t.Errorf("one record: %+v", res)
	}
}

// No file of the folder can be read without the identity, and with it the
// patient's words are still encrypted.
func TestNothingInClear(t *testing.T) {
	c := newClinic(t)
	p := c.phone("p1")
	p.write("canary text")
	p.sync()
	c.note("p1", "canary note")
	must(t, c.store.BreakGlass(ledger.Glass{Patient: "p1", Staff: "roth", Reason: "canary reason", From: c.now(), Until: c.now().Add(1)}, c.trail("roth")))
	c.run()
	canaries := []string{"canary", "Canary", "vega", string(p.author()), `"p1"`}
	for _, path := range files(t, c.folder) {
		text, err := os.ReadFile(path)
		must(t, err)
		for _, w := range canaries {
			if bytes.Contains(text, []byte(w)) {
				t.Errorf("%s holds %q", path, w)
			}
		}
	}
	s, err := Open(c.choice())
	must(t, err)
	rows := 0
	for r, err := range s.Rows() {
		must(t, err)
		rows++
		if r.Space == ledger.SpaceAudit {
			continue // says who looked and why
		}
		for _, w := range []string{"canary", "Canary"} {
			if bytes.Contains(r.Value, []byte(w)) {
				t.Errorf("row %s %s holds %q", r.Space, r.Key, w)
			}
		}
	}
	if rows == 0 {
		t.Fatal("no rows")
	}
}

// An erasure reaches the series that were written before it.
func TestErasureReachesOldSeries(t *testing.T) {
	c := newClinic(t)
	p := c.phone("p1")
	p.write("one")
	p.sync()
	c.run()
	before := c.now()
	if store, in, err := c.restore(c.choice()); err != nil || in.Erased != 0 {
		t.Fatalf("%+v %v", in, err)
	} else {
		if row, err := store.Patient("p1"); err != nil || row.Name != "Canary Surname" {
			t.Fatalf("before the erasure: %+v %v", row, err)
		}
		must(t, store.Close())
	}
	must(t, c.store.AskErasure("p1", "vega", c.trail("vega")))
	if _, err := c.store.Erase("p1", "roth", c.trail("roth")); err != nil {
		t.Fatal(err)
	}
	c.run()
	if _, err := os.Stat(keyFile(c.folder, "p1")); err == nil {
		t.Error("the key file of the erased patient is still there")
	}
	for _, until := range []time.Time{before, {}} {
		choice := c.choice()
		choice.Until = until
		store, _, err := c.restore(choice)
		must(t, err)
		if _, err := store.Patient("p1"); !errors.Is(err, ledger.ErrErased) {
			t.Errorf("restored until %v: %v", until, err)
		}
		if r, err := store.Verify(context.Background()); err != nil || len(r.Faults) > 0 {
			t.Errorf("restored until %v: %+v %v", until, r.Faults, err)
		}
		must(t, store.Close())
	}
	if _, err := p.syncer.Sync(context.Background()); err == nil {
		res := p.sync()
		if res.Code == "" {
			t.Errorf("the erased patient's phone hears nothing of it: %+v", res)
		}
	}
}

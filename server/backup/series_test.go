package backup

import (
	"encoding/json"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"filippo.io/age"

	"unsling/server/ledger"
)

func jsonOf(t *testing.T, v any) func(io.Writer) error {
	text, err := json.Marshal(v)
	must(t, err)
	return func(w io.Writer) error { _, err := w.Write(text); return err }
}

// encrypted writes a segment of one row.
func encrypted(t *testing.T, c *clinic, h Header, r ledger.Row, audit ledger.Head) func(io.Writer) error {
	t.Helper()
	return func(w io.Writer) error {
		enc, err := age.Encrypt(w, c.id.Recipient())
		if err != nil {
			return err
		}
		s, err := newSegmentWriter(enc, h)
		return errors.Join(err, s.row(r), s.close(audit), enc.Close())
	}
}

func series(t *testing.T, c *clinic) (names, kept []string) {
	t.Helper()
	entries, err := os.ReadDir(filepath.Join(c.folder, seriesFolder))
	must(t, err)
	for _, e := range entries {
		names = append(names, e.Name())
		if _, err := os.Stat(filepath.Join(c.folder, seriesFolder, e.Name(), keepFile)); err == nil {
			kept = append(kept, e.Name())
		}
	}
	return names, kept
}

// A long series is followed by another; the one before stays, older ones go.
func TestSeriesRotate(t *testing.T) {
	c := newClinic(t)
	c.backup.MaxSegments = 2
	p := c.phone("p1")
	var begun []string
	for i := range 7 {
		p.write("x")
		p.sync()
		if res := c.run(); res.Why != "" {
			begun = append(begun, res.Series)
			if res.Lines != int64(i)+1 {
				t.Errorf("a new series with %d of %d records", res.Lines, i+1)
			}
		}
	}
	names, kept := series(t, c)
	if len(begun) != 4 || len(names) != 2 || names[0] != begun[2] || names[1] != begun[3] || len(kept) != 0 {
		t.Errorf("begun %v, there are %v, kept %v", begun, names, kept)
	}
	store, in, err := c.restore(c.choice())
	must(t, err)
	must(t, store.Close())
	if in.Lines != 7 {
		t.Errorf("restored %+v", in)
	}
}

// The run stopped between the manifest and the store's own note of it: the
// next one begins a series, and the one before is kept.
func TestStoppedBeforeTheStoreKnew(t *testing.T) {
	c := filled(t)
	p := c.phone("p2")
	p.write("in the segment that nobody heard of")
	p.sync()
	deaf := *c.backup
	deaf.Store = deafStore{c.store}
	if _, err := deaf.Run(t.Context()); err == nil {
		t.Fatal("the store heard of it")
	}
	if res := p.sync(); res.State.BackedUp != 0 {
		t.Error("the mark rose all the same")
	}
	if res := c.run(); !strings.Contains(res.Why, "ends elsewhere") || res.Lines != 4 {
		t.Errorf("%+v", res)
	}
	if names, kept := series(t, c); len(names) != 2 || len(kept) != 1 {
		t.Errorf("series %v, kept %v", names, kept)
	}
}

type deafStore struct{ Store }

func (deafStore) SetBackedUp(ledger.BackupState, ledger.Exported, ledger.Trail) error {
	return errors.New("killed")
}

// The store lost what was backed up (an old copy of its folder was put
// back): the series that has it is kept.
func TestStoreWentBack(t *testing.T) {
	c := newClinic(t)
	p := c.phone("p1")
	p.write("one")
	p.sync()
	c.run()
	must(t, c.store.Close())
	old := filepath.Join(t.TempDir(), "old")
	must(t, os.CopyFS(old, os.DirFS(c.dir)))
	c.open(c.dir)
	p.write("two")
	p.sync()
	c.run()
	had, _ := series(t, c)
	must(t, c.store.Close())
	c.open(old)
	c.note("p1", "written after the old copy was put back")
	if res := c.run(); res.Why == "" {
		t.Errorf("%+v", res)
	}
	if names, kept := series(t, c); len(names) != 2 || len(kept) != 1 || kept[0] != had[0] {
		t.Errorf("series %v, kept %v", names, kept)
	}
	choice := c.choice()
	choice.Series = had[0]
	store, in, err := c.restore(choice)
	must(t, err)
	must(t, store.Close())
	if in.Lines != 2 {
		t.Errorf("the kept series holds %d records", in.Lines)
	}
}

// Folders that are gone, other recipients and leftovers of a killed run.
func TestNewSeries(t *testing.T) {
	c := filled(t)
	other, err := age.GenerateX25519Identity()
	must(t, err)
	c.backup.Recipient = other.Recipient().String()
	if res := c.run(); res.Why != "another recipient" || res.Lines != 3 {
		t.Errorf("another recipient: %+v", res)
	}
	left := filepath.Join(c.folder, keysFolder, unfinishedPrefix+"1")
	must(t, os.WriteFile(left, []byte("half"), 0o600))
	must(t, os.RemoveAll(filepath.Join(c.folder, seriesFolder)))
	if res := c.run(); !strings.Contains(res.Why, "does not hold the series") || res.Lines != 3 {
		t.Errorf("the series is gone: %+v", res)
	}
	if _, err := os.Stat(left); err == nil {
		t.Error("what a killed run left is still there")
	}
	c.id = other
	must(t, os.Remove(filepath.Join(c.folder, finalFile)))
	if res := c.run(); !strings.Contains(res.Why, finalFile) {
		t.Errorf("what is final is gone: %+v", res)
	}
	store, in, err := c.restore(c.choice())
	must(t, err)
	must(t, store.Close())
	if in.Lines != 3 {
		t.Errorf("restored %+v", in)
	}
	c.backup.Recipient = "ssh-ed25519 AAAA"
	if _, err := c.backup.Run(t.Context()); err == nil {
		t.Error("a recipient that is none was taken")
	}
}

// A patient whom the store cannot read holds nobody else up, and is tried
// again.
func TestDamagedPatientIsNamed(t *testing.T) {
	c := filled(t)
	c.note("p2", "two")
	sick := *c.backup
	sick.Store = sickStore{c.store}
	c.later(1e9)
	res, err := sick.Run(t.Context())
	must(t, err)
	if len(res.Damaged) != 1 {
		t.Errorf("%+v", res)
	}
	state, err := c.store.Backup()
	if err != nil || len(state.Damaged) != 1 {
		t.Errorf("%+v %v", state, err)
	}
	c.note("p1", "so that there is something to do")
	if res := c.run(); len(res.Damaged) != 0 || res.Lines != 1 {
		t.Errorf("%+v", res)
	}
	if state, _ := c.store.Backup(); len(state.Damaged) != 0 {
		t.Errorf("%+v", state)
	}
}

type sickStore struct{ Store }

func (s sickStore) Export(whole bool, f func(ledger.Row) error) (ledger.Exported, error) {
	out, err := s.Store.Export(whole, f)
	out.Damaged = append(out.Damaged, "p2")
	return out, err
}

package backup

import (
	"flag"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"filippo.io/age"

	"unsling/server/ledger"
)

// A backup of every format that was ever written is kept in testdata and
// never made again: it must always be restored. The identity beside it is
// the test's own.
var makeFixture = flag.Bool("make-fixture", false, "make the fixture of the present format, if there is none")

func TestEveryFormatIsRestored(t *testing.T) {
	const dir = "testdata/format-1"
	if *makeFixture {
		writeFixture(t, dir)
	}
	text, err := os.ReadFile(filepath.Join(dir, "identity.txt"))
	must(t, err)
	id, err := age.ParseX25519Identity(strings.TrimSpace(string(text)))
	must(t, err)
	c := newClinic(t)
	c.id, c.folder = id, filepath.Join(dir, "folder")
	s, err := Open(c.choice())
	must(t, err)
	must(t, s.Check())
	store, in, err := c.restore(c.choice())
	must(t, err)
	defer store.Close()
	if in.Patients != 2 || in.Lines != 4 || in.Erased != 0 || len(in.Unreadable) != 0 {
		t.Errorf("%+v", in)
	}
	if p, err := store.Patient("p1"); err != nil || p.Name != "Canary Surname" {
		t.Errorf("patient: %+v %v", p, err)
	}
	lines, err := store.Read("p1", 1, 0)
	if err != nil || len(lines) != 3 || !strings.Contains(string(lines[0].Bytes), `"one"`) {
		t.Errorf("%d lines: %v", len(lines), err)
	}
	if phones, err := store.Authors("p1"); err != nil || len(phones) != 1 || phones[0].State != ledger.Revoked {
		t.Errorf("phones: %+v %v", phones, err)
	}
	if r, err := store.Verify(t.Context()); err != nil || len(r.Faults) > 0 {
		t.Errorf("verify: %+v %v", r, err)
	}
}

func writeFixture(t *testing.T, dir string) {
	if _, err := os.Stat(dir); err == nil {
		t.Fatalf("%s is there already and stays as it is", dir)
	}
	c := newClinic(t)
	p, gone := c.phone("p1"), c.phone("p2")
	p.write("one", "two")
	p.sync()
	gone.write("of the erased patient")
	gone.sync()
	c.run()
	c.note("p1", "an invented note")
	must(t, c.store.RevokeAuthor(p.author(), c.trail("vega")))
	must(t, c.store.AskErasure("p2", "vega", c.trail("vega")))
	_, err := c.store.Erase("p2", "roth", c.trail("roth"))
	must(t, err)
	c.run()
	must(t, os.CopyFS(filepath.Join(dir, "folder"), os.DirFS(c.folder)))
	_, _, err = writeFile(filepath.Join(dir, "identity.txt"), func(w io.Writer) error {
		_, err := io.WriteString(w, c.id.String()+"\n")
		return err
	})
	must(t, err)
}

package backup

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"filippo.io/age"

	"unsling/server/ledger"
)

// filled is a clinic with a series of three segments.
func filled(t *testing.T) *clinic {
	c := newClinic(t)
	p := c.phone("p1")
	for _, text := range []string{"one", "two", "three"} {
		p.write(text)
		p.sync()
		c.run()
	}
	return c
}

// Whatever happens to a file of the folder is found, by the check without
// the identity where hashes tell, and by the restore in any case.
func TestDamageIsFound(t *testing.T) {
	c := filled(t)
	good, err := Open(c.choice())
	must(t, err)
	must(t, good.Check())
	dir := filepath.Join(c.folder, seriesFolder, good.Manifest.Series)
	seg := filepath.Join(dir, segmentName(2))
	manifest := filepath.Join(dir, manifestFile)
	replace := func(path, old, new string) func() {
		return func() {
			text, err := os.ReadFile(path)
			must(t, err)
			if !strings.Contains(string(text), old) {
				t.Fatalf("%s does not hold %q", path, old)
			}
			must(t, os.WriteFile(path, []byte(strings.Replace(string(text), old, new, 1)), 0o600))
		}
	}
	flip := func(path string, at int) func() {
		return func() {
			b, err := os.ReadFile(path)
			must(t, err)
			b[(at+len(b))%len(b)] ^= 1
			must(t, os.WriteFile(path, b, 0o600))
		}
	}
	cut := func(path string, by int64) func() {
		return func() {
			info, err := os.Stat(path)
			must(t, err)
			must(t, os.Truncate(path, info.Size()-by))
		}
	}
	remove := func(path string) func() { return func() { must(t, os.Remove(path)) } }
	for _, d := range []struct {
		name    string
		path    string
		do      func()
		checked bool // found without the identity too
	}{
		{"a bit in a segment", seg, flip(seg, 700), true},
		{"last byte of a segment", seg, flip(seg, -1), true},
		{"segment cut short", seg, cut(seg, 20), true},
		{"segment gone", seg, remove(seg), true},
		{"segment put in place of another", seg, func() {
			b, err := os.ReadFile(filepath.Join(dir, segmentName(3)))
			must(t, err)
			must(t, os.WriteFile(seg, b, 0o600))
		}, true},
		{"manifest with another count", manifest, replace(manifest, `"lines": 3`, `"lines": 2`), true},
		{"manifest without its MAC", manifest, replace(manifest, `"mac"`, `"mad"`), true},
		{"manifest that is not JSON", manifest, replace(manifest, `{`, ``), true},
		{"manifest gone", manifest, remove(manifest), true},
		{"a bit in a key file", keyFile(c.folder, "p1"), flip(keyFile(c.folder, "p1"), -1), false},
		{"what is final gone", filepath.Join(c.folder, finalFile), remove(filepath.Join(c.folder, finalFile)), false},
		{"a bit in what is final", filepath.Join(c.folder, finalFile), flip(filepath.Join(c.folder, finalFile), -1), false},
	} {
		t.Run(d.name, func(t *testing.T) {
			keep, err := os.ReadFile(d.path)
			must(t, err)
			defer func() { must(t, os.WriteFile(d.path, keep, 0o600)) }()
			d.do()
			s, err := Open(c.choice())
			if err == nil {
				err = s.Check()
			}
			if (err != nil) != d.checked {
				t.Errorf("checked without the identity: %v", err)
			}
			if store, _, err := c.restore(c.choice()); err == nil {
				t.Error("restored all the same")
				must(t, store.Close())
			}
		})
	}
	if store, _, err := c.restore(c.choice()); err != nil {
		t.Errorf("undamaged: %v", err)
	} else {
		must(t, store.Close())
	}
}

// A key file that is gone without an erasure names the patient, whose rows
// cannot be read; the others come back.
func TestKeyFileGone(t *testing.T) {
	c := filled(t)
	must(t, os.Remove(keyFile(c.folder, "p1")))
	store, in, err := c.restore(c.choice())
	must(t, err)
	defer store.Close()
	if len(in.Unreadable) != 1 || in.Unreadable[0] != "p1" {
		t.Errorf("%+v", in)
	}
	if _, err := store.Patient("p2"); err != nil {
		t.Errorf("the other patient: %v", err)
	}
}

// Who can write to the folder but has no keyring cannot slip in a row.
func TestForgedSegment(t *testing.T) {
	c := filled(t)
	forger := *c.backup
	forger.Key = []byte("another keyring, as good as none")
	if _, err := forger.Run(t.Context()); !errors.Is(err, ErrFolder) {
		t.Errorf("another clinic wrote into the folder: %v", err)
	}
	s, err := Open(c.choice())
	must(t, err)
	m := s.Manifest
	path := filepath.Join(c.folder, seriesFolder, m.Series, segmentName(4))
	size, sum, err := writeFile(path, encrypted(t, c, Header{Series: m.Series, Segment: 4, Prev: m.last().Sum, Layout: m.Layout},
		ledger.Row{Space: ledger.SpaceStaff, Key: "mallory", Value: []byte(`{"id":"mallory","login":"m","role":"administrator"}`)}, m.last().Audit))
	must(t, err)
	m.Segments = append(m.Segments, Segment{N: 4, File: segmentName(4), Bytes: size, Sum: sum, Audit: m.last().Audit, At: m.last().At})
	_, _, err = writeFile(filepath.Join(c.folder, seriesFolder, m.Series, manifestFile), jsonOf(t, m))
	must(t, err)
	if _, err := Open(c.choice()); err == nil {
		t.Error("the forged manifest is believed")
	}
}

// Another identity opens nothing.
func TestWrongIdentity(t *testing.T) {
	c := filled(t)
	other, err := age.GenerateX25519Identity()
	must(t, err)
	choice := c.choice()
	choice.Identities = []age.Identity{other}
	var none *age.NoIdentityMatchError
	if _, _, err := c.restore(choice); !errors.As(err, &none) {
		t.Errorf("with another identity: %v", err)
	}
}

package crashtest

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	mrand "math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"unsling/engine/rom"
	"unsling/sync/journal"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

var places = flag.Int("places", 1, "at how many random places each kind of file is damaged in each way")

// kinds are the files of a data folder, by how their names end.
var kinds = []string{".sst", ".vlog", ".mem", "MANIFEST", "DISCARD", "KEYREGISTRY", "clinic-mac.key", "codes.key", "content.key", "signing.json"}

// full is a data folder with something in every kind of file, and what its
// phones and its clinic were told is kept.
type full struct {
	*clinic
	phones []*phone
	reader []*phone        // enrolled, and has pulled nothing yet
	lines  map[string]bool // every line that was ever written
	owed   map[rom.PatientID][]string
}

func newFull(t *testing.T) *full {
	t.Helper()
	ctx := context.Background()
	f := &full{clinic: newClinic(t), lines: map[string]bool{}, owed: map[rom.PatientID][]string{}}
	s := f.open()
	for _, id := range patients {
		f.phones = append(f.phones, newPhone(f.url(), id, f.invite(s, id), journal.NewDisk(), &keys{}))
		f.reader = append(f.reader, newPhone(f.url(), id, f.invite(s, id), journal.NewDisk(), &keys{}))
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	day := func(records int) {
		t.Helper()
		if err := f.start(); err != nil {
			t.Fatal(err)
		}
		for _, p := range f.reader {
			if err := p.join(ctx); err != nil {
				t.Fatal(err)
			}
		}
		for _, p := range f.phones {
			if err := p.join(ctx); err != nil {
				t.Fatal(err)
			}
			for i := range records {
				if err := p.write(); err != nil {
					t.Fatal(err)
				}
				if i%25 == 24 && !f.note(p.patient, "note "+id16()) {
					t.Fatal("the clinic could not write")
				}
			}
			if res, err := p.syncer.Sync(ctx); err != nil || !res.Done || res.Unsent != 0 {
				t.Fatalf("%+v %v", res, err)
			}
		}
	}
	day(250)
	f.stop() // writes tables
	day(60)
	f.kill() // leaves a log
	for _, p := range f.phones {
		err := p.syncer.Store.Each(ctx, func(r journal.Row) error {
			f.lines[string(r.Line)] = true
			f.owed[p.patient] = append(f.owed[p.patient], string(r.Line))
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		if len(f.owed[p.patient]) < 310+12+1 {
			t.Fatalf("%s has %d lines", p.patient, len(f.owed[p.patient]))
		}
	}
	return f
}

// Every kind of file is cut short and has a bit flipped at random places. Then
// the folder is verified, the server started on it, and the phones sync. In
// the end everything acknowledged is there, or the damage was detected and
// named; and whatever happens, no phone was given a line that nobody wrote.
func TestDamagedFiles(t *testing.T) {
	if *places < 1 {
		t.Fatal("no place asked for")
	}
	f := newFull(t)
	tally := map[string]int{}
	for _, kind := range kinds {
		for _, way := range []string{"cut", "flip"} {
			for range *places {
				seed := mrand.Uint64()
				name := fmt.Sprintf("%s of %s", way, kind)
				how, err := f.damaged(t, kind, way, mrand.New(mrand.NewPCG(seed, 0)))
				class, _, _ := strings.Cut(how, ":")
				tally[class]++
				if err != nil {
					t.Errorf("%s: %v", name, err)
					continue
				}
				t.Logf("%-24s %s", name, how)
			}
		}
	}
	t.Logf("%v", tally)
	if len(tally) < 2 {
		t.Error("everything ended alike; the damage may not have been any")
	}
}

// damaged plays one case and says how it ended: "healed" or "named: ...".
func (f *full) damaged(t *testing.T, kind, way string, r *mrand.Rand) (string, error) {
	ctx := context.Background()
	dir := filepath.Join(t.TempDir(), "data")
	if out, err := exec.Command("cp", "-a", "--sparse=always", f.data, dir).CombinedOutput(); err != nil {
		return "", fmt.Errorf("copy: %s", out)
	}
	where, err := harm(dir, kind, way, r)
	if err != nil {
		return "", err
	}
	c := &clinic{t: t, data: dir, addr: f.addr, ring: f.ring}
	named := ""
	if out, err := c.verify(); err != nil {
		if strings.Contains(out, "panic:") || strings.Contains(out, "goroutine ") {
			return "", fmt.Errorf("%s: verify dies: %.400s", where, out)
		}
		named = oneLine(out)
		if named == "" {
			return "", fmt.Errorf("%s: verify fails without a word", where)
		}
	}
	if err := c.start(); err != nil {
		if strings.Contains(err.Error(), "panic:") || strings.Contains(err.Error(), "goroutine ") {
			return "", fmt.Errorf("%s: the server dies: %.400s", where, err)
		}
		return "named: does not start: " + oneLine(err.Error()), nil
	}
	defer c.kill()
	var all []*phone
	for _, p := range slices.Concat(f.phones, f.reader, f.phones, f.reader) {
		if len(all) == len(f.phones)+len(f.reader) { // second round, with the same copies
			break
		}
		all = append(all, p.copy())
	}
	var trouble error
	for range 3 {
		trouble = nil
		for _, p := range all {
			res, err := p.syncer.Sync(ctx)
			if err != nil || !res.Done {
				trouble = errors.Join(trouble, fmt.Errorf("phone of %s: %q %w", p.patient, res.Code, err))
			}
		}
		if trouble == nil {
			break
		}
	}
	for _, p := range all {
		if err := f.onlyWritten(ctx, p); err != nil {
			return "", fmt.Errorf("%s: %w", where, err)
		}
	}
	missing := 0
	for _, p := range all[len(f.phones):] {
		missing += f.missing(ctx, p)
	}
	switch {
	case missing == 0 && trouble == nil && named == "":
		return "healed", nil
	case missing == 0 && trouble == nil:
		return "healed, named: " + named, nil
	case named != "":
		return "named: " + named, nil
	case strings.Contains(c.said(), "does not match its own hash"):
		return "named: in the server's log", nil
	}
	return "", fmt.Errorf("%s: %d acknowledged lines are missing and nobody says so (%v)", where, missing, trouble)
}

// onlyWritten reports a line on the phone's disk that nobody wrote.
func (f *full) onlyWritten(ctx context.Context, p *phone) error {
	return p.syncer.Store.Each(ctx, func(r journal.Row) error {
		if string(r.Line) == replica.BarrierLine || f.lines[string(r.Line)] {
			return nil
		}
		rec, err := wire.Decode(r.Line)
		if err == nil && !rec.Was.IsZero() {
			return nil // the phone wrote its own record again under a new name
		}
		return fmt.Errorf("a phone of %s was given %.120s, which nobody wrote", p.patient, r.Line)
	})
}

// missing is how many of the lines that are owed a reader did not get.
func (f *full) missing(ctx context.Context, p *phone) int {
	have, salts := map[string]bool{}, map[string]bool{}
	_ = p.syncer.Store.Each(ctx, func(r journal.Row) error {
		have[string(r.Line)] = true
		if rec, err := wire.Decode(r.Line); err == nil && !rec.Was.IsZero() {
			salts[rec.Salt] = true
		}
		return nil
	})
	n := 0
	for _, l := range f.owed[p.patient] {
		if rec, err := wire.Decode([]byte(l)); !have[l] && (err != nil || !salts[rec.Salt]) {
			n++
		}
	}
	return n
}

// harm damages one file of a kind within what was written into it, and says
// where.
func harm(dir, kind, way string, r *mrand.Rand) (string, error) {
	var files []string
	err := filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err == nil && !d.IsDir() && strings.HasSuffix(path, kind) {
			if used, err := usedBytes(path); err == nil && used > 0 {
				files = append(files, path)
			}
		}
		return err
	})
	if err != nil || len(files) == 0 {
		return "", errors.Join(err, fmt.Errorf("no %s with anything in it", kind))
	}
	path := files[r.IntN(len(files))]
	used, err := usedBytes(path)
	if err != nil {
		return "", err
	}
	at := r.Int64N(used)
	where := fmt.Sprintf("%s of %s at %d of %d", way, filepath.Base(path), at, used)
	if way == "cut" {
		return where, os.Truncate(path, at)
	}
	file, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return "", err
	}
	defer file.Close()
	b := make([]byte, 1)
	if _, err := file.ReadAt(b, at); err != nil {
		return "", err
	}
	b[0] ^= 1 << r.IntN(8)
	_, err = file.WriteAt(b, at)
	return where, err
}

// usedBytes is where the last byte stands that is not zero: badger sets files
// up at their full size.
func usedBytes(path string) (int64, error) {
	b, err := os.ReadFile(path)
	if used := len(bytes.TrimRight(b, "\x00")); used > 0 {
		return int64(used), err
	}
	return int64(len(b)), err
}

func oneLine(s string) string {
	lines := strings.Split(strings.TrimSpace(s), "\n")
	last := lines[len(lines)-1]
	if len(lines) > 1 && strings.HasPrefix(last, "unsling:") {
		last = lines[0] + " / " + last
	}
	if len(last) > 160 {
		last = last[:160]
	}
	return last
}

package badgerstore

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/dgraph-io/badger/v4"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/server/ledger/ledgertest"
	"unsling/sync/wire"
)

// newStore makes a store with one patient, one phone and count lines.
func newStore(t *testing.T, dir string, count int) *Store {
	t.Helper()
	s, err := Open(dir, testOptions(ledgertest.TestKeys(), ledgertest.TestFold(1)))
	if err != nil {
		t.Fatal(err)
	}
	trail := ledger.Trail{At: ledgertest.Noon, Actor: "setup"}
	err = errors.Join(
		s.AddStaff(ledger.Staff{ID: "vega", Login: "vega", Role: ledger.Surgeon}, trail),
		s.CreatePatient(ledger.Patient{ID: "p1", Name: "Canary Surname"}, []rom.StaffID{"vega"}, nil, trail),
		s.Invite(ledger.Invitation{ID: "i1", Patient: "p1", Secrets: []string{"s1"}, Until: ledgertest.Noon.Add(1 << 40)}, trail))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Enrol(ledger.Enrolment{Secret: "s1", Author: "a1", Thumbprint: "k1", At: ledgertest.Noon}, trail); err != nil {
		t.Fatal(err)
	}
	send(t, s, 1, chainOf(count))
	return s
}

func chainOf(count int) [][]byte {
	var lines [][]byte
	prev := wire.NoPrev
	for n := range int64(count) {
		line, err := wire.Encode(wire.Record{Author: "a1", N: n + 1, Prev: prev, Salt: wire.Salt([16]byte{1}), Kind: wire.KindPain, V: 1,
			Run: "r", At: ledgertest.Noon, TZ: "UTC", Body: []byte(`{"text":"canary-of-the-patient"}`)})
		if err != nil {
			panic(err)
		}
		lines, prev = append(lines, line), wire.HashOf(line)
	}
	return lines
}

func send(t *testing.T, s *Store, from int64, lines [][]byte) ledger.ExchangeReply {
	t.Helper()
	out, err := s.Exchange(ledger.ExchangeRequest{Author: "a1", At: ledgertest.Noon, MaxLines: 200,
		Request: wire.Request{Header: wire.Header{From: from}, Lines: lines}})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// spoil changes one row behind the store's back, with a right checksum.
func (s *Store) spoil(t *testing.T, k []byte, change func([]byte) []byte) {
	t.Helper()
	err := s.update(func(t *txn) error {
		v, err := t.get(k)
		if err != nil {
			return err
		}
		if v = change(bytes.Clone(v)); v == nil {
			return t.Delete(k)
		}
		return t.put(k, v)
	})
	if err != nil {
		t.Fatalf("spoil %q: %v", k, err)
	}
}

func flipLast(b []byte) []byte { b[len(b)-1] ^= 1; return b }
func gone([]byte) []byte       { return nil }

// Every kind of damage is found by Verify, and an undamaged store is clean.
func TestVerifyFindsDamage(t *testing.T) {
	for _, c := range []struct {
		name  string
		spoil func(t *testing.T, s *Store)
		want  string
	}{
		{"nothing", func(*testing.T, *Store) {}, ""},
		{"a bit in a line", func(t *testing.T, s *Store) { s.spoil(t, lineKey("p1", 50), flipLast) }, "not as it was written"},
		{"a bit in a hash", func(t *testing.T, s *Store) {
			s.spoil(t, lineKey("p1", 50), func(b []byte) []byte { b[15] ^= 1; return b })
		}, "not as it was written"},
		{"a line is gone", func(t *testing.T, s *Store) { s.spoil(t, lineKey("p1", 50), gone) }, "missing"},
		{"the tail is gone", func(t *testing.T, s *Store) { s.spoil(t, lineKey("p1", 150), gone) }, "should end at line 150"},
		{"two lines swapped", func(t *testing.T, s *Store) {
			var one, two []byte
			s.spoil(t, lineKey("p1", 50), func(b []byte) []byte { one = b; return b })
			s.spoil(t, lineKey("p1", 51), func(b []byte) []byte { two = b; return one })
			s.spoil(t, lineKey("p1", 50), func([]byte) []byte { return two })
		}, "index does not lead"},
		{"index", func(t *testing.T, s *Store) { s.spoil(t, indexKey("p1", "a1", 50), flipLast) }, "index does not lead"},
		{"index entry gone", func(t *testing.T, s *Store) { s.spoil(t, indexKey("p1", "a1", 50), gone) }, "number 50 of an author is missing"},
		{"mark", func(t *testing.T, s *Store) {
			s.spoil(t, markKey("p1", "a1"), func([]byte) []byte { return []byte(`{"n":149,"hash":""}`) })
		}, "mark says 149"},
		{"head", func(t *testing.T, s *Store) {
			s.spoil(t, headKey("p1"), func([]byte) []byte { return []byte(`{"seq":140,"hash":""}`) })
		}, "should end at line 140"},
		{"facts", func(t *testing.T, s *Store) { s.spoil(t, factsKey("p1"), flipLast) }, "facts cannot be read"},
		{"facts of another log", func(t *testing.T, s *Store) {
			if err := s.update(func(t *txn) error {
				content, err := s.contentKey(t, "p1")
				if err != nil {
					return err
				}
				return s.putFacts(t, "p1", content, ledger.Facts{Version: 1, Seq: 100, Data: []byte("invented")})
			}); err != nil {
				t.Fatal(err)
			}
		}, "not what a fresh fold"},
		{"content key", func(t *testing.T, s *Store) { s.spoil(t, key("ck", "p1"), flipLast) }, "content key"},
		{"name", func(t *testing.T, s *Store) { s.spoil(t, patientKey("p1"), flipLast) }, "patient's row"},
		{"audit entry", func(t *testing.T, s *Store) {
			s.spoil(t, auditKey(3), func(b []byte) []byte { return bytes.Replace(b, []byte("p1"), []byte("p2"), 1) })
		}, "does not fit the chain"},
		{"audit entry gone", func(t *testing.T, s *Store) { s.spoil(t, auditKey(3), gone) }, "audit entries are missing"},
		{"audit tail gone", func(t *testing.T, s *Store) {
			s.spoil(t, auditKey(lastEntry(t, s)), gone)
		}, "audit log should end"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := newStore(t, t.TempDir(), 150)
			defer s.Close()
			c.spoil(t, s)
			r, err := s.Verify(context.Background())
			if err != nil {
				t.Fatal(err)
			}
			if c.want == "" {
				if len(r.Faults) != 0 || r.Lines != 150 || r.Patients != 1 || r.Entries == 0 || r.Authors != 1+1 {
					t.Errorf("%+v", r)
				}
				return
			}
			for _, f := range r.Faults {
				if strings.Contains(f.What, "canary") || strings.Contains(f.What, "Canary") {
					t.Errorf("fault tells what a person wrote: %s", f.What)
				}
				if strings.Contains(f.What, c.want) {
					return
				}
			}
			t.Errorf("faults %+v, want one with %q", r.Faults, c.want)
		})
	}
}

func lastEntry(t *testing.T, s *Store) int64 {
	t.Helper()
	all, err := s.Audit(1, 0)
	if err != nil {
		t.Fatal(err)
	}
	return int64(len(all))
}

// A row whose checksum does not hold is ErrDamaged and not a wrong value.
func TestWrongValueIsNoticed(t *testing.T) {
	s := newStore(t, t.TempDir(), 1)
	defer s.Close()
	if err := s.db.Update(func(t *badger.Txn) error {
		return t.Set(staffKey("vega"), []byte("\x00\x00\x00\x00{\"id\":\"vega\",\"role\":\"administrator\"}"))
	}); err != nil {
		t.Fatal(err)
	}
	if got, err := s.Staff("vega"); !errors.Is(err, ledger.ErrDamaged) {
		t.Errorf("%+v %v", got, err)
	}
}

func TestOpenRefuses(t *testing.T) {
	dir := t.TempDir()
	s := newStore(t, dir, 1)
	good := testOptions(ledgertest.TestKeys(), ledgertest.TestFold(1))
	if _, err := Open(dir, good); !errors.Is(err, ledger.ErrLocked) {
		t.Errorf("a second process: %v", err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	other := good
	other.Content = bytes.Repeat([]byte{9}, 32)
	if _, err := Open(dir, other); err == nil || !strings.Contains(err.Error(), "does not belong") {
		t.Errorf("another content key: %v", err)
	}
	for name, spoil := range map[string]func(*Options){
		"short content key": func(o *Options) { o.Content = o.Content[:16] },
		"no MAC key":        func(o *Options) { o.ClinicMAC = nil },
		"no fold":           func(o *Options) { o.Fold.Add = nil },
	} {
		o := good
		spoil(&o)
		if _, err := Open(dir, o); err == nil {
			t.Errorf("%s: opened", name)
		}
	}
	if _, err := Open("", good); err == nil {
		t.Error("opened without a folder")
	}
	s, err := Open(dir, good)
	if err != nil {
		t.Fatalf("after the refusals: %v", err)
	}
	s.spoil(t, metaKey("about"), func(b []byte) []byte { return bytes.Replace(b, []byte(`"schema":1`), []byte(`"schema":2`), 1) })
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(dir, good); err == nil || !strings.Contains(err.Error(), "newer version") {
		t.Errorf("a newer layout: %v", err)
	}
}

// What people wrote is nowhere in the files: neither names nor lines.
func TestFilesHoldNoPlainText(t *testing.T) {
	dir := t.TempDir()
	s := newStore(t, dir, 300)
	send(t, s, 301, [][]byte{[]byte("canary-of-the-patient, no record")})
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	read, known := 0, false
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		read += len(b)
		known = known || bytes.Contains(b, []byte("patient.create")) // the search would find what is there
		for _, canary := range []string{"canary-of-the-patient", "Canary Surname"} {
			if bytes.Contains(b, []byte(canary)) {
				t.Errorf("%s holds %q", filepath.Base(path), canary)
			}
		}
		return nil
	})
	if err != nil || read == 0 || !known {
		t.Errorf("%d bytes read, known text found: %v, %v", read, known, err)
	}
}

// Destroying the content key leaves a log whose order still verifies and
// whose text nobody can read.
func TestErased(t *testing.T) {
	s := newStore(t, t.TempDir(), 3)
	defer s.Close()
	if err := s.update(func(t *txn) error { return t.put(key("ck", "p1"), nil) }); err != nil {
		t.Fatal(err)
	}
	lines, err := s.Read("p1", 1, 0)
	if err != nil || len(lines) != 3 || !lines[0].Erased || lines[0].Bytes != nil || lines[0].N != 1 {
		t.Errorf("%+v %v", lines, err)
	}
	if _, err := s.Patient("p1"); !errors.Is(err, ledger.ErrErased) {
		t.Errorf("name: %v", err)
	}
	if panel, err := s.Panel("vega"); err != nil || len(panel) != 0 {
		t.Errorf("panel: %+v %v", panel, err)
	}
	_, err = s.Exchange(ledger.ExchangeRequest{Author: "a1", At: ledgertest.Noon, Request: wire.Request{Header: wire.Header{From: 4}}})
	if !errors.Is(err, ledger.ErrErased) {
		t.Errorf("exchange: %v", err)
	}
}

// crashEnv tells the test binary that it is the server to be killed.
const crashEnv = "UNSLING_CRASH_DIR"

// TestMain runs the server to be killed: it acknowledges one line after the
// other on its output until the kill comes.
func TestMain(m *testing.M) {
	dir := os.Getenv(crashEnv)
	if dir == "" {
		os.Exit(m.Run())
	}
	s, err := Open(dir, testOptions(ledgertest.TestKeys(), ledgertest.TestFold(1)))
	if err != nil {
		fmt.Println("failed", err)
		os.Exit(1)
	}
	row, err := s.Author("a1")
	if err != nil {
		fmt.Println("failed", err)
		os.Exit(1)
	}
	chain := chainOf(100_000)
	for n := row.Mark.N; n < 100_000; n += 3 {
		out, err := s.Exchange(ledger.ExchangeRequest{Author: "a1", At: ledgertest.Noon, MaxLines: 3,
			Request: wire.Request{Header: wire.Header{From: n + 1}, Lines: chain[n : n+3]}})
		if err != nil || out.Code != "" {
			fmt.Println("failed", out.Code, err)
			os.Exit(1)
		}
		fmt.Println(out.Reply.Ack.N)
	}
}

// Killed without warning right after an acknowledgement, several times over:
// nothing that was acknowledged is missing, and the store verifies.
func TestKilledAfterAcknowledgement(t *testing.T) {
	dir := t.TempDir()
	if err := newStore(t, dir, 0).Close(); err != nil {
		t.Fatal(err)
	}
	var acked int64
	for round := range 5 {
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), crashEnv+"="+dir)
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		got := 0
		for { // some acknowledgements, then the kill
			var n int64
			if _, err := fmt.Fscan(out, &n); err != nil {
				t.Fatalf("round %d: %v after %d acknowledgements", round, err, got)
			}
			acked = n
			if got++; got == 40+13*round {
				break
			}
		}
		if err := cmd.Process.Kill(); err != nil { // SIGKILL
			t.Fatal(err)
		}
		for { // what it acknowledged before it died
			var n int64
			if _, err := fmt.Fscan(out, &n); err != nil {
				break
			}
			acked = n
		}
		_ = cmd.Wait()

		s, err := Open(dir, testOptions(ledgertest.TestKeys(), ledgertest.TestFold(1)))
		if err != nil {
			t.Fatalf("round %d: open after the kill: %v", round, err)
		}
		lines, err := s.Read("p1", 1, 0)
		if err != nil || int64(len(lines)) < acked {
			t.Errorf("round %d: %d lines, %d were acknowledged: %v", round, len(lines), acked, err)
		}
		want := chainOf(len(lines))
		for i, l := range lines {
			if !bytes.Equal(l.Bytes, want[i]) {
				t.Fatalf("round %d: line %d is another", round, i+1)
			}
		}
		if r, err := s.Verify(context.Background()); err != nil || len(r.Faults) != 0 {
			t.Errorf("round %d: %+v %v", round, r.Faults, err)
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
	if acked < 500 {
		t.Errorf("only %d lines were acknowledged", acked)
	}
}

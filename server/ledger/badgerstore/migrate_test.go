package badgerstore

import (
	"context"
	"errors"
	"strconv"
	"testing"

	"unsling/server/ledger"
	"unsling/server/ledger/ledgertest"
)

// next are two layouts that never were: the first keeps beside every line how
// long it is, the second the sum of those; each in transactions of ten rows.
func next(between func() error) *ladder {
	return &ladder{newest: schema + 2, between: between, steps: map[int]step{
		schema + 1: {"the length of every line", func(s *Store, t *txn, after string) (string, int64, error) {
			from := []byte(after)
			if after == "" {
				from = []byte("lg/")
			}
			last, n := "", int64(0)
			err := t.each([]byte("lg/"), from, 10, func(k, v []byte) error {
				if string(k) == after {
					return nil
				}
				if n == 10 {
					return errStop
				}
				last, n = string(k), n+1
				return t.put(append([]byte("ln/"), k...), []byte(strconv.Itoa(len(v))))
			})
			if n < 10 {
				last = ""
			}
			return last, n, err
		}},
		schema + 2: {"the sum of all lengths", func(s *Store, t *txn, _ string) (string, int64, error) {
			sum, n := 0, int64(0)
			err := t.each([]byte("ln/"), []byte("ln/"), 10, func(_, v []byte) error {
				x, err := strconv.Atoi(string(v))
				sum, n = sum+x, n+1
				return err
			})
			return "", n, errors.Join(err, t.put([]byte("zs"), []byte(strconv.Itoa(sum))))
		}},
	}}
}

// A store of the present layout goes up to later ones, broken off before every
// single transaction and taken up again; on its way nobody opens it, the
// program of today included, and nothing of it is lost or done twice.
func TestMigrationGoesOnWhereItStopped(t *testing.T) {
	dir := t.TempDir()
	unpack(t, fixture(schema), dir)
	old := testOptions(ledgertest.TestKeys(), ledgertest.TestFold(1))
	later := old
	stop := errors.New("the power went")
	later.layouts = next(nil)
	if _, err := Open(dir, later); !errors.Is(err, ledger.ErrOlder) {
		t.Fatalf("a program to come opens a store of today: %v", err)
	}
	if s, err := Open(dir, old); err != nil {
		t.Fatal(err)
	} else if err := s.Close(); err != nil {
		t.Fatal(err)
	}

	say := func(string, ...any) {}
	var rows int64
	broken := 0
	for done := false; !done; {
		left := 1
		later.layouts = next(func() error {
			if left--; left < 0 {
				return stop
			}
			return nil
		})
		m, err := Migrate(dir, later, say)
		rows += m.Rows
		switch {
		case err == nil:
			done = true
		case errors.Is(err, stop):
			broken++
			if _, err := Open(dir, later); !errors.Is(err, ledger.ErrOlder) {
				t.Fatalf("opened half way: %v", err)
			}
			if _, err := Open(dir, old); !errors.Is(err, ledger.ErrNewer) {
				t.Fatalf("the program of today opens it half way: %v", err)
			}
		default:
			t.Fatal(err)
		}
	}
	lines := int64(fixtureLines + 1)
	if wanted := lines/10 + 1; int64(broken) < wanted || rows != 2*lines {
		t.Errorf("broken off %d times, %d rows changed, want at least %d times and %d rows", broken, rows, wanted, 2*lines)
	}
	later.layouts = next(nil)
	if m, err := Migrate(dir, later, say); err != nil || m.Rows != 0 || m.From != schema+2 || m.Resumed {
		t.Errorf("once more: %+v %v", m, err)
	}
	s, err := Open(dir, later)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if about, _ := s.About(); about.Schema != schema+2 {
		t.Errorf("layout %d at the end", about.Schema)
	}
	want := 0
	if err := s.view(func(t *txn) error {
		return t.each([]byte("lg/"), []byte("lg/"), 10, func(_, v []byte) error { want += len(v); return nil })
	}); err != nil {
		t.Fatal(err)
	}
	var got []byte
	if err := s.view(func(t *txn) (err error) { got, err = t.get([]byte("zs")); return err }); err != nil || string(got) != strconv.Itoa(want) {
		t.Errorf("the sum is %s (%v), want %d", got, err, want)
	}
	checkFixture(t, s)
}

// What is at the newest layout has nothing to do, a gap in the ladder and a
// store from the future are refused before anything is touched.
func TestMigrationRefuses(t *testing.T) {
	dir := t.TempDir()
	unpack(t, fixture(schema), dir)
	opt := testOptions(ledgertest.TestKeys(), ledgertest.TestFold(1))
	say := func(string, ...any) {}
	if m, err := Migrate(dir, opt, say); err != nil || m.Rows != 0 || m.From != schema || m.To != schema {
		t.Errorf("nothing to do: %+v %v", m, err)
	}
	wrong := opt
	wrong.Content = make([]byte, 32)
	if _, err := Migrate(dir, wrong, say); err == nil {
		t.Error("with a key of another store")
	}
	if _, err := Migrate(t.TempDir(), opt, say); err == nil {
		t.Error("without a store")
	}
	up := opt
	up.layouts = next(nil)
	if _, err := Migrate(dir, up, say); err != nil {
		t.Fatal(err)
	}
	if _, err := Migrate(dir, opt, say); !errors.Is(err, ledger.ErrNewer) {
		t.Errorf("down again: %v", err)
	}
}

// The number is what the files take on the disk, and not nothing.
func TestHealthKnowsItsSize(t *testing.T) {
	s := newStore(t, t.TempDir(), 50)
	defer s.Close()
	h, err := s.Health()
	if err != nil || h.Bytes < 10_000 || h.Bytes > 64<<20 {
		t.Errorf("%d bytes (%v) for a store of 50 records", h.Bytes, err)
	}
	if r, err := s.Verify(context.Background()); err != nil || len(r.Faults) > 0 {
		t.Errorf("verify: %+v %v", r, err)
	}
}

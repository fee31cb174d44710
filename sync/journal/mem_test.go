package journal_test

import (
	"context"
	"errors"
	"strings"
	"testing"

	"unsling/engine/rom"
	"unsling/sync/journal"
	"unsling/sync/journal/journaltest"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

func TestMem(t *testing.T) {
	journaltest.Run(t, func(*testing.T) func() journal.Store {
		d := journal.NewDisk()
		return func() journal.Store { return d.Open() }
	})
}

var ctx = context.Background()

func phone(t *testing.T) (*journal.Disk, *journal.Mem, *journal.Writer) {
	t.Helper()
	d := journal.NewDisk()
	s := d.Open()
	err := s.Commit(ctx, journal.Batch{Meta: journal.StateItems(replica.State{Author: "p"}, true)})
	if err != nil {
		t.Fatal(err)
	}
	return d, s, journaltest.NewWriter(s, "run")
}

func question(n int) rom.Question { return rom.Question{Episode: "e", Text: strings.Repeat("é", n)} }

func TestWriterFullDisk(t *testing.T) {
	d, s, w := phone(t)
	d.Limit(d.Size() + 700)
	if _, err := w.Append(ctx, wire.KindQuestion, question(20)); err != nil {
		t.Fatal(err)
	}
	before := d.Size()
	if _, err := w.Append(ctx, wire.KindQuestion, question(400)); !errors.Is(err, journal.ErrFull) {
		t.Fatalf("append on a full disk: %v, want ErrFull", err)
	}
	if d.Size() != before {
		t.Error("a refused append left something behind")
	}
	d.Limit(0)
	a, err := w.Append(ctx, wire.KindQuestion, question(400))
	if err != nil || a.Ref.N != 2 {
		t.Fatalf("append after making room: %v, %v", a.Ref, err)
	}
	if tail, err := journal.Tail(ctx, s, "p"); err != nil || tail.N != 2 || tail.Hash != wire.HashOf(a.Line) {
		t.Errorf("Tail = %v, %v", tail, err)
	}
}

// The connection is lost after the transaction completed, and stays lost: the
// record may not be written a second time under the next number.
func TestWriterLostConnectionTwice(t *testing.T) {
	for gone := 1; gone < 6; gone++ {
		_, s, w := phone(t)
		if _, err := w.Append(ctx, wire.KindQuestion, question(2)); err != nil {
			t.Fatal(err)
		}
		left := 0
		s.After = func(method string) error {
			if method == "Commit" && left == 0 {
				left = gone
				return journal.ErrClosed
			}
			return nil
		}
		s.Before = func(string) error {
			if left > 1 {
				left--
				return journal.ErrClosed
			}
			return nil
		}
		a, err := w.Append(ctx, wire.KindQuestion, question(3))
		s.Before, s.After = nil, nil
		rows, broken := s.Rows(ctx, "p", 1, 10)
		if broken != nil || len(rows) != 2 {
			t.Fatalf("lost %d times: %d rows, %v", gone, len(rows), broken)
		}
		if (err == nil) != (gone < 4) || err == nil && a.Ref.N != 2 || err != nil && !errors.Is(err, journal.ErrClosed) {
			t.Errorf("lost %d times: %v %v", gone, a.Ref, err)
		}
		if b, err := w.Append(ctx, wire.KindQuestion, question(4)); err != nil || b.Ref.N != 3 {
			t.Errorf("lost %d times, the next: %v %v", gone, b.Ref, err)
		}
	}
}

// A connection lost after the transaction completed must not make two records
// of one.
func TestWriterLostConnection(t *testing.T) {
	for _, written := range []bool{false, true} {
		_, s, w := phone(t)
		lost := 0
		fault := func(method string) error {
			if method == "Commit" && lost == 0 {
				lost++
				return journal.ErrClosed
			}
			return nil
		}
		if written {
			s.After = fault
		} else {
			s.Before = fault
		}
		a, err := w.Append(ctx, wire.KindQuestion, question(3))
		if err != nil || a.Ref.N != 1 {
			t.Fatalf("written %v: %v, %v", written, a.Ref, err)
		}
		rows, _ := s.Rows(ctx, "p", 1, 10)
		if len(rows) != 1 || string(rows[0].Line) != string(a.Line) || lost != 1 {
			t.Errorf("written %v: %d rows after %d losses", written, len(rows), lost)
		}
	}
}

func TestWriterRefuses(t *testing.T) {
	_, s, w := phone(t)
	if _, err := w.Append(ctx, wire.KindPain, rom.Pain{Score: 11, When: rom.PainAtRest}); !errors.Is(err, wire.ErrBody) {
		t.Errorf("a pain of 11: %v, want ErrBody", err)
	}
	long := rom.Session{Episode: "e", ID: "s", Ended: rom.Finished}
	for range 20 {
		it := rom.SessionItem{Exercise: rom.Pendulum, Dose: rom.Dose{Reps: 100, PerDay: 1}}
		for range 50 {
			it.Holds = append(it.Holds, rom.Hold{Tenths: 200, Counted: true})
		}
		long.Items = append(long.Items, it)
	}
	if _, err := w.Append(ctx, wire.KindSession, long); !errors.Is(err, wire.ErrTooLong) {
		t.Errorf("a session beyond 8 KiB: %v, want ErrTooLong", err)
	}
	if rows, _ := s.Rows(ctx, "p", 1, 10); len(rows) != 0 {
		t.Errorf("%d rows after refusals", len(rows))
	}
	nobody := journaltest.NewWriter(journal.NewMem(), "run")
	if _, err := nobody.Append(ctx, wire.KindQuestion, question(1)); !errors.Is(err, journal.ErrNobody) {
		t.Errorf("before enrolment: %v, want ErrNobody", err)
	}
}

func TestAppendWith(t *testing.T) {
	_, s, w := phone(t)
	draft := journal.Batch{Meta: []journal.Item{{Name: "app.draft", Value: []byte("half a session")}}}
	if err := s.Commit(ctx, draft); err != nil {
		t.Fatal(err)
	}
	s.Before = func(string) error { return journal.ErrClosed }
	drop := journal.Batch{Meta: []journal.Item{{Name: "app.draft"}}, Blobs: []journal.Item{{Name: "pic", Value: []byte("p")}}}
	if _, err := w.AppendWith(ctx, wire.KindQuestion, question(1), drop); !errors.Is(err, journal.ErrClosed) {
		t.Fatalf("with no connection at all: %v, want ErrClosed", err)
	}
	s.Before = nil
	if v, _ := s.Meta(ctx, "app.draft"); v == nil {
		t.Fatal("the draft is gone although the record was not written")
	}
	if _, err := w.AppendWith(ctx, wire.KindQuestion, question(1), drop); err != nil {
		t.Fatal(err)
	}
	v, _ := s.Meta(ctx, "app.draft")
	pic, _ := s.Blob(ctx, "pic")
	if v != nil || string(pic) != "p" {
		t.Errorf("draft %q, picture %q after the record was written", v, pic)
	}
}

func TestLines(t *testing.T) {
	_, s, w := phone(t)
	var size int
	for i := range 10 {
		a, err := w.Append(ctx, wire.KindQuestion, question(i+1))
		if err != nil {
			t.Fatal(err)
		}
		if i < 4 {
			size += len(a.Line) + 1
		}
	}
	for _, c := range []struct {
		from       int64
		most, size int
		want       int
	}{{1, 100, 1 << 20, 10}, {3, 2, 1 << 20, 2}, {1, 100, size, 4}, {1, 100, size - 1, 3}, {11, 5, 1 << 20, 0}} {
		got, err := journal.Lines(ctx, s, "p", c.from, c.most, c.size)
		if err != nil || len(got) != c.want {
			t.Errorf("Lines(%d, %d, %d) = %d lines, %v; want %d", c.from, c.most, c.size, len(got), err, c.want)
		}
	}
	f, err := journal.Fold(ctx, s)
	if err != nil || len(f.History().Questions) != 10 {
		t.Errorf("Fold: %v, %d questions", err, len(f.History().Questions))
	}
}

// On a full disk an ordinary record is refused, and one that stops the
// programme is kept in the room that was held back; the next start of the app
// finds it, and holds room back again once there is some.
func TestStopIsKeptOnAFullDisk(t *testing.T) {
	d, s, w := phone(t)
	if _, err := w.Append(ctx, wire.KindQuestion, question(3)); err != nil {
		t.Fatal(err)
	}
	d.Limit(d.Size())
	if _, err := w.Append(ctx, wire.KindQuestion, question(3)); !errors.Is(err, journal.ErrFull) {
		t.Fatalf("a question: %v, want ErrFull", err)
	}
	ended := rom.Session{Episode: "e", ID: "s1", Ended: rom.StoppedByMe}
	if _, err := w.Append(ctx, wire.KindSession, ended); !errors.Is(err, journal.ErrFull) {
		t.Fatalf("a session like others: %v, want ErrFull", err)
	}
	ended.Stop = rom.StopWrong
	for i, stop := range []struct {
		kind wire.Kind
		body any
	}{{wire.KindSign, rom.Sign{Episode: "e", Sign: rom.SignChest}}, {wire.KindSession, ended}, {wire.KindSign, rom.Sign{Episode: "e", Sign: rom.SignChest}}} {
		if _, err := w.Append(ctx, stop.kind, stop.body); err != nil {
			t.Fatalf("stop %d: %v", i, err)
		}
	}
	again := journaltest.NewWriter(d.Open(), "next-start")
	if tail, err := journal.Tail(ctx, s, "p"); err != nil || tail.N != 4 {
		t.Errorf("the next start finds %d records, %v", tail.N, err)
	}
	if _, err := again.Append(ctx, wire.KindSign, rom.Sign{Episode: "e", Sign: rom.SignChest}); err != nil {
		t.Errorf("after the start: %v", err)
	}
	d.Limit(0)
	third := journaltest.NewWriter(d.Open(), "with-room")
	if _, err := third.Append(ctx, wire.KindQuestion, question(3)); err != nil {
		t.Fatal(err)
	}
	if held, err := s.Meta(ctx, journal.MetaReserve); err != nil || len(held) == 0 {
		t.Errorf("no room is held back again: %d, %v", len(held), err)
	}
}

// Package journaltest holds every journal.Store to the same contract. It uses
// nothing that a browser lacks, so that it also runs there, over IndexedDB.
package journaltest

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"testing"

	"unsling/engine/rom"
	"unsling/sync/journal"
)

// NewDisk makes an empty disk for one test and returns how to open a
// connection to it. Connections to one disk are as two windows of one app.
type NewDisk func(t *testing.T) (open func() journal.Store)

// Run runs the conformance suite.
func Run(t *testing.T, disk NewDisk) {
	for _, c := range []struct {
		name string
		run  func(*testing.T, func() journal.Store)
	}{
		{"Empty", empty},
		{"OrderOfRows", orderOfRows},
		{"AddRefusesWhatIsThere", addRefuses},
		{"PutOverwrites", putOverwrites},
		{"DeleteThenAdd", deleteThenAdd},
		{"MetaAndBlobs", metaAndBlobs},
		{"AllOrNothing", allOrNothing},
		{"BytesStay", bytesStay},
		{"BuffersAreCopied", buffersAreCopied},
		{"LargeBatch", largeBatch},
		{"SurvivesClosing", survivesClosing},
		{"TwoWindowsAdd", twoWindowsAdd},
		{"WritersRace", writersRace},
		{"WriterFollowsAuthor", writerFollowsAuthor},
	} {
		t.Run(c.name, func(t *testing.T) { c.run(t, disk(t)) })
	}
}

var ctx = context.Background()

func row(a rom.Author, n int64) journal.Row {
	return journal.Row{Author: a, N: n, Line: fmt.Appendf(nil, "%s %d", a, n), Pull: n % 3}
}

func commit(t *testing.T, s journal.Store, b journal.Batch) {
	t.Helper()
	if err := s.Commit(ctx, b); err != nil {
		t.Fatalf("Commit: %v", err)
	}
}

func all(t *testing.T, s journal.Store) []journal.Row {
	t.Helper()
	var rows []journal.Row
	if err := s.Each(ctx, func(r journal.Row) error { rows = append(rows, r); return nil }); err != nil {
		t.Fatalf("Each: %v", err)
	}
	return rows
}

func wantRows(t *testing.T, what string, got, want []journal.Row) {
	t.Helper()
	same := func(a, b journal.Row) bool {
		return a.Key() == b.Key() && string(a.Line) == string(b.Line) && a.Pull == b.Pull
	}
	if !slices.EqualFunc(got, want, same) {
		t.Errorf("%s: got %v, want %v", what, names(got), names(want))
	}
}

func names(rows []journal.Row) []string {
	var out []string
	for _, r := range rows {
		out = append(out, fmt.Sprintf("%s/%d:%q:%d", r.Author, r.N, r.Line, r.Pull))
	}
	return out
}

func empty(t *testing.T, open func() journal.Store) {
	s := open()
	if _, ok, err := s.Last(ctx, "a"); ok || err != nil {
		t.Errorf("Last of nobody: %v, %v", ok, err)
	}
	if rows, err := s.Rows(ctx, "a", 1, 10); len(rows) != 0 || err != nil {
		t.Errorf("Rows of nobody: %v, %v", rows, err)
	}
	if v, err := s.Meta(ctx, "x"); v != nil || err != nil {
		t.Errorf("Meta without a value: %q, %v", v, err)
	}
	if v, err := s.Blob(ctx, "x"); v != nil || err != nil {
		t.Errorf("Blob without a value: %q, %v", v, err)
	}
	if l, err := s.BlobNames(ctx); len(l) != 0 || err != nil {
		t.Errorf("BlobNames: %v, %v", l, err)
	}
	wantRows(t, "Each", all(t, s), nil)
	commit(t, s, journal.Batch{})
}

func orderOfRows(t *testing.T, open func() journal.Store) {
	s := open()
	const barrier = 1<<53 - 1
	// Numbers are compared as numbers, names as bytes: "Z" < "a".
	commit(t, s, journal.Batch{Add: []journal.Row{row("b", 2), row("a", 10), row("a", 9), row("Z", 1), row("b", barrier), row("a", 100)}})
	wantRows(t, "Each", all(t, s), []journal.Row{row("Z", 1), row("a", 9), row("a", 10), row("a", 100), row("b", 2), row("b", barrier)})
	for _, c := range []struct {
		from int64
		most int
		want []journal.Row
	}{
		{1, 2, []journal.Row{row("a", 9), row("a", 10)}},
		{10, 9, []journal.Row{row("a", 10), row("a", 100)}},
		{11, 9, []journal.Row{row("a", 100)}},
		{101, 9, nil},
		{1, 0, nil},
	} {
		got, err := s.Rows(ctx, "a", c.from, c.most)
		if err != nil {
			t.Fatal(err)
		}
		wantRows(t, fmt.Sprintf("Rows from %d, %d", c.from, c.most), got, c.want)
	}
	for a, want := range map[rom.Author]int64{"a": 100, "b": barrier, "Z": 1} {
		if got, ok, err := s.Last(ctx, a); !ok || err != nil || got.N != want {
			t.Errorf("Last(%s) = %d, %v, %v; want %d", a, got.N, ok, err, want)
		}
	}
	stop := errors.New("enough")
	if err := s.Each(ctx, func(journal.Row) error { return stop }); !errors.Is(err, stop) {
		t.Errorf("Each does not return the error of its function: %v", err)
	}
}

func addRefuses(t *testing.T, open func() journal.Store) {
	s := open()
	commit(t, s, journal.Batch{Add: []journal.Row{row("a", 1)}})
	other := row("a", 1)
	other.Line = []byte("other")
	if err := s.Commit(ctx, journal.Batch{Add: []journal.Row{other}}); !errors.Is(err, journal.ErrExists) {
		t.Errorf("adding over a row: %v, want ErrExists", err)
	}
	if err := s.Commit(ctx, journal.Batch{Add: []journal.Row{row("a", 2), row("a", 2)}}); !errors.Is(err, journal.ErrExists) {
		t.Errorf("adding twice in one batch: %v, want ErrExists", err)
	}
	wantRows(t, "after refusals", all(t, s), []journal.Row{row("a", 1)})
	commit(t, s, journal.Batch{Add: []journal.Row{row("a", 2)}})
}

func putOverwrites(t *testing.T, open func() journal.Store) {
	s := open()
	commit(t, s, journal.Batch{Add: []journal.Row{row("c-x", 1)}})
	again := row("c-x", 1)
	again.Pull = 7
	commit(t, s, journal.Batch{Put: []journal.Row{again, row("c-x", 2)}})
	wantRows(t, "after put", all(t, s), []journal.Row{again, row("c-x", 2)})
}

func deleteThenAdd(t *testing.T, open func() journal.Store) {
	s := open()
	commit(t, s, journal.Batch{Add: []journal.Row{row("a", 1), row("a", 2)}})
	fresh := row("a", 2)
	fresh.Line = []byte("fresh")
	commit(t, s, journal.Batch{Delete: []rom.Ref{{Author: "a", N: 1}, {Author: "a", N: 2}, {Author: "no", N: 3}}, Add: []journal.Row{fresh}})
	wantRows(t, "after delete and add", all(t, s), []journal.Row{fresh})
}

func metaAndBlobs(t *testing.T, open func() journal.Store) {
	s := open()
	commit(t, s, journal.Batch{
		Meta:  []journal.Item{{Name: "m", Value: []byte("1")}, {Name: "empty", Value: []byte{}}},
		Blobs: []journal.Item{{Name: "z", Value: []byte{0, 255}}, {Name: "p", Value: []byte("pic")}},
	})
	if v, err := s.Meta(ctx, "m"); string(v) != "1" || err != nil {
		t.Errorf("Meta = %q, %v", v, err)
	}
	if v, err := s.Meta(ctx, "empty"); v == nil || len(v) != 0 || err != nil {
		t.Errorf("an empty value is not nil and has no bytes: %v, %v", v, err)
	}
	if v, err := s.Blob(ctx, "m"); v != nil || err != nil {
		t.Errorf("names of values and pictures must not mix: %q, %v", v, err)
	}
	if l, err := s.BlobNames(ctx); !slices.Equal(l, []string{"p", "z"}) || err != nil {
		t.Errorf("BlobNames = %v, %v", l, err)
	}
	if v, err := s.Blob(ctx, "z"); !slices.Equal(v, []byte{0, 255}) || err != nil {
		t.Errorf("Blob = %v, %v", v, err)
	}
	commit(t, s, journal.Batch{Meta: []journal.Item{{Name: "m"}, {Name: "never"}}, Blobs: []journal.Item{{Name: "p"}}})
	if v, err := s.Meta(ctx, "m"); v != nil || err != nil {
		t.Errorf("Meta after deletion = %q, %v", v, err)
	}
	if l, err := s.BlobNames(ctx); !slices.Equal(l, []string{"z"}) || err != nil {
		t.Errorf("BlobNames after deletion = %v, %v", l, err)
	}
}

func allOrNothing(t *testing.T, open func() journal.Store) {
	s := open()
	commit(t, s, journal.Batch{
		Add:   []journal.Row{row("a", 1), row("a", 2)},
		Meta:  []journal.Item{{Name: "m", Value: []byte("before")}},
		Blobs: []journal.Item{{Name: "p", Value: []byte("before")}},
	})
	err := s.Commit(ctx, journal.Batch{
		Delete: []rom.Ref{{Author: "a", N: 1}},
		Add:    []journal.Row{row("a", 3), row("a", 2)},
		Put:    []journal.Row{row("b", 1)},
		Meta:   []journal.Item{{Name: "m", Value: []byte("after")}},
		Blobs:  []journal.Item{{Name: "p"}},
	})
	if !errors.Is(err, journal.ErrExists) {
		t.Fatalf("Commit: %v, want ErrExists", err)
	}
	wantRows(t, "after a refused batch", all(t, s), []journal.Row{row("a", 1), row("a", 2)})
	if v, _ := s.Meta(ctx, "m"); string(v) != "before" {
		t.Errorf("a refused batch changed a value to %q", v)
	}
	if v, _ := s.Blob(ctx, "p"); string(v) != "before" {
		t.Errorf("a refused batch changed a picture to %q", v)
	}
}

func bytesStay(t *testing.T, open func() journal.Store) {
	s := open()
	odd := []byte("\x00\xff{\"a\":\"\u2028\xed\xa0\x80\"}\r")
	commit(t, s, journal.Batch{Add: []journal.Row{{Author: "a", N: 1, Line: odd}}, Meta: []journal.Item{{Name: "m", Value: odd}}})
	got, _, err := s.Last(ctx, "a")
	if err != nil || string(got.Line) != string(odd) {
		t.Errorf("line came back as %q, want %q (%v)", got.Line, odd, err)
	}
	if v, _ := s.Meta(ctx, "m"); string(v) != string(odd) {
		t.Errorf("value came back as %q, want %q", v, odd)
	}
}

func buffersAreCopied(t *testing.T, open func() journal.Store) {
	s := open()
	line, value := []byte("line"), []byte("value")
	commit(t, s, journal.Batch{Add: []journal.Row{{Author: "a", N: 1, Line: line}}, Meta: []journal.Item{{Name: "m", Value: value}}})
	line[0], value[0] = 'X', 'X'
	got, _, _ := s.Last(ctx, "a")
	v, _ := s.Meta(ctx, "m")
	if string(got.Line) != "line" || string(v) != "value" {
		t.Errorf("the caller's later writing reached the store: %q, %q", got.Line, v)
	}
}

func largeBatch(t *testing.T, open func() journal.Store) {
	s := open()
	var rows []journal.Row
	for n := int64(1); n <= 200; n++ {
		r := row("c-x", n)
		r.Line = append(r.Line, make([]byte, 320)...)
		rows = append(rows, r)
	}
	commit(t, s, journal.Batch{Put: rows, Meta: []journal.Item{{Name: journal.MetaReplica, Value: []byte("cursor")}}})
	wantRows(t, "after a large batch", all(t, s), rows)
}

func survivesClosing(t *testing.T, open func() journal.Store) {
	s := open()
	commit(t, s, journal.Batch{Add: []journal.Row{row("a", 1)}, Meta: []journal.Item{{Name: "m", Value: []byte("1")}}})
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s = open()
	wantRows(t, "after opening again", all(t, s), []journal.Row{row("a", 1)})
	if v, err := s.Meta(ctx, "m"); string(v) != "1" || err != nil {
		t.Errorf("Meta after opening again = %q, %v", v, err)
	}
}

func twoWindowsAdd(t *testing.T, open func() journal.Store) {
	one, two := open(), open()
	commit(t, one, journal.Batch{Add: []journal.Row{row("a", 1)}})
	if err := two.Commit(ctx, journal.Batch{Add: []journal.Row{row("a", 1)}}); !errors.Is(err, journal.ErrExists) {
		t.Errorf("the second window adds over the first: %v", err)
	}
	commit(t, two, journal.Batch{Add: []journal.Row{row("a", 2)}})
	wantRows(t, "seen by the first window", all(t, one), []journal.Row{row("a", 1), row("a", 2)})
}

package browsertest

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// OnceAndInOrder checks that the store has the phone's lines, each once, byte for byte, in the order in which they were
// written: numbers without gap, every line naming the one before (the chain that RFC 6962 calls append-only).
// phone is what the phone itself has; nil where it cannot be read, and then bytes are not compared.
func OnceAndInOrder(t *testing.T, lines []ledger.Line, phone []string, kinds map[wire.Kind]int) rom.Author {
	t.Helper()
	own := map[string]bool{}
	for _, line := range phone {
		own[line] = true
	}
	var author rom.Author
	var n int64
	prev := wire.NoPrev
	got := map[wire.Kind]int{}
	for i, l := range lines {
		if l.Seq != int64(i+1) {
			t.Errorf("line %d of the log has the number %d", i+1, l.Seq)
		}
		if l.Author.FromClinic() {
			continue
		}
		if author == "" {
			author = l.Author
		}
		rec, err := wire.Decode(l.Bytes)
		if err != nil {
			t.Fatalf("line %d: %v", l.Seq, err)
		}
		if l.Author != author || rec.N != n+1 || rec.Prev != prev {
			t.Errorf("line %d is %s %d after %d of %s", l.Seq, l.Author, rec.N, n, author)
		}
		if phone != nil && !own[string(l.Bytes)] {
			t.Errorf("line %d (%s %d) is not as the phone wrote it", l.Seq, rec.Kind, rec.N)
		}
		n, prev = rec.N, wire.HashOf(l.Bytes)
		got[rec.Kind]++
	}
	for kind, want := range kinds {
		if got[kind] != want {
			t.Errorf("%d records of kind %s in the store, want %d", got[kind], kind, want)
		}
	}
	return author
}

// Bodies decodes the bodies of one kind.
func Bodies[T any](t *testing.T, lines []ledger.Line, author rom.Author, kind wire.Kind) (out []T) {
	t.Helper()
	for _, l := range lines {
		rec, err := wire.Decode(l.Bytes)
		if err != nil || l.Author != author || rec.Kind != kind {
			continue
		}
		var body T
		if err := json.Unmarshal(rec.Body, &body); err != nil {
			t.Fatal(err)
		}
		out = append(out, body)
	}
	return out
}

// Morning is a zone in which it is between nine and twelve now, on the date that the clinic's calendar shows: sessions are due
// by day and hour, and the test runs at any hour.
func Morning(t testing.TB) string {
	t.Helper()
	const home = "Europe/Dublin"
	clinic, err := time.LoadLocation(home)
	if err != nil {
		t.Fatal(err)
	}
	now := time.Now().In(clinic)
	if h := now.Hour(); h == 9 || h == 10 {
		return home
	}
	_, east := now.Zone()
	east = max(east/3600+9-now.Hour(), -12)
	return fmt.Sprintf("Etc/GMT%+d", -east) // the sign of these names is the other way round
}

package replica

import (
	"reflect"
	"slices"
	"testing"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// Two copies of a phone wrote the same number, and the phone that came of one has moved both records: a correction that
// was moved along with one of them takes that one back, in any order of arrival.
func TestTwoMovedUnderOneName(t *testing.T) {
	was := rom.Ref{Author: "p", N: 4}
	line := func(n int64, k wire.Kind, body any, was rom.Ref) []byte {
		raw, v, err := wire.EncodeBody(k, body)
		if err != nil {
			t.Fatal(err)
		}
		b, err := wire.Encode(wire.Record{Author: "q", N: n, Prev: wire.HashOf([]byte("before")), Salt: wire.Salt([16]byte{byte(n)}), Kind: k, V: v, Run: "r", TZ: "UTC", Body: raw, Was: was})
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	pain := func(score int) rom.Pain { return rom.Pain{Episode: "e", Score: score, When: rom.PainAtRest} }
	lines := [][]byte{
		line(3, wire.KindPain, pain(5), was),
		line(11, wire.KindPain, pain(9), was),
		line(14, wire.KindVoid, rom.Void{Target: was, Reason: "typed wrong"}, rom.Ref{Author: "p", N: 7}),
	}
	want := Fold(lines...)
	if !slices.Equal(want.Voided, []rom.Ref{{Author: "q", N: 11}}) || len(want.Pains) != 1 || want.Pains[0].Body.Score != 5 {
		t.Errorf("%+v", want)
	}
	for _, order := range [][]int{{0, 2, 1}, {1, 0, 2}, {1, 2, 0}, {2, 0, 1}, {2, 1, 0}} {
		got := Fold(lines[order[0]], lines[order[1]], lines[order[2]])
		if !reflect.DeepEqual(got, want) {
			t.Errorf("order %v: %+v, want %+v", order, got, want)
		}
	}
}

// Where another copy's record still has the name, the run of the app in which both were written tells which is meant.
func TestCorrectionMeansTheRecordOfItsRun(t *testing.T) {
	line := func(author rom.Author, n int64, salt byte, run string, k wire.Kind, body any, was rom.Ref) []byte {
		raw, v, err := wire.EncodeBody(k, body)
		if err != nil {
			t.Fatal(err)
		}
		b, err := wire.Encode(wire.Record{Author: author, N: n, Prev: wire.HashOf([]byte("before")), Salt: wire.Salt([16]byte{salt}), Kind: k, V: v, Run: run, TZ: "UTC", Body: raw, Was: was})
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	name := rom.Ref{Author: "p", N: 4}
	pain := func(score int) rom.Pain { return rom.Pain{Episode: "e", Score: score, When: rom.PainAtRest} }
	theirs := line("p", 4, 1, "run-a", wire.KindPain, pain(9), rom.Ref{})
	own := line("q", 3, 2, "run-b", wire.KindPain, pain(5), name)
	for run, want := range map[string]rom.Ref{"run-a": name, "run-b": {Author: "q", N: 3}, "run-c": {Author: "q", N: 3}} {
		void := line("q", 14, 3, run, wire.KindVoid, rom.Void{Target: name, Reason: "typed wrong"}, rom.Ref{Author: "p", N: 7})
		for _, order := range [][][]byte{{theirs, own, void}, {void, own, theirs}, {own, void, theirs}} {
			if h := Fold(order...); !slices.Equal(h.Voided, []rom.Ref{want}) || len(h.Pains) != 1 {
				t.Errorf("%s: %+v", run, h)
			}
		}
	}
}

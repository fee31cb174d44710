package replica

import (
	"slices"
	"testing"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// A body on which this program breaks is a damaged record, by name; everything else goes on, in any order, and at the next
// start again.
func TestBodyThatBreaksTheProgram(t *testing.T) {
	was := decodeBody
	defer func() { decodeBody = was }()
	decodeBody = func(k wire.Kind, v int, raw []byte) (any, error) {
		if k == wire.KindPain {
			var none []int
			_ = none[len(raw)]
		}
		return was(k, v, raw)
	}
	prev := wire.NoPrev
	line := func(n int64, k wire.Kind, body any) []byte {
		raw, v, err := wire.EncodeBody(k, body)
		if err != nil {
			t.Fatal(err)
		}
		b, err := wire.Encode(wire.Record{Author: "p", N: n, Prev: prev, Salt: wire.Salt([16]byte{byte(n)}), Kind: k, V: v, Run: "r", TZ: "UTC", Body: raw})
		if err != nil {
			t.Fatal(err)
		}
		prev = wire.HashOf(b)
		return b
	}
	note := line(1, wire.KindQuestion, rom.Question{Episode: "e", Text: "may I drive?"})
	pain := line(2, wire.KindPain, rom.Pain{Episode: "e", Score: 3, When: rom.PainAtRest})
	for _, order := range [][][]byte{{note, pain}, {pain, note}, {pain, pain, note}} {
		h := Fold(order...)
		if len(h.Questions) != 1 || len(h.Pains) != 0 || !slices.Equal(h.Damaged, []rom.Ref{{Author: "p", N: 2}}) {
			t.Errorf("%+v", h)
		}
	}
}

package backup

import (
	"bytes"
	"encoding/binary"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"unsling/server/ledger"
)

func segmentOf(t interface{ Fatal(...any) }, rows []ledger.Row) []byte {
	var b bytes.Buffer
	s, err := newSegmentWriter(&b, Header{Series: "s", Segment: 1, Layout: 1})
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range rows {
		if err := s.row(r); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.close(ledger.Head{Seq: 3, Hash: "h"}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func rowsOf(b []byte) ([]ledger.Row, error) {
	var rows []ledger.Row
	_, _, err := readSegment(bytes.NewReader(b), func(r ledger.Row) error {
		r.Value = slices.Clone(r.Value)
		rows = append(rows, r)
		return nil
	})
	return rows, err
}

// What is written is read; with one byte changed, removed or added it is
// refused, wherever that is.
func TestSegment(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) ledger.Row {
			return ledger.Row{Space: rapid.SampledFrom([]ledger.Space{ledger.SpaceLine, ledger.SpaceStaff}).Draw(t, "space"),
				Key: rapid.StringN(0, 300, -1).Draw(t, "key"), Value: rapid.SliceOfN(rapid.Byte(), 0, 300).Draw(t, "value")}
		}), 0, 5).Draw(t, "rows")
		b := segmentOf(t, rows)
		got, err := rowsOf(b)
		if err != nil || len(got) != len(rows) {
			t.Fatalf("%d of %d rows: %v", len(got), len(rows), err)
		}
		for i := range rows {
			if got[i].Space != rows[i].Space || got[i].Key != rows[i].Key || !bytes.Equal(got[i].Value, rows[i].Value) {
				t.Fatalf("row %d: %+v, want %+v", i, got[i], rows[i])
			}
		}
		at := rapid.IntRange(0, len(b)-1).Draw(t, "at")
		bad := slices.Clone(b)
		switch rapid.IntRange(0, 2).Draw(t, "harm") {
		case 0:
			bad[at] ^= 1 << rapid.IntRange(0, 7).Draw(t, "bit")
		case 1:
			bad = bad[:at]
		case 2:
			bad = append(bad, 0)
		}
		if _, err := rowsOf(bad); err == nil && !sameEnd(b, bad) {
			t.Fatalf("harm at %d of %d was not seen", at, len(b))
		}
	})
}

// sameEnd allows harm inside the closing frame that does not change what it
// says, such as the case of a letter in a name.
func sameEnd(a, b []byte) bool {
	cut := bytes.LastIndex(a, []byte(`{"rows"`))
	return len(a) == len(b) && bytes.Equal(a[:cut], b[:cut]) && strings.EqualFold(string(a[cut:]), string(b[cut:]))
}

// The format as it is described, read by another hand: nothing of the
// package's own reader is used.
func TestFormatAsDescribed(t *testing.T) {
	b := segmentOf(t, []ledger.Row{{Space: "line", Key: "p1/1", Value: []byte("value")}, {Space: "audit", Key: "1"}})
	want := []string{
		`h{"series":"s","segment":1,"prev":"","at":"0001-01-01T00:00:00Z","layout":1}`,
		"r\x04line\x04p1/1value", "r\x05audit\x011",
		`e{"rows":{"audit":1,"line":1},"audit":{"seq":3,"hash":"h"},"sum":"`,
	}
	rest, ok := bytes.CutPrefix(b, []byte("unsling backup 1\n"))
	if !ok {
		t.Fatal("begins otherwise")
	}
	for _, w := range want {
		n := binary.BigEndian.Uint32(rest)
		if !strings.HasPrefix(string(rest[4:4+n]), w) {
			t.Errorf("frame %q, want %q", rest[4:4+n], w)
		}
		rest = rest[4+n:]
	}
	if len(rest) != 0 {
		t.Errorf("%d bytes are left", len(rest))
	}
}

// Bytes from nowhere are refused without a crash and without taking memory.
func FuzzSegment(f *testing.F) {
	good := segmentOf(f, []ledger.Row{{Space: "line", Key: "p1/1", Value: []byte("value")}})
	f.Add(good)
	f.Add(good[:len(good)/2])
	f.Add([]byte(magic))
	f.Add(append([]byte(magic), 0x03, 0xff, 0xff, 0xff, 'h'))
	f.Fuzz(func(t *testing.T, b []byte) {
		rows, err := rowsOf(b)
		if err != nil {
			return
		}
		for _, r := range rows {
			if len(r.Space)+len(r.Key)+len(r.Value) > len(b) {
				t.Fatal("a row longer than its segment")
			}
		}
	})
}

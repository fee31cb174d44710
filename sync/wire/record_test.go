package wire

import (
	"bytes"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
)

func sample() Record {
	return Record{
		Author: "p-1_A", N: 2, Prev: HashOf([]byte("first")), Salt: Salt([16]byte{1, 2, 3}),
		Kind: KindPain, V: 1, Run: "r7", Mono: 1234,
		At: time.Date(2026, 3, 29, 1, 59, 59, 123e6, time.FixedZone("", 3600)), TZ: "Europe/Madrid", Rev: 4,
		Body: json.RawMessage(`{"episode":"e1","score":3,"when":"rest"}`),
	}
}

const sampleLine = `{"author":"p-1_A","n":2,"prev":"oZN6Jl9iKkUzt3KyhWd2MGhPkg7TdTDy3QgX26KI0tE","salt":"AQIDAAAAAAAAAAAAAAAAAA",` +
	`"kind":"pain","v":1,"run":"r7","mono":1234,"at":"2026-03-29T01:59:59.123+01:00","tz":"Europe/Madrid","rev":4,` +
	`"body":{"episode":"e1","score":3,"when":"rest"}}`

// The bytes of a line are a promise: this text must never have to change.
func TestEncodeIsFixed(t *testing.T) {
	r := sample()
	r.Prev = "oZN6Jl9iKkUzt3KyhWd2MGhPkg7TdTDy3QgX26KI0tE"
	line, err := Encode(r)
	if err != nil {
		t.Fatal(err)
	}
	if string(line) != sampleLine {
		t.Errorf("line is\n%s\nwant\n%s", line, sampleLine)
	}
	if !json.Valid(line) {
		t.Error("line is not JSON (RFC 8259)")
	}
}

// SHA-256 of "abc" (FIPS 180-4, example of appendix B.1 of FIPS 180-2) in
// base64url without padding (RFC 4648 section 5).
func TestHashOf(t *testing.T) {
	want, _ := hex.DecodeString("ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad")
	if got := HashOf([]byte("abc")); string(got) != base64.RawURLEncoding.EncodeToString(want) {
		t.Errorf("HashOf(abc) = %s", got)
	}
	if !NoPrev.Valid() || strings.Trim(string(NoPrev), "A") != "" {
		t.Error("NoPrev is not 43 times A")
	}
}

func TestDecode(t *testing.T) {
	with := func(change func(*Record)) Record {
		r := sample()
		change(&r)
		return r
	}
	for name, r := range map[string]Record{
		"plain":        sample(),
		"first":        with(func(r *Record) { r.N, r.Prev = 1, NoPrev }),
		"moved":        with(func(r *Record) { r.Was = rom.Ref{Author: "old", N: 9} }),
		"sealed":       with(func(r *Record) { r.Author, r.MAC = "c-1", string(HashOf(nil)) }),
		"both":         with(func(r *Record) { r.Was, r.MAC = rom.Ref{Author: "old", N: 9}, string(HashOf(nil)) }),
		"UTC":          with(func(r *Record) { r.At = r.At.UTC() }),
		"unknown kind": with(func(r *Record) { r.Kind, r.V, r.Body = "x-2", 9, json.RawMessage(`{"a":["}\"\\",{}]}`) }),
		"odd zone":     with(func(r *Record) { r.At = r.At.In(time.FixedZone("LMT", -884)) }),
	} {
		line, err := Encode(r)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		back, err := Decode(line)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		again, err := Encode(back)
		if err != nil || !bytes.Equal(again, line) {
			t.Errorf("%s: encodes again as %s (%v)", name, again, err)
		}
		if back.Ref() != r.Ref() || back.Was != r.Was || back.MAC != r.MAC || !back.At.Equal(r.At) || !bytes.Equal(back.Body, r.Body) {
			t.Errorf("%s: came back as %+v", name, back)
		}
	}
}

// What is not the very form is no record; each row changes one thing.
func TestDecodeRefuses(t *testing.T) {
	change := func(old, new string) string {
		if !strings.Contains(sampleLine, old) {
			t.Fatalf("the sample has no %q", old)
		}
		return strings.Replace(sampleLine, old, new, 1)
	}
	for _, c := range []struct{ field, line string }{
		{"author", ""},
		{"author", "not json"},
		{"author", change(`{"author"`, `{ "author"`)},
		{"author", change(`p-1_A`, `p 1`)},
		{"author", change(`p-1_A`, ``)},
		{"author", change(`p-1_A`, strings.Repeat("x", 65))},
		{"n", change(`"n":2`, `"n":02`)},
		{"n", change(`"n":2`, `"n":-2`)},
		{"n", change(`"n":2`, `"n":0`)},
		{"n", change(`"n":2`, `"n":99999999999999999999`)},
		{"prev", change(`"n":2`, `"n":1`)},
		{"prev", change(`oZN6`, `oZN`)},
		{"prev", change(`0tE"`, `0tF"`)}, // not canonical base64: a bit beyond the end
		{"prev", change(`oZN6Jl9iKkUzt3KyhWd2MGhPkg7TdTDy3QgX26KI0tE`, string(NoPrev))},
		{"salt", change(`AQIDAA`, `AQID`)},
		{"kind", change(`"pain"`, `"Pain"`)},
		{"v", change(`"v":1`, `"v":0`)},
		{"run", change(`"r7"`, `"r 7"`)},
		{"at", change(`.123+01:00`, `.123000+01:00`)},
		{"at", change(`.123+01:00`, `.123+00:00`)}, // written as Z
		{"at", change(`2026-03-29T01`, `2026-02-30T01`)},
		{"tz", change(`Europe/Madrid`, `Europe Madrid`)},
		{"rev", change(`"rev":4`, `"rev":4294967296`)},
		{"body", change(`"score":3`, `"score": 3`)},
		{"body", change(`"score":3`, `"score":3,`)},
		{"body", change(`"rest"`, "\"\xff\"")},
		{"body", change(`{"episode":"e1","score":3,"when":"rest"}`, `[]`)},
		{"end", sampleLine + " "},
		{"end", sampleLine + "\n"},
		{"end", change(`"rest"}}`, `"rest"},"more":1}`)},
		{"was", change(`"rest"}}`, `"rest"},"was":{"author":"","n":0}}`)},
		{"mac", change(`"rest"}}`, `"rest"},"mac":""}`)},
		{"mac", change(`"rest"}}`, `"rest"},"mac":"AAAA"}`)},
	} {
		_, err := Decode([]byte(c.line))
		var e *LineError
		if !errors.As(err, &e) || e.Field != c.field {
			t.Errorf("Decode(%s) = %v, want a fault of %s", c.line, err, c.field)
		}
	}
	if _, err := Decode(make([]byte, MaxLine+1)); !errors.Is(err, ErrTooLong) {
		t.Errorf("a line of more than 8 KiB: %v, want ErrTooLong", err)
	}
}

func TestEncodeRefuses(t *testing.T) {
	r := sample()
	r.Body = json.RawMessage(`{"text":"` + strings.Repeat("x", MaxLine) + `"}`)
	if _, err := Encode(r); !errors.Is(err, ErrTooLong) {
		t.Errorf("a body of 8 KiB: %v, want ErrTooLong", err)
	}
	r = sample()
	r.At = time.Date(12000, 1, 1, 0, 0, 0, 0, time.UTC)
	var e *LineError
	if _, err := Encode(r); !errors.As(err, &e) || e.Field != "at" {
		t.Errorf("a year of five digits: %v, want a fault of at", err)
	}
}

func TestSeal(t *testing.T) {
	r := sample()
	r.Author = "c-1"
	key := []byte("key outside the store")
	line, err := Seal(r, key, "patient-1")
	if err != nil {
		t.Fatal(err)
	}
	if !Sealed(line, key, "patient-1") {
		t.Error("a sealed line is not known again")
	}
	changed := bytes.Replace(line, []byte(`"score":3`), []byte(`"score":9`), 1)
	bare, _ := Encode(r)
	for name, ok := range map[string]bool{
		"another patient": Sealed(line, key, "patient-2"),
		"another key":     Sealed(line, []byte("other"), "patient-1"),
		"another body":    Sealed(changed, key, "patient-1"),
		"no seal":         Sealed(bare, key, "patient-1"),
	} {
		if ok {
			t.Errorf("%s passes for sealed", name)
		}
	}
}

func TestPosition(t *testing.T) {
	if ref, ok := Position([]byte(sampleLine[:40])); !ok || ref != (rom.Ref{Author: "p-1_A", N: 2}) {
		t.Errorf("Position of a line cut short = %v, %v", ref, ok)
	}
	if _, ok := Position([]byte("!" + sampleLine)); ok {
		t.Error("Position reads what is no record")
	}
}

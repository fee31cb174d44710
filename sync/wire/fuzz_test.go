package wire

import (
	"bytes"
	"encoding/json"
	"reflect"
	"testing"
)

// What decodes encodes to the same bytes, and nothing else decodes.
func FuzzDecode(f *testing.F) {
	f.Add([]byte(sampleLine))
	f.Add([]byte(`{"author":"c-1","n":1,"prev":"` + string(NoPrev) + `","salt":"AQIDAAAAAAAAAAAAAAAAAA","kind":"x","v":2,"run":"r","mono":0,` +
		`"at":"1969-12-31T23:00:00.000Z","tz":"UTC","rev":0,"body":{"a":"}\""},"was":{"author":"p","n":1},"mac":"` + string(NoPrev) + `"}`))
	for k, body := range bodies {
		r := sample()
		r.Kind = k
		r.Body, r.V, _ = EncodeBody(k, body)
		line, err := Encode(r)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(line)
	}
	f.Fuzz(func(t *testing.T, line []byte) {
		r, err := Decode(line)
		if err != nil {
			return
		}
		again, err := Encode(r)
		if err != nil || !bytes.Equal(again, line) {
			t.Fatalf("%s\nencodes again as\n%s (%v)", line, again, err)
		}
		if !json.Valid(line) {
			t.Fatalf("%s is accepted and is no JSON", line)
		}
		if ref, ok := Position(line); !ok || ref != r.Ref() {
			t.Fatalf("Position of %s = %v, %v", line, ref, ok)
		}
		if body, err := DecodeBody(r.Kind, r.V, r.Body); err == nil {
			raw, v, err := EncodeBody(r.Kind, body)
			if err != nil {
				t.Fatalf("%s of %s does not encode again: %v", r.Kind, line, err)
			}
			same, err := DecodeBody(r.Kind, v, raw)
			if err != nil {
				t.Fatalf("%s does not come back from %s: %v", r.Body, raw, err)
			}
			if twice, _, err := EncodeBody(r.Kind, same); err != nil || !bytes.Equal(twice, raw) {
				t.Fatalf("%s is written as %s and then as %s (%v)", r.Body, raw, twice, err)
			}
		}
	})
}

// A request that is read and written and read again is the same request.
func FuzzReadRequest(f *testing.F) {
	var b bytes.Buffer
	WriteRequest(&b, Request{
		Header: Header{Proto: 1, App: "1", Author: "p", From: 1, Since: Cursor{3, NoPrev}, Epoch: "e"},
		Lines:  chainOf(f, "p", 2), Returned: chainOf(f, "c-1", 1),
	})
	f.Add(b.Bytes())
	f.Add([]byte(`{"proto":1,"author":"p","from":5,"since":{}}` + "\nbroken\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		r, err := ReadRequest(bytes.NewReader(text))
		if err != nil {
			if _, ok := AsError(err); !ok {
				t.Fatalf("an error without a code: %v", err)
			}
			return
		}
		var b bytes.Buffer
		if err := WriteRequest(&b, r); err != nil {
			t.Fatal(err)
		}
		again, err := ReadRequest(&b)
		if err != nil || !reflect.DeepEqual(again, r) {
			t.Fatalf("%q comes back as %+v (%v)", text, again, err)
		}
	})
}

// The same for an answer.
func FuzzReadReply(f *testing.F) {
	lines := chainOf(f, "p", 1)
	var b bytes.Buffer
	WriteReply(&b, Reply{Epoch: "e", State: Active, Seq: 4, Head: Cursor{5, NoPrev}},
		[]LogLine{{Seq: 4, Bytes: lines[0], Hash: HashOf(lines[0])}, {Seq: 5, Erased: true, Hash: NoPrev}})
	f.Add(b.Bytes())
	f.Fuzz(func(t *testing.T, text []byte) {
		r, log, err := ReadReply(bytes.NewReader(text))
		if err != nil {
			if _, ok := AsError(err); !ok {
				t.Fatalf("an error without a code: %v", err)
			}
			return
		}
		var b bytes.Buffer
		if err := WriteReply(&b, r, log); err != nil {
			return // an instant that JSON cannot say again
		}
		again, same, err := ReadReply(&b)
		if err != nil || !reflect.DeepEqual(same, log) || !again.ServerTime.Equal(r.ServerTime) {
			t.Fatalf("%q comes back as %+v %+v (%v)", text, again, same, err)
		}
	})
}

// Messages that are one object never break the reader.
func FuzzReadMessage(f *testing.F) {
	f.Add([]byte(`{"code":"gap","message":"m","ack":{"n":3,"hash":"x"}}`))
	f.Add([]byte(`{"code":"ABCD","author":"p","key":{"kty":"EC"},"name":"n","assertion":"a.b.c"}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		for _, m := range []any{&Hello{}, &Enrol{}, &Enrolled{}, &NewDevice{}, &Token{}, &Error{}} {
			if err := ReadMessage(bytes.NewReader(text), m); err != nil {
				if _, ok := AsError(err); !ok {
					t.Fatalf("an error without a code: %v", err)
				}
			}
		}
	})
}

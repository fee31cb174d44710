//go:build js && wasm

package idb

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"syscall/js"
	"testing"

	"unsling/sync/journal"
	"unsling/wasm/internal/jsrun"
)

// raw is everything that lies in a database as bytes, key by key.
func raw(t *testing.T, db *DB) string {
	t.Helper()
	ctx := context.Background()
	rows, err := db.Range(ctx, Log, All, 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range []Store{Meta, Blobs} {
		list, err := db.Range(ctx, s, All, 0)
		if err != nil {
			t.Fatal(err)
		}
		rows = append(rows, list...)
	}
	return string(bytes.Join(rows, []byte("\n")))
}

const secret = "my shoulder hurts at night"

func fill(t *testing.T, j journal.Store) {
	t.Helper()
	err := j.Commit(context.Background(), journal.Batch{
		Add:  []journal.Row{{Author: "p-1", N: 1, Line: []byte(`{"q":"` + secret + `"}`)}, {Author: "c-1", N: 1, Pull: 1, Line: []byte(secret)}},
		Meta: []journal.Item{{Name: "app.draft", Value: []byte(secret)}}, Blobs: []journal.Item{{Name: "picture", Value: []byte(secret)}},
	})
	if err != nil {
		t.Fatal(err)
	}
}

func read(t *testing.T, j *Journal) string {
	t.Helper()
	ctx := context.Background()
	var out []string
	if err := j.Each(ctx, func(r journal.Row) error {
		out = append(out, fmt.Sprintf("%s/%d/%d %s", r.Author, r.N, r.Pull, r.Line))
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	m, err1 := j.Meta(ctx, "app.draft")
	b, err2 := j.Blob(ctx, "picture")
	if err := errors.Join(err1, err2); err != nil {
		t.Fatal(err)
	}
	return strings.Join(append(out, string(m), string(b)), "\n")
}

func TestNothingLiesInClear(t *testing.T) {
	db, name := fresh(t)
	j := journalOf(t, db)
	fill(t, j)
	if all := raw(t, db); strings.Contains(all, secret) || !strings.Contains(all, "p-1 1 0 1\n") {
		t.Errorf("the database holds %q", all)
	}
	want := read(t, j)
	if strings.Count(want, secret) != 4 {
		t.Errorf("read back: %q", want)
	}
	if got := read(t, journalOf(t, reopen(t, name))); got != want {
		t.Errorf("opened again: %q, want %q", got, want)
	}
	// The same text twice gives two ciphertexts: a nonce is never used again.
	one, _ := j.cipher.encryptItem(context.Background(), Meta, "a", []byte(secret))
	two, _ := j.cipher.encryptItem(context.Background(), Meta, "a", []byte(secret))
	if bytes.Equal(one, two) {
		t.Error("one text gives one ciphertext")
	}
	key, err := db.GetValue(context.Background(), Meta, dataKey)
	if err != nil || key.Get("extractable").Bool() {
		t.Errorf("the key can be read out (%v)", err)
	}
	s, _ := subtle()
	if _, err := jsrun.CallAwait(context.Background(), s, "exportKey", "raw", key); !jsrun.Named(err, "InvalidAccessError") {
		t.Errorf("exporting the key: %v, want InvalidAccessError (Web Cryptography API, section 14.3.10)", err)
	}
}

// TestGCMVector is test case 16 of the GCM specification (McGrew and Viega, "The Galois/Counter Mode of Operation", appendix
// B; numbers from memory, computed alike here): what the browser computes is AES-256-GCM, with the tag behind the text.
func TestGCMVector(t *testing.T) {
	unhex := func(s string) []byte {
		var b []byte
		if _, err := fmt.Sscanf(s, "%x", &b); err != nil {
			t.Fatal(err)
		}
		return b
	}
	ctx := context.Background()
	s, err := subtle()
	if err != nil {
		t.Fatal(err)
	}
	key, err := jsrun.CallAwait(ctx, s, "importKey", "raw", jsrun.ToJS(unhex("feffe9928665731c6d6a8f9467308308feffe9928665731c6d6a8f9467308308")),
		"AES-GCM", false, []any{"encrypt"})
	if err != nil {
		t.Fatal(err)
	}
	plain := unhex("d9313225f88406e5a55909c5aff5269a86a7a9531534f7da2e4c303d8a318a721c3c0c95956809532fcf0e2449a6b525b16aedf5aa0de657ba637b39")
	c := &cipher{key}
	got, err := c.each(ctx, "encrypt", []piece{{string(unhex("feedfacedeadbeeffeedfacedeadbeefabaddad2")), plain}}, func(int) (nonce, data []byte) {
		return unhex("cafebabefacedbaddecaf888"), plain
	})
	if err != nil {
		t.Fatal(err)
	}
	want := "522dc1f099567d07f47f37a32a84427d643a8cdcbfe5c0c97598a2bd2555d1aa8cb08e48590dbb3da7b08b1056828838c5f61e6393ba7a0abcc9f662" +
		"76fc6ece0f4e1768cddf8853bb2d551b"
	if g := fmt.Sprintf("%x", got[0].data); g != want {
		t.Errorf("ciphertext and tag %s, want %s", g, want)
	}
}

func TestDamagedOrMovedRowIsNoRecord(t *testing.T) {
	ctx := context.Background()
	db, _ := fresh(t)
	j := journalOf(t, db)
	for n := range int64(4) {
		if err := j.Commit(ctx, journal.Batch{Add: []journal.Row{{Author: "a", N: n + 1, Line: fmt.Appendf(nil, "line %d", n+1)}}}); err != nil {
			t.Fatal(err)
		}
	}
	get := func(n int64) []byte { b, _ := db.Get(ctx, Log, Line("a", n)); return b }
	flipped := get(2)
	flipped[len(flipped)-3] ^= 1
	moved := bytes.Replace(get(4), []byte("a 4 0"), []byte("a 3 0"), 1)
	short := []byte("a 1 0 1\nshort")
	if err := db.Write(ctx, nil, Put(Log, Line("a", 2), flipped), Put(Log, Line("a", 3), moved), Put(Log, Line("a", 1), short)); err != nil {
		t.Fatal(err)
	}
	rows, err := j.Rows(ctx, "a", 1, 10)
	var got []string
	for _, r := range rows {
		got = append(got, string(r.Line))
	}
	if want := []string{DamagedLine, DamagedLine, DamagedLine, "line 4"}; err != nil || !slices.Equal(got, want) {
		t.Errorf("rows %q (%v), want %q", got, err, want)
	}
	if err := db.Write(ctx, nil, Put(Meta, Name("m"), append(bytes.Clone(mark1), make([]byte, 40)...))); err != nil {
		t.Fatal(err)
	}
	if v, err := j.Meta(ctx, "m"); !errors.Is(err, errUnreadable) {
		t.Errorf("a damaged value: %q, %v", v, err)
	}
	// A browser that cannot decrypt at all damages nothing.
	other := js.Global().Get("Object").New()
	broken := &Journal{db: db, cipher: &cipher{other}}
	if rows, err := broken.Rows(ctx, "a", 1, 10); err == nil {
		t.Errorf("without a key that works: %v", rows)
	}
}

func TestKeyGone(t *testing.T) {
	ctx := context.Background()
	for name, lose := range map[string]func(db *DB) error{
		"key gone":        func(db *DB) error { return db.Write(ctx, nil, Delete(Meta, dataKey)) },
		"key and check":   func(db *DB) error { return db.Write(ctx, nil, Delete(Meta, dataKey), Delete(Meta, keyCheck)) },
		"check gone":      func(db *DB) error { return db.Write(ctx, nil, Delete(Meta, keyCheck)) },
		"no key any more": func(db *DB) error { return db.Write(ctx, nil, Put(Meta, dataKey, []byte("x"))) },
		"only values left": func(db *DB) error {
			return db.Write(ctx, nil, Delete(Meta, dataKey), Delete(Meta, keyCheck), Delete(Log, Line("p-1", 1)), Delete(Log, Line("c-1", 1)))
		},
		"only rows left": func(db *DB) error {
			return db.Write(ctx, nil, Delete(Meta, dataKey), Delete(Meta, keyCheck), Delete(Meta, Name("app.draft")), Delete(Blobs, Name("picture")))
		},
	} {
		db, _ := fresh(t)
		fill(t, journalOf(t, db))
		before := raw(t, db)
		if err := lose(db); err != nil {
			t.Fatal(err)
		}
		lost := raw(t, db)
		if j, err := OpenJournal(ctx, db); !errors.Is(err, ErrKeyLost) {
			t.Errorf("%s: %v, %v, want ErrKeyLost", name, j, err)
		}
		if now := raw(t, db); now != lost || before == "" {
			t.Errorf("%s: opening has written", name)
		}
	}
}

// old writes values as the program did before there was encryption.
func old(t *testing.T, db *DB, rows int) {
	t.Helper()
	var ops []Op
	for n := range int64(rows) {
		r := journal.Row{Author: "p-1", N: n + 1, Pull: n % 3, Line: fmt.Appendf(nil, `{"n":%d,"q":"%s"}`, n+1, secret)}
		ops = append(ops, Add(Log, Line("p-1", n+1), []byte(headOf(r)+"\n"+string(r.Line))))
	}
	ops = append(ops, Put(Meta, Name("app.draft"), []byte(secret)), Put(Blobs, Name("picture"), []byte(secret)))
	if err := db.Write(context.Background(), nil, ops...); err != nil {
		t.Fatal(err)
	}
}

func TestOldRecordsAreTakenOver(t *testing.T) {
	ctx := context.Background()
	db, name := fresh(t)
	const rows = 2*encryptPage + 3
	old(t, db, rows)
	j := journalOf(t, db)
	want := read(t, j)
	if strings.Count(want, secret) != rows+2 || !j.Clear() {
		t.Fatalf("of %d old values %d are read; clear %v", rows+2, strings.Count(want, secret), j.Clear())
	}
	// The first pass is stopped after its first page, as by a kill.
	stop, cancel := context.WithCancel(ctx)
	writes := 0
	proto := js.Global().Get("IDBDatabase").Get("prototype")
	real := proto.Get("transaction")
	spy := js.FuncOf(func(this js.Value, args []js.Value) any {
		if args[1].String() == "readwrite" {
			if writes++; writes == 2 {
				cancel()
			}
		}
		return real.Call("apply", this, js.Global().Get("Array").Call("from", toArray(args)))
	})
	defer spy.Release()
	proto.Set("transaction", spy)
	n, err := j.EncryptOld(stop)
	proto.Set("transaction", real)
	if err == nil || n < encryptPage || n > 2*encryptPage {
		t.Fatalf("a pass that was stopped: %d, %v", n, err)
	}
	db.Close()
	j = journalOf(t, reopen(t, name))
	if got := read(t, j); got != want {
		t.Error("after half a pass something reads differently")
	}
	// Meanwhile another window changes a value: the pass leaves its own be.
	other := journalOf(t, reopen(t, name))
	if err := other.Commit(ctx, journal.Batch{Meta: []journal.Item{{Name: "app.draft", Value: []byte("newer " + secret)}}}); err != nil {
		t.Fatal(err)
	}
	if _, err := j.EncryptOld(ctx); err != nil || j.Clear() {
		t.Fatal("the second pass: ", err)
	}
	want = strings.Replace(want, "\n"+secret, "\nnewer "+secret, 1)
	if got := read(t, j); got != want {
		t.Error("after the whole pass something reads differently")
	}
	if strings.Contains(raw(t, db), secret) {
		t.Error("something lies in clear after the pass")
	}
	if n, err := j.EncryptOld(ctx); n != 0 || err != nil {
		t.Errorf("a pass with nothing to do: %d, %v", n, err)
	}
}

// TestChangedMeanwhile: what changed between reading and writing is not written over.
func TestChangedMeanwhile(t *testing.T) {
	ctx := context.Background()
	db, _ := fresh(t)
	old(t, db, 2)
	j := journalOf(t, db)
	stale, err := db.Range(ctx, Log, All, 0)
	if err != nil {
		t.Fatal(err)
	}
	if err := j.Commit(ctx, journal.Batch{Put: []journal.Row{{Author: "p-1", N: 2, Pull: 7, Line: []byte("moved on")}}}); err != nil {
		t.Fatal(err)
	}
	if n, err := j.encryptRows(ctx, stale); n != 1 || err != nil {
		t.Errorf("%d encrypted, %v; want 1", n, err)
	}
	rows, err := j.Rows(ctx, "p-1", 2, 1)
	if err != nil || len(rows) != 1 || string(rows[0].Line) != "moved on" || rows[0].Pull != 7 {
		t.Errorf("the newer row became %v, %v", rows, err)
	}
}

func TestEmptyLeavesNothing(t *testing.T) {
	ctx := context.Background()
	db, name := fresh(t)
	fill(t, journalOf(t, db))
	if err := Empty(ctx, name); err != nil { // while this window has it open
		t.Fatal(err)
	}
	if all := raw(t, db); all != "" {
		t.Errorf("after emptying it holds %q", all)
	}
	if key, err := db.GetValue(ctx, Meta, dataKey); err != nil || !key.IsUndefined() {
		t.Errorf("the key is still there (%v)", err)
	}
}

func TestTwoWindowsMakeOneKey(t *testing.T) {
	ctx := context.Background()
	db, name := fresh(t)
	two := reopen(t, name)
	got := make(chan *Journal, 2)
	for _, d := range []*DB{db, two} {
		go func() {
			j, err := OpenJournal(ctx, d)
			if err != nil {
				t.Error(err)
			}
			got <- j
		}()
	}
	a, b := <-got, <-got
	fill(t, a)
	if read(t, a) != read(t, b) {
		t.Error("two windows that start at once read differently")
	}
}

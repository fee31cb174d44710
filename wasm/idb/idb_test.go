//go:build js && wasm

package idb

// These tests need a browser: server/browsertest builds them and runs them in Chromium.

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"sync"
	"syscall/js"
	"testing"
	"time"

	"unsling/wasm/internal/jsrun"
)

var names = 0

// fresh opens a new, empty database that goes with the test.
func fresh(t testing.TB) (*DB, string) {
	t.Helper()
	names++
	name := fmt.Sprintf("test-%d-%s", names, t.Name())
	return reopen(t, name), name
}

func reopen(t testing.TB, name string) *DB {
	t.Helper()
	db, err := Open(context.Background(), name)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		db.Close()
		if err := Drop(context.Background(), name); err != nil {
			t.Error(err)
		}
	})
	return db
}

func count(t *testing.T, db *DB, s Store) int {
	t.Helper()
	list, err := db.Range(context.Background(), s, All, 0)
	if err != nil {
		t.Fatal(err)
	}
	return len(list)
}

func TestAddNeverOverwritesAndWritesAllOrNothing(t *testing.T) {
	ctx := context.Background()
	db, _ := fresh(t)
	if err := db.Write(ctx, nil, Add(Log, Line("a", 1), []byte("first")), Put(Meta, Name("m"), []byte("1"))); err != nil {
		t.Fatal(err)
	}
	err := db.Write(ctx, nil, Add(Log, Line("a", 2), []byte("second")), Put(Meta, Name("m"), []byte("2")), Add(Log, Line("a", 1), []byte("other")))
	if !errors.Is(err, ErrExists) {
		t.Fatalf("adding a taken key: %v, want ErrExists", err)
	}
	if n := count(t, db, Log); n != 1 {
		t.Errorf("%d lines after a refused write, want 1", n)
	}
	for _, c := range []struct {
		store Store
		key   Key
		want  string
	}{{Log, Line("a", 1), "first"}, {Meta, Name("m"), "1"}} {
		if got, err := db.Get(ctx, c.store, c.key); err != nil || string(got) != c.want {
			t.Errorf("%s %v: %q, %v, want %q", c.store, c.key, got, err, c.want)
		}
	}
	if got, err := db.Get(ctx, Meta, Name("none")); got != nil || err != nil {
		t.Errorf("a value that is not there: %q, %v, want nil and no error", got, err)
	}
}

func TestChecksHoldInsideTheTransaction(t *testing.T) {
	ctx := context.Background()
	db, _ := fresh(t)
	absent := []Check{{Meta, Name("head"), nil}}
	if err := db.Write(ctx, absent, Put(Meta, Name("head"), []byte("1"))); err != nil {
		t.Fatal(err)
	}
	if err := db.Write(ctx, absent, Put(Meta, Name("head"), []byte("2"))); !errors.Is(err, ErrChanged) {
		t.Errorf("a check that does not hold: %v, want ErrChanged", err)
	}
	both := []Check{{Meta, Name("head"), []byte("1")}, {Log, Line("a", 1), nil}}
	if err := db.Write(ctx, both, Add(Log, Line("a", 1), []byte("x")), Put(Meta, Name("head"), []byte("3"))); err != nil {
		t.Error(err)
	}
	if got, _ := db.Get(ctx, Meta, Name("head")); string(got) != "3" {
		t.Errorf("head is %q, want 3", got)
	}
}

func TestTwoWindowsAddTheSameKey(t *testing.T) {
	ctx := context.Background()
	one, name := fresh(t)
	two := reopen(t, name)
	const each = 25
	var wins, losses int
	var mu sync.Mutex
	var all sync.WaitGroup
	for n := range each {
		for _, db := range []*DB{one, two} {
			all.Go(func() {
				err := db.Write(ctx, nil, Add(Log, Line("a", int64(n)), fmt.Appendf(nil, "%p", db)))
				mu.Lock()
				defer mu.Unlock()
				switch {
				case err == nil:
					wins++
				case errors.Is(err, ErrExists):
					losses++
				default:
					t.Error(err)
				}
			})
		}
	}
	all.Wait()
	if wins != each || losses != each {
		t.Errorf("%d writes kept and %d refused, want %d and %d", wins, losses, each, each)
	}
}

func TestKeysOrderByNumberAndSpansKeepAuthorsApart(t *testing.T) {
	ctx := context.Background()
	db, _ := fresh(t)
	var ops []Op
	for _, n := range []int64{10, 9, 2, 1, 100} {
		ops = append(ops, Add(Log, Line("b", n), fmt.Appendf(nil, "%d", n)))
	}
	ops = append(ops, Add(Log, Line("a", 5), []byte("a5")), Add(Log, Line("c", 7), []byte("c7")))
	if err := db.Write(ctx, nil, ops...); err != nil {
		t.Fatal(err)
	}
	list, err := db.Range(ctx, Log, LinesOf("b", 2), 3)
	if err != nil {
		t.Fatal(err)
	}
	if got := string(bytes.Join(list, []byte(" "))); got != "2 9 10" {
		t.Errorf("three lines of b from 2 on: %q, want 2 9 10", got)
	}
	list, _ = db.Range(ctx, Log, Span{From: Line("b", 9), After: true}, 0)
	if got := string(bytes.Join(list, []byte(" "))); got != "10 100 c7" {
		t.Errorf("all after b 9: %q, want 10 100 c7", got)
	}
	if last, _ := db.Last(ctx, Log, LinesOf("b", 0)); string(last) != "100" {
		t.Errorf("last of b: %q, want 100", last)
	}
	if last, err := db.Last(ctx, Log, LinesOf("nobody", 0)); last != nil || err != nil {
		t.Errorf("last of nobody: %q, %v", last, err)
	}
}

func TestLostConnectionIsOpenedAgain(t *testing.T) {
	ctx := context.Background()
	db, _ := fresh(t)
	db.conn.db.Call("close") // as after sleep: the handle is dead and nobody was told
	if err := db.Write(ctx, nil, Add(Log, Line("a", 1), []byte("x"))); err != nil {
		t.Fatalf("write on a dead connection: %v", err)
	}
	db.conn.db.Call("close")
	if got, err := db.Get(ctx, Log, Line("a", 1)); err != nil || string(got) != "x" {
		t.Errorf("read on a dead connection: %q, %v", got, err)
	}
	// A first try that came through although its answer was lost is not written twice.
	if !db.conn.holds(ctx, []Op{Add(Log, Line("a", 1), []byte("x")), Put(Meta, Name("m"), nil)}) {
		t.Error("a line that is there is not recognised")
	}
	if db.conn.holds(ctx, []Op{Add(Log, Line("a", 1), []byte("y"))}) {
		t.Error("another line under the key is taken for ours")
	}
}

func TestRemovedDataIsNotContinued(t *testing.T) {
	ctx := context.Background()
	db, name := fresh(t)
	if !db.Fresh() {
		t.Error("a new database is not called fresh")
	}
	if err := db.Write(ctx, nil, Add(Log, Line("a", 1), []byte("x"))); err != nil {
		t.Fatal(err)
	}
	if err := Drop(ctx, name); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if err := db.Write(ctx, nil, Add(Log, Line("a", 2), []byte("y"))); !errors.Is(err, ErrGone) {
			t.Fatalf("write after the data was removed: %v, want ErrGone", err)
		}
	}
}

// TestOpenThatHangs: the browser sends neither success nor error (webkit.org/b/226547).
func TestOpenThatHangs(t *testing.T) {
	ctx, cancel := context.WithTimeout(context.Background(), 300*time.Millisecond)
	defer cancel()
	real := js.Global().Get("indexedDB")
	silent := js.FuncOf(func(js.Value, []js.Value) any { return js.Global().Get("EventTarget").New() })
	defer silent.Release()
	object := js.Global().Get("Object")
	replace := func(v js.Value) {
		object.Call("defineProperty", js.Global(), "indexedDB", map[string]any{"value": v, "configurable": true})
	}
	fake := object.New()
	fake.Set("open", silent)
	replace(fake)
	defer replace(real)
	start := time.Now()
	_, err := Open(ctx, "hanging")
	if !errors.Is(err, ErrBusy) {
		t.Errorf("open that hangs: %v, want ErrBusy", err)
	}
	if took := time.Since(start); took >= openLimit {
		t.Errorf("open that hangs took %v although the caller gives up sooner", took)
	}
	replace(js.Undefined())
	if _, err := Open(context.Background(), "none"); !errors.Is(err, ErrRefused) {
		t.Errorf("no storage at all: %v, want ErrRefused", err)
	}
}

func TestErrorsOfTheBrowserByName(t *testing.T) {
	for name, want := range map[string]error{ // Indexed Database API 3.0, section 3 (exceptions)
		"ConstraintError":    ErrExists,
		"QuotaExceededError": ErrFull,
		"SecurityError":      ErrRefused,
		"InvalidStateError":  ErrLost,
		"UnknownError":       ErrLost,
	} {
		exception := js.Global().Get("DOMException").New("text", name)
		if got := classify(jsrun.FromValue(exception)); !errors.Is(got, want) {
			t.Errorf("%s: %v, want %v", name, got, want)
		}
	}
}

func TestStrictDurabilityIsAskedFor(t *testing.T) {
	ctx := context.Background()
	db, _ := fresh(t)
	proto := js.Global().Get("IDBDatabase").Get("prototype")
	real := proto.Get("transaction")
	var asked []string
	spy := js.FuncOf(func(this js.Value, args []js.Value) any {
		tx := real.Call("apply", this, js.Global().Get("Array").Call("from", toArray(args)))
		asked = append(asked, tx.Get("durability").String())
		return tx
	})
	defer spy.Release()
	proto.Set("transaction", spy)
	defer proto.Set("transaction", real)
	if err := db.Write(ctx, nil, Add(Log, Line("a", 1), []byte("x"))); err != nil {
		t.Fatal(err)
	}
	if len(asked) != 1 || asked[0] != "strict" {
		t.Errorf("durability of the transactions: %v, want one, strict", asked)
	}
}

func toArray(args []js.Value) []any {
	all := make([]any, len(args))
	for i, a := range args {
		all[i] = a
	}
	return all
}

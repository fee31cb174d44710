//go:build js && wasm

package idb

import (
	"context"
	"fmt"
	"sync"
	"syscall/js"
	"testing"
	"time"

	"unsling/wasm/internal/jsrun"
)

// aside tells the page that the browser keeps it aside (HTML standard, page transition events).
func aside() {
	js.Global().Call("dispatchEvent", js.Global().Get("PageTransitionEvent").New("pagehide", map[string]any{"persisted": true}))
}

// A page that the browser keeps aside ends its transactions, so that they hold up nobody: in WebKit they would for ever
// (seen in WebKitGTK 2.50.6, where the next page could not write any more).
func TestPageKeptAsideHoldsUpNobody(t *testing.T) {
	db, name := fresh(t)
	c, err := db.connect(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	tx := c.db.Call("transaction", "meta", "readwrite")
	defer c.track(tx)()
	gone := make(chan struct{})
	defer jsrun.Listen(tx, "abort", func(js.Value) { close(gone) })()
	var again func(js.Value) // asks without end, as a page does that was stopped in between
	var stops []func()
	again = func(js.Value) {
		_ = jsrun.Try(func() error {
			stops = append(stops, jsrun.Listen(tx.Call("objectStore", "meta").Call("get", "x"), "success", again))
			return nil
		})
	}
	again(js.Undefined())
	aside()
	select {
	case <-gone:
	case <-time.After(5 * time.Second):
		t.Fatal("the transaction goes on")
	}
	for _, f := range stops {
		f()
	}
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	other := reopen(t, name)
	if err := other.Write(ctx, nil, Put(Meta, Name("x"), []byte("1"))); err != nil {
		t.Errorf("another page: %v", err)
	}
	if got, err := db.Get(ctx, Meta, Name("x")); err != nil || string(got) != "1" {
		t.Errorf("the page when it is back: %q, %v", got, err)
	}
}

// Kept aside and brought back while it writes and reads, it loses nothing and writes nothing twice.
func TestWritesGoOnAfterPageWasAside(t *testing.T) {
	ctx := context.Background()
	db, _ := fresh(t)
	const lines = 40
	var all sync.WaitGroup
	for n := range lines {
		all.Go(func() {
			if err := db.Write(ctx, nil, Add(Log, Line("a", int64(n)), fmt.Appendf(nil, "%d", n))); err != nil {
				t.Errorf("line %d: %v", n, err)
			}
			if got, err := db.Get(ctx, Log, Line("a", int64(n))); err != nil || string(got) != fmt.Sprint(n) {
				t.Errorf("line %d: %q, %v", n, got, err)
			}
		})
		if n%10 == 5 {
			time.Sleep(time.Millisecond)
			aside()
		}
	}
	all.Wait()
	if n := count(t, db, Log); n != lines {
		t.Errorf("%d lines, want %d", n, lines)
	}
}

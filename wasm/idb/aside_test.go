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
	e := js.Global().Get("Event").New("pagehide") // WebKitGTK takes no "persisted" in the constructor of the true event
	e.Set("persisted", true)
	js.Global().Call("dispatchEvent", e)
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
	defer c.track(tx, func() {})()
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
	for _, f := range stops {
		f()
	}
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
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
	const lines, rounds = 20, 2
	for round := range rounds {
		var all sync.WaitGroup
		for i := range lines {
			n := int64(round*lines + i)
			all.Go(func() {
				if err := db.Write(ctx, nil, Add(Log, Line("a", n), fmt.Appendf(nil, "%d", n))); err != nil {
					t.Errorf("line %d: %v", n, err)
				}
				if got, err := db.Get(ctx, Log, Line("a", n)); err != nil || string(got) != fmt.Sprint(n) {
					t.Errorf("line %d: %q, %v", n, got, err)
				}
			})
		}
		time.Sleep(time.Millisecond)
		aside()
		all.Wait()
	}
	if n := count(t, db, Log); n != lines*rounds {
		t.Errorf("%d lines, want %d", n, lines*rounds)
	}
}

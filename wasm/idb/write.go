//go:build js && wasm

package idb

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"syscall/js"

	"unsling/wasm/internal/jsrun"
)

// Key is a key of a store.
type Key struct {
	name   string
	n      int64
	paired bool
}

// Name is a key of a single word, for the stores meta and blobs.
func Name(name string) Key { return Key{name: name} }

// Line is the key of a record in the log: the n-th of that author. n is at most 2^53 - 1.
func Line(author string, n int64) Key { return Key{name: author, n: n, paired: true} }

func (k Key) js() any {
	if k.paired {
		return []any{k.name, float64(k.n)}
	}
	return k.name
}

// Op is one change of a transaction.
type Op struct {
	method string // of IDBObjectStore
	store  Store
	key    Key
	bytes  []byte
	value  js.Value // used instead of bytes when it is there
}

// Add writes a new value; the key must be free.
func Add(s Store, k Key, data []byte) Op { return Op{method: "add", store: s, key: k, bytes: data} }

// Put writes or replaces a value.
func Put(s Store, k Key, data []byte) Op { return Op{method: "put", store: s, key: k, bytes: data} }

// AddValue writes a value of the browser's own, such as a key that cannot be read out; the key of the store must be free.
func AddValue(s Store, k Key, v js.Value) Op { return Op{method: "add", store: s, key: k, value: v} }

// Delete removes a value; none there is no error.
func Delete(s Store, k Key) Op { return Op{method: "delete", store: s, key: k} }

// Clear removes all values of a store.
func Clear(s Store) Op { return Op{method: "clear", store: s} }

// Check is what the caller believes: the value at a key, nil for none. A write whose checks do not hold writes nothing and
// gives ErrChanged.
type Check struct {
	Store Store
	Key   Key
	Want  []byte
}

// Write makes all changes in one strict transaction, if all checks hold inside it.
func (d *DB) Write(ctx context.Context, checks []Check, ops ...Op) error {
	if len(ops) == 0 {
		return nil
	}
	c, err := d.connect(ctx)
	if err != nil {
		return err
	}
	err = c.write(ctx, checks, ops)
	if !errors.Is(err, ErrLost) {
		return err
	}
	c.lost = true
	if c, err = d.connect(ctx); err != nil {
		return err
	}
	if c.holds(ctx, ops) {
		return nil // the first try had come through, only its answer was lost
	}
	err = c.write(ctx, checks, ops)
	if (errors.Is(err, ErrExists) || errors.Is(err, ErrChanged)) && c.holds(ctx, ops) {
		return nil // it came through between the look and the second try
	}
	return err
}

// holds reports whether the lines that ops add are all there, byte for byte. Without an addition it cannot tell and says no:
// puts and deletes may be repeated.
func (c *conn) holds(ctx context.Context, ops []Op) bool {
	added := 0
	for _, op := range ops {
		if op.method != "add" {
			continue
		}
		if op.bytes == nil {
			return false // values of the browser's own cannot be compared
		}
		added++
		v, err := c.get(ctx, op.store, op.key)
		if err != nil {
			return false
		}
		if old, ok := jsrun.ToGo(v); !ok || !bytes.Equal(old, op.bytes) {
			return false
		}
	}
	return added > 0
}

func (c *conn) write(ctx context.Context, checks []Check, ops []Op) error {
	ctx, cancel := context.WithTimeout(ctx, callLimit)
	defer cancel()
	names, seen := []any{}, map[Store]bool{}
	for _, op := range ops {
		if !seen[op.store] {
			seen[op.store] = true
			names = append(names, string(op.store))
		}
	}
	for _, ch := range checks {
		if !seen[ch.Store] {
			seen[ch.Store] = true
			names = append(names, string(ch.Store))
		}
	}
	// From here to the last request nothing waits: the browser commits a transaction that has no request pending.
	tx, err := jsrun.Call(c.db, "transaction", names, "readwrite", map[string]any{"durability": "strict"})
	if err != nil {
		return classify(err)
	}
	w := &writing{tx: tx, done: make(chan error, 1)}
	w.stops = append(w.stops, c.track(tx, func() {
		w.blame(fmt.Errorf("%w: the page was kept aside", ErrLost))
		w.end(w.why)
	}))
	w.stops = append(w.stops,
		jsrun.Listen(tx, "complete", func(js.Value) { w.end(nil) }),
		jsrun.Listen(tx, "error", func(e js.Value) { w.blame(classify(jsrun.FromValue(e.Get("target").Get("error")))) }),
		jsrun.Listen(tx, "abort", func(js.Value) {
			if e := tx.Get("error"); e.Type() == js.TypeObject {
				w.blame(classify(jsrun.FromValue(e)))
			}
			w.blame(fmt.Errorf("%w: the transaction was aborted", ErrLost))
			w.end(w.why)
		}))
	w.start(checks, ops)
	select {
	case err := <-w.done:
		return err
	case <-ctx.Done():
		// Whether it comes through is not known; the caller opens anew and looks. Aborting it, if it can still be aborted,
		// keeps it from holding up what comes after it.
		_, _ = jsrun.Call(tx, "abort")
		return fmt.Errorf("%w: %w", ErrLost, ctx.Err())
	}
}

// writing is one transaction on its way. Its callbacks run on the page's one thread and never block.
type writing struct {
	tx    js.Value
	why   error // the first reason of a failure
	done  chan error
	stops []func()
}

func (w *writing) blame(err error) {
	if w.why == nil {
		w.why = err
	}
}

func (w *writing) end(err error) {
	for _, f := range w.stops {
		f()
	}
	w.stops = nil
	select {
	case w.done <- err:
	default:
	}
}

func (w *writing) abort(err error) {
	w.blame(err)
	_, _ = jsrun.Call(w.tx, "abort") // an aborted transaction throws, which says the same
}

// start asks for the values to check; when the last has come and all agree, every change is requested in that very callback.
func (w *writing) start(checks []Check, ops []Op) {
	if len(checks) == 0 {
		w.apply(ops)
		return
	}
	left := len(checks)
	for _, ch := range checks {
		err := jsrun.Try(func() error {
			req := w.tx.Call("objectStore", string(ch.Store)).Call("get", ch.Key.js())
			w.stops = append(w.stops, jsrun.Listen(req, "success", func(js.Value) {
				got, there := jsrun.ToGo(req.Get("result"))
				if there != (ch.Want != nil) || !bytes.Equal(got, ch.Want) {
					w.abort(ErrChanged)
					return
				}
				if left--; left == 0 && w.why == nil {
					w.apply(ops)
				}
			}))
			return nil
		})
		if err != nil {
			w.abort(classify(err))
			return
		}
	}
}

func (w *writing) apply(ops []Op) {
	for _, op := range ops {
		err := jsrun.Try(func() error {
			store := w.tx.Call("objectStore", string(op.store))
			switch {
			case op.method == "clear":
				store.Call("clear")
			case op.method == "delete":
				store.Call("delete", op.key.js())
			case op.bytes == nil && op.value.Truthy():
				store.Call(op.method, op.value, op.key.js())
			default:
				store.Call(op.method, jsrun.ToJS(op.bytes), op.key.js())
			}
			return nil
		})
		if err != nil {
			w.abort(classify(err))
			return
		}
	}
}

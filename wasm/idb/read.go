//go:build js && wasm

package idb

import (
	"context"
	"errors"
	"syscall/js"

	"unsling/wasm/internal/jsrun"
)

// Get gives the value at a key; nil and no error when there is none.
func (d *DB) Get(ctx context.Context, s Store, k Key) ([]byte, error) {
	v, err := d.GetValue(ctx, s, k)
	if err != nil {
		return nil, err
	}
	b, _ := jsrun.ToGo(v)
	return b, nil
}

// GetValue gives a value of the browser's own, written by AddValue; undefined when there is none.
func (d *DB) GetValue(ctx context.Context, s Store, k Key) (js.Value, error) {
	return d.read(ctx, func(ctx context.Context, c *conn) (js.Value, error) { return c.get(ctx, s, k) })
}

// Span is a stretch of keys in one store; a zero Key leaves that end open.
type Span struct {
	From, To Key  // To is included
	After    bool // leave out From itself
}

// All is the span of a whole store.
var All = Span{}

// LinesOf is the span of an author's lines from the n-th on.
func LinesOf(author string, n int64) Span {
	return Span{From: Line(author, n), To: Line(author, lastN)}
}

const lastN = 1<<53 - 1 // the largest whole number that a key can be

// Range gives the values of a span in the order of their keys, at most most of them (0 for all).
func (d *DB) Range(ctx context.Context, s Store, span Span, most int) ([][]byte, error) {
	list, err := d.read(ctx, func(ctx context.Context, c *conn) (js.Value, error) {
		bounds, err := span.js()
		if err != nil {
			return js.Undefined(), err
		}
		args := []any{bounds}
		if most > 0 {
			args = append(args, most)
		}
		return c.ask(ctx, s, "getAll", args...)
	})
	if err != nil {
		return nil, err
	}
	all := make([][]byte, 0, list.Length())
	for i := range list.Length() {
		if b, ok := jsrun.ToGo(list.Index(i)); ok {
			all = append(all, b)
		}
	}
	return all, nil
}

// Last gives the value with the highest key of a span; nil when there is none.
func (d *DB) Last(ctx context.Context, s Store, span Span) ([]byte, error) {
	v, err := d.read(ctx, func(ctx context.Context, c *conn) (js.Value, error) {
		bounds, err := span.js()
		if err != nil {
			return js.Undefined(), err
		}
		cursor, err := c.ask(ctx, s, "openCursor", bounds, "prev")
		if err != nil || cursor.Type() != js.TypeObject {
			return js.Undefined(), err
		}
		return cursor.Get("value"), nil
	})
	if err != nil {
		return nil, err
	}
	b, _ := jsrun.ToGo(v)
	return b, nil
}

// Names gives the one-word keys of a store in rising order.
func (d *DB) Names(ctx context.Context, s Store) ([]string, error) {
	list, err := d.read(ctx, func(ctx context.Context, c *conn) (js.Value, error) { return c.ask(ctx, s, "getAllKeys") })
	if err != nil {
		return nil, err
	}
	var names []string
	for i := range list.Length() {
		if k := list.Index(i); k.Type() == js.TypeString {
			names = append(names, k.String())
		}
	}
	return names, nil
}

func (s Span) js() (v js.Value, err error) {
	ranges := js.Global().Get("IDBKeyRange")
	switch {
	case s.From == Key{} && s.To == Key{}:
		return js.Null(), nil
	case s.To == Key{}:
		return jsrun.Call(ranges, "lowerBound", s.From.js(), s.After)
	case s.From == Key{}:
		return jsrun.Call(ranges, "upperBound", s.To.js())
	}
	return jsrun.Call(ranges, "bound", s.From.js(), s.To.js(), s.After, false)
}

// read runs f on the connection, and once more on a new one when it was lost.
func (d *DB) read(ctx context.Context, f func(context.Context, *conn) (js.Value, error)) (js.Value, error) {
	for try := 0; ; try++ {
		c, err := d.connect(ctx)
		if err != nil {
			return js.Undefined(), err
		}
		limited, cancel := context.WithTimeout(ctx, callLimit)
		v, err := f(limited, c)
		cancel()
		if err == nil || try > 0 || !errors.Is(err, ErrLost) && !errors.Is(err, ErrBusy) || ctx.Err() != nil {
			return v, err
		}
		c.lost = true
	}
}

func (c *conn) get(ctx context.Context, s Store, k Key) (js.Value, error) {
	return c.ask(ctx, s, "get", k.js())
}

func (c *conn) ask(ctx context.Context, s Store, method string, args ...any) (v js.Value, err error) {
	var tx, req js.Value
	err = jsrun.Try(func() error {
		tx = c.db.Call("transaction", string(s), "readonly")
		req = tx.Call("objectStore", string(s)).Call(method, args...)
		return nil
	})
	if err != nil {
		return js.Undefined(), classify(err)
	}
	ctx, lost := context.WithCancel(ctx)
	defer lost()
	ended := c.track(tx, lost)
	v, err = request(ctx, req, nil)
	ended()
	if errors.Is(err, ErrBusy) {
		_, _ = jsrun.Call(tx, "abort") // whatever holds it up, it holds nobody up any more
	}
	return v, err
}

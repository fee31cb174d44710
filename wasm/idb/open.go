//go:build js && wasm

package idb

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"sync"
	"syscall/js"
	"time"

	"unsling/wasm/internal/jsrun"
)

// Store names one of the three stores.
type Store string

// The stores.
const (
	Log   Store = "log"
	Meta  Store = "meta"
	Blobs Store = "blobs"
)

const (
	version   = 1 // for ever
	openLimit = 8 * time.Second
	callLimit = 20 * time.Second
)

// DB is one database. It is safe for concurrent use.
type DB struct {
	name string

	mu    sync.Mutex // held while opening
	conn  *conn
	made  bool // a connection was there before
	fresh bool
	gone  bool // the data was removed under it
}

// conn is one connection; the browser may end it at any time.
type conn struct {
	db    js.Value
	fresh bool // the database was made by this opening
	lost  bool
	stop  []func()

	running map[int]func() // ends a transaction that has not ended
	begun   int            // transactions so far
}

// track notes how to end a transaction, until ended is called.
func (c *conn) track(tx js.Value, lost func()) (ended func()) {
	if c.running == nil {
		c.running = map[int]func(){}
	}
	c.begun++
	id := c.begun
	c.running[id] = func() {
		_, _ = jsrun.Call(tx, "abort") // one that has just ended throws
		lost()                         // WebKit does not tell of an abort before the transaction had begun
	}
	return func() { delete(c.running, id) }
}

// freeze lets go of everything before the browser keeps the page aside, to show it again when somebody goes back. In WebKit a
// transaction of such a page never ends, and every later write of every other page waits for it. What was under way is tried
// again on a new connection, when the page comes back.
func (c *conn) freeze() {
	c.lost = true
	for _, end := range maps.Clone(c.running) {
		end()
	}
	c.end()
}

// Open opens the database of that name and makes it if there is none. ErrRefused, ErrBusy or ErrFull say why it cannot.
func Open(ctx context.Context, name string) (*DB, error) {
	d := &DB{name: name}
	if _, err := d.connect(ctx); err != nil {
		return nil, err
	}
	return d, nil
}

// Close ends the connection. A later call opens it again.
func (d *DB) Close() {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.conn.end()
	d.conn = nil
}

// Drop deletes a database and everything in it. Connections elsewhere are asked to close; while one does not, the result is
// ErrBusy.
func Drop(ctx context.Context, name string) error {
	ctx, cancel := context.WithTimeout(ctx, openLimit)
	defer cancel()
	factory, err := factory()
	if err != nil {
		return err
	}
	req, err := jsrun.Call(factory, "deleteDatabase", name)
	if err != nil {
		return classify(err)
	}
	_, err = request(ctx, req, nil)
	return err
}

// Empty removes everything that is in a database, in one strict transaction, and leaves the empty database. One that is not
// there is made.
func Empty(ctx context.Context, name string) error {
	d, err := Open(ctx, name)
	if err != nil {
		return err
	}
	defer d.Close()
	return d.Write(ctx, nil, Clear(Log), Clear(Meta), Clear(Blobs))
}

// Present gives those of the named databases that are there. Where a browser lists none, that is all of them: opening tells.
func Present(ctx context.Context, names ...string) ([]string, error) {
	f, err := factory()
	if err != nil || !jsrun.Has(f, "databases") {
		return names, err
	}
	ctx, cancel := context.WithTimeout(ctx, openLimit)
	defer cancel()
	list, err := jsrun.CallAwait(ctx, f, "databases")
	if err != nil {
		return nil, classify(err)
	}
	var there []string
	for i := range list.Length() {
		if name := list.Index(i).Get("name"); name.Type() == js.TypeString && slices.Contains(names, name.String()) {
			there = append(there, name.String())
		}
	}
	return there, nil
}

func factory() (js.Value, error) {
	f, err := jsrun.Get(js.Global(), "indexedDB") // throws where storage is off
	if err != nil || f.Type() != js.TypeObject {
		return js.Undefined(), ErrRefused
	}
	return f, nil
}

// Fresh reports whether the database was empty when it was opened: a first start, or the browser had removed the data.
func (d *DB) Fresh() bool { return d.fresh }

// connect gives the live connection, and opens one if there is none.
func (d *DB) connect(ctx context.Context) (*conn, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.gone {
		return nil, ErrGone
	}
	if d.conn != nil && !d.conn.lost {
		return d.conn, nil
	}
	d.conn.end()
	d.conn = nil
	var last error
	for range 2 { // the first open after a start hangs in some browsers and the second does not (webkit.org/b/226547)
		c, err := open(ctx, d.name)
		if err == nil {
			d.conn = c
			if d.made && c.fresh {
				d.gone = true
				return nil, ErrGone
			}
			d.fresh = d.fresh || c.fresh
			d.made = true
			return c, nil
		}
		last = err
		if err == ErrRefused || err == ErrFull || ctx.Err() != nil {
			break
		}
	}
	return nil, last
}

func open(ctx context.Context, name string) (*conn, error) {
	ctx, cancel := context.WithTimeout(ctx, openLimit)
	defer cancel()
	factory, err := factory()
	if err != nil {
		return nil, err
	}
	req, err := jsrun.Call(factory, "open", name, version)
	if err != nil {
		return nil, classify(err)
	}
	fresh := false
	stopUpgrade := jsrun.Listen(req, "upgradeneeded", func(e js.Value) {
		fresh = e.Get("oldVersion").Int() == 0
		db := req.Get("result")
		for _, s := range []Store{Log, Meta, Blobs} {
			if !db.Get("objectStoreNames").Call("contains", string(s)).Bool() {
				db.Call("createObjectStore", string(s))
			}
		}
	})
	db, err := request(ctx, req, func(late js.Value) { stopUpgrade(); late.Call("close") })
	if !errors.Is(err, ErrBusy) { // else it may still be made, and without its stores nobody could use it
		stopUpgrade()
	}
	if err != nil {
		return nil, err
	}
	c := &conn{db: db, fresh: fresh}
	gone := func(js.Value) { c.lost = true }
	c.stop = append(c.stop,
		jsrun.Listen(db, "close", gone),
		jsrun.Listen(db, "versionchange", func(e js.Value) { gone(e); db.Call("close") }), // another window deletes the data
		jsrun.Listen(js.Global(), "pagehide", func(e js.Value) {
			if e.Get("persisted").Truthy() {
				c.freeze()
			}
		}))
	return c, nil
}

func (c *conn) end() {
	if c == nil {
		return
	}
	c.lost = true
	for _, f := range c.stop {
		f()
	}
	c.stop = nil
	_, _ = jsrun.Call(c.db, "close")
}

// request waits for an IDBRequest. When it does not answer in time the result is ErrBusy; should it succeed later, late gets
// its result.
func request(ctx context.Context, req js.Value, late func(js.Value)) (js.Value, error) {
	type answer struct {
		value js.Value
		err   error
	}
	done := make(chan answer, 1)
	given := false // up: both run on the page's one thread
	var stops []func()
	settle := func(a answer) {
		for _, f := range stops {
			f()
		}
		if given {
			if a.err == nil && late != nil {
				late(a.value)
			}
			return
		}
		done <- a
	}
	stops = append(stops,
		jsrun.Listen(req, "success", func(js.Value) { settle(answer{value: req.Get("result")}) }),
		jsrun.Listen(req, "error", func(e js.Value) {
			e.Call("preventDefault")
			settle(answer{err: classify(jsrun.FromValue(req.Get("error")))})
		}))
	select {
	case a := <-done:
		return a.value, a.err
	case <-ctx.Done():
		given = true
		select {
		case a := <-done: // it came in the very moment in which the time was up
			if a.err == nil && late != nil {
				late(a.value)
			}
		default:
		}
		return js.Undefined(), fmt.Errorf("%w: %w", ErrBusy, ctx.Err())
	}
}

// classify turns a DOMException into one of the errors of this package; what it does not know counts as a lost connection,
// which is tried once more.
func classify(err error) error {
	switch {
	case err == nil:
		return nil
	case jsrun.Named(err, "ConstraintError"):
		return ErrExists
	case jsrun.Named(err, "QuotaExceededError"):
		return ErrFull
	case jsrun.Named(err, "SecurityError"), jsrun.Named(err, "NotAllowedError"):
		return ErrRefused
	}
	return fmt.Errorf("%w: %w", ErrLost, err)
}

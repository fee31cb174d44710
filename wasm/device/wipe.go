//go:build js && wasm

package device

import (
	"context"
	"errors"
	"strings"
	"syscall/js"

	"unsling/wasm/internal/jsrun"
)

// wipeChannel is where windows tell each other that the phone was emptied.
const wipeChannel = "unsling-wiped"

// WipeFiles removes what this app keeps outside its database: small values, copies of its own files, and the worker that
// serves them. It goes on after a failure and gives all of them.
func WipeFiles(ctx context.Context) error {
	var errs []error
	for _, name := range []string{"localStorage", "sessionStorage"} {
		errs = append(errs, jsrun.Try(func() error {
			store, err := jsrun.Get(window(), name)
			if err != nil || store.Type() != js.TypeObject {
				return err
			}
			for i := store.Get("length").Int() - 1; i >= 0; i-- {
				if key := store.Call("key", i).String(); strings.HasPrefix(key, "unsling") {
					store.Call("removeItem", key)
				}
			}
			return nil
		}))
	}
	if caches := window().Get("caches"); jsrun.Has(caches, "keys") {
		names, err := jsrun.CallAwait(ctx, caches, "keys")
		errs = append(errs, err)
		for i := 0; err == nil && i < names.Length(); i++ {
			if name := names.Index(i).String(); strings.HasPrefix(name, "unsling-") {
				_, err := jsrun.CallAwait(ctx, caches, "delete", name)
				errs = append(errs, err)
			}
		}
	}
	if worker := navigator().Get("serviceWorker"); jsrun.Has(worker, "getRegistrations") {
		list, err := jsrun.CallAwait(ctx, worker, "getRegistrations")
		errs = append(errs, err)
		for i := 0; err == nil && i < list.Length(); i++ {
			_, err := jsrun.CallAwait(ctx, list.Index(i), "unregister")
			errs = append(errs, err)
		}
	}
	return errors.Join(errs...)
}

// TellWiped tells the other windows which database was emptied.
func TellWiped(database string) { channel(func(c js.Value) { c.Call("postMessage", database) }) }

// OnWiped calls f when another window has emptied a database.
func OnWiped(f func(database string)) {
	channel(func(c js.Value) { jsrun.Listen(c, "message", func(e js.Value) { f(text(e, "data")) }) })
}

var wiped js.Value // one channel for the life of the page: its own messages do not come back to it

func channel(f func(js.Value)) {
	_ = jsrun.Try(func() error {
		if kind := window().Get("BroadcastChannel"); wiped.IsUndefined() && kind.Type() == js.TypeFunction {
			wiped = kind.New(wipeChannel)
		}
		if !wiped.IsUndefined() {
			f(wiped)
		}
		return nil
	})
}

// Restart loads the page anew at its first address.
func Restart() { _, _ = jsrun.Call(window().Get("location"), "replace", "/") }

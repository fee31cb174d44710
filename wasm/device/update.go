//go:build js && wasm

package device

import (
	"context"
	"syscall/js"
	"time"

	"unsling/wasm/internal/jsrun"
)

// Version is that of the files which started this page; "" without the start script.
func Version() string { return text(boot(), "version") }

// registration is the service worker's, or not ok where there is none.
func registration(ctx context.Context) (js.Value, bool) {
	if boot().Type() != js.TypeObject {
		return js.Undefined(), false
	}
	r, err := jsrun.Await(ctx, boot().Get("registration"))
	return r, err == nil && r.Type() == js.TypeObject
}

// OnUpdate calls f once for every newer version that has arrived whole and waits, also for one that waits already.
func OnUpdate(ctx context.Context, f func()) {
	r, ok := registration(ctx)
	if !ok {
		return
	}
	waits := func() bool { return truth(r, "waiting") && truth(navigator().Get("serviceWorker"), "controller") }
	jsrun.Listen(r, "updatefound", func(js.Value) {
		worker := r.Get("installing")
		if !worker.Truthy() {
			return
		}
		jsrun.Listen(worker, "statechange", func(js.Value) {
			if text(worker, "state") == "installed" && waits() {
				f()
			}
		})
	})
	if waits() {
		f()
	}
}

// CheckUpdate looks for a newer version; nothing happens without a network.
func CheckUpdate(ctx context.Context) {
	if r, ok := registration(ctx); ok {
		_, _ = jsrun.CallAwait(ctx, r, "update")
	}
}

// ApplyUpdate lets the waiting version in and starts the app again. It refuses with ErrSession while another window holds one
// of the locks that say that a session runs, and with ErrAbsent when no version waits. When it succeeds the page goes away.
func ApplyUpdate(ctx context.Context, sessions ...string) error {
	// A session that has just ended gives the lock back a moment later.
	wait, cancel := context.WithTimeout(ctx, 3*time.Second)
	defer cancel()
	for _, name := range sessions {
		release, err := Hold(wait, name)
		switch {
		case err != nil && ctx.Err() == nil && wait.Err() != nil:
			return ErrSession
		case err != nil:
			return err
		}
		defer release()
	}
	r, found := registration(ctx)
	if !found || !truth(r, "waiting") {
		return ErrAbsent
	}
	changed := make(chan struct{}, 1)
	stop := jsrun.Listen(navigator().Get("serviceWorker"), "controllerchange", func(js.Value) {
		select {
		case changed <- struct{}{}:
		default:
		}
	})
	defer stop()
	if _, err := jsrun.Call(r.Get("waiting"), "postMessage", map[string]any{"type": "skipWaiting"}); err != nil {
		return err
	}
	limit := time.NewTimer(10 * time.Second)
	defer limit.Stop()
	select {
	case <-changed:
		Reload()
		return nil
	case <-limit.C:
		return ErrAbsent
	case <-ctx.Done():
		return ctx.Err()
	}
}

//go:build js && wasm

package device

import (
	"context"
	"sync"
	"syscall/js"

	"unsling/wasm/internal/jsrun"
)

// Wake keeps the screen lit. The zero value is ready; it must not be copied.
type Wake struct {
	mu     sync.Mutex
	wanted bool
	lock   js.Value // the sentinel, or undefined
	stop   func()   // ends watching for the return to the app
}

// Keep keeps the screen lit, again after each return to the app, until it is called with false. ErrAbsent and ErrRefused
// (low battery, hidden page) say that the screen may go dark; it is asked for again at the next return all the same.
func (w *Wake) Keep(ctx context.Context, on bool) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.wanted = on
	if !on {
		if w.stop != nil {
			w.stop()
			w.stop = nil
		}
		w.drop()
		return nil
	}
	if w.stop == nil {
		w.stop = OnVisible(func(visible bool) {
			if visible {
				go w.again()
			}
		})
	}
	return w.take(ctx)
}

func (w *Wake) again() {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.wanted {
		_ = w.take(context.Background()) // refused: the next return tries again
	}
}

func (w *Wake) take(ctx context.Context) error {
	if w.lock.Truthy() && !w.lock.Get("released").Truthy() {
		return nil
	}
	locks := navigator().Get("wakeLock")
	if !jsrun.Has(locks, "request") {
		return ErrAbsent
	}
	lock, err := jsrun.CallAwait(ctx, locks, "request", "screen")
	if err != nil {
		return refusal(err)
	}
	w.lock = lock
	return nil
}

func (w *Wake) drop() {
	if w.lock.Truthy() {
		if p, err := jsrun.Call(w.lock, "release"); err == nil {
			ignore(p)
		}
	}
	w.lock = js.Undefined()
}

//go:build js && wasm

package device

import (
	"context"
	"sync"
	"syscall/js"

	"unsling/wasm/internal/jsrun"
)

// Hold waits for a lock that one window of this origin can have at a time. An ended context gives its error. A browser
// without such locks gives it at once: they save work, and nothing may depend on them.
func Hold(ctx context.Context, name string) (release func(), err error) {
	release, _, err = hold(ctx, name, false)
	return release, err
}

// TryHold is Hold that does not wait; ok is false when another window has the lock.
func TryHold(ctx context.Context, name string) (release func(), ok bool, err error) {
	return hold(ctx, name, true)
}

func hold(ctx context.Context, name string, try bool) (release func(), ok bool, err error) {
	locks := navigator().Get("locks")
	if !jsrun.Has(locks, "request") {
		return func() {}, true, nil
	}
	let, promise := pending()
	granted := make(chan bool, 1)
	callback := js.FuncOf(func(_ js.Value, args []js.Value) any {
		if len(args) == 0 || !args[0].Truthy() {
			granted <- false
			return nil
		}
		granted <- true
		return promise // the lock is held until it settles
	})
	options := map[string]any{}
	var abort js.Value
	if try {
		options["ifAvailable"] = true
	} else {
		abort = window().Get("AbortController").New()
		options["signal"] = abort.Get("signal")
	}
	request, err := jsrun.Call(locks, "request", name, options, callback)
	if err != nil {
		callback.Release()
		return nil, false, err
	}
	ended := make(chan error, 1)
	go func() {
		_, err := jsrun.Await(context.Background(), request)
		callback.Release()
		ended <- err
	}()
	select {
	case ok := <-granted:
		if !ok {
			return func() {}, false, nil
		}
		return let, true, nil
	case err := <-ended:
		return nil, false, err
	case <-ctx.Done():
		let() // should it be granted just now
		if abort.Truthy() {
			abort.Call("abort")
		}
		return nil, false, ctx.Err()
	}
}

// pending makes a promise and what resolves it.
func pending() (resolve func(), promise js.Value) {
	var settle js.Value
	executor := js.FuncOf(func(_ js.Value, args []js.Value) any { settle = args[0]; return nil })
	promise = window().Get("Promise").New(executor)
	executor.Release()
	var once sync.Once
	return func() { once.Do(func() { settle.Invoke() }) }, promise
}

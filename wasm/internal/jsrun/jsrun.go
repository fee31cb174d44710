//go:build js && wasm

package jsrun

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"syscall/js"
)

// Error is an exception of the page: Name is the DOMException or Error name ("QuotaExceededError"), Message its text.
type Error struct{ Name, Message string }

// Error gives name and message in one line.
func (e *Error) Error() string {
	if e.Message == "" {
		return e.Name
	}
	return e.Name + ": " + e.Message
}

// Named reports whether err is, or wraps, a page exception of that name.
func Named(err error, name string) bool {
	var e *Error
	return errors.As(err, &e) && e.Name == name
}

// FromValue makes an *Error from a thrown or rejected value; a null value gives an error that says so.
func FromValue(v js.Value) *Error {
	if v.Type() != js.TypeObject {
		if v.Type() == js.TypeString {
			return &Error{Name: "Error", Message: v.String()}
		}
		return &Error{Name: "UnknownError", Message: "the browser gave no reason"}
	}
	e := &Error{Name: "UnknownError"}
	if n := v.Get("name"); n.Type() == js.TypeString {
		e.Name = n.String()
	}
	if m := v.Get("message"); m.Type() == js.TypeString {
		e.Message = m.String()
	}
	return e
}

// Try runs f and turns an exception thrown by a JavaScript call, or a call on a value that is not there, into an error.
func Try(f func() error) (err error) {
	defer func() {
		switch r := recover().(type) {
		case nil:
		case js.Error:
			err = FromValue(r.Value)
		case *js.ValueError:
			err = &Error{Name: "NotSupportedError", Message: r.Error()}
		case error:
			err = fmt.Errorf("in the browser: %w", r)
		default:
			err = fmt.Errorf("in the browser: %v", r)
		}
	}()
	return f()
}

// Get is v[name] where the getter may throw. js.Value.Get must not be used there: an exception out of it goes past Go's
// stack and stops the program for good, and Try cannot hold it.
func Get(v js.Value, name string) (js.Value, error) {
	return Call(js.Global().Get("Reflect"), "get", v, name)
}

// Set is v[name] = x where the setter may throw, for the reason given at Get.
func Set(v js.Value, name string, x any) error {
	_, err := Call(js.Global().Get("Reflect"), "set", v, name, x)
	return err
}

// Call is v.method(args...) with exceptions as errors.
func Call(v js.Value, method string, args ...any) (res js.Value, err error) {
	err = Try(func() error { res = v.Call(method, args...); return nil })
	return res, err
}

type outcome struct {
	value js.Value
	err   error
}

// Await waits until promise settles or ctx ends. A value that is no promise is returned as it is.
func Await(ctx context.Context, promise js.Value) (js.Value, error) {
	if promise.Type() != js.TypeObject || promise.Get("then").Type() != js.TypeFunction {
		return promise, nil
	}
	done := make(chan outcome, 1)
	var fulfilled, rejected js.Func
	release := func() { fulfilled.Release(); rejected.Release() }
	fulfilled = js.FuncOf(func(_ js.Value, args []js.Value) any {
		release()
		done <- outcome{value: first(args)}
		return nil
	})
	rejected = js.FuncOf(func(_ js.Value, args []js.Value) any {
		release()
		done <- outcome{err: FromValue(first(args))}
		return nil
	})
	if _, err := Call(promise, "then", fulfilled, rejected); err != nil {
		release()
		return js.Undefined(), err
	}
	select {
	case o := <-done:
		return o.value, o.err
	case <-ctx.Done():
		return js.Undefined(), ctx.Err() // the callbacks release themselves if the promise settles later
	}
}

// CallAwait is Call followed by Await.
func CallAwait(ctx context.Context, v js.Value, method string, args ...any) (js.Value, error) {
	p, err := Call(v, method, args...)
	if err != nil {
		return js.Undefined(), err
	}
	return Await(ctx, p)
}

func first(args []js.Value) js.Value {
	if len(args) == 0 {
		return js.Undefined()
	}
	return args[0]
}

// ToJS copies b into a new Uint8Array.
func ToJS(b []byte) js.Value {
	a := js.Global().Get("Uint8Array").New(len(b))
	js.CopyBytesToJS(a, b)
	return a
}

// ToGo copies a Uint8Array or ArrayBuffer into Go; ok is false for any other value.
func ToGo(v js.Value) (b []byte, ok bool) {
	if v.Type() != js.TypeObject {
		return nil, false
	}
	u8 := js.Global().Get("Uint8Array")
	if v.InstanceOf(js.Global().Get("ArrayBuffer")) {
		v = u8.New(v)
	}
	if !v.InstanceOf(u8) {
		return nil, false
	}
	b = make([]byte, v.Length())
	js.CopyBytesToGo(b, v)
	return b, true
}

// Told writes to the browser's console that a listener of an event has panicked. What it panicked with is told where that is
// the run time's own sentence: anything else might hold what a patient wrote.
var Told = func(event string, r any) {
	what := ""
	if err, ok := r.(runtime.Error); ok {
		what = ": " + err.Error()
	}
	js.Global().Get("console").Call("error", "a listener of "+event+" has stopped"+what)
}

// Has reports whether v has the function name.
func Has(v js.Value, name string) bool {
	return (v.Type() == js.TypeObject || v.Type() == js.TypeFunction) && v.Get(name).Type() == js.TypeFunction
}

// Listen adds an event listener and returns what takes it off. f must not block. A panic inside f does not stop the program
// that keeps the record; it is told on the browser's console.
func Listen(target js.Value, event string, f func(e js.Value)) (stop func()) {
	if !Has(target, "addEventListener") {
		return func() {}
	}
	fn := js.FuncOf(func(_ js.Value, args []js.Value) any {
		defer func() {
			if r := recover(); r != nil {
				Told(event, r)
			}
		}()
		f(first(args))
		return nil
	})
	target.Call("addEventListener", event, fn)
	stopped := false
	return func() {
		if stopped {
			return
		}
		stopped = true
		target.Call("removeEventListener", event, fn)
		fn.Release()
	}
}

//go:build js && wasm

package device

import (
	"syscall/js"
	"time"
)

// Now is the phone's wall time, with the offset that the phone holds to be in force at that instant. A phone may be days
// wrong: it is data, never an order.
func Now() time.Time {
	d := window().Get("Date").New()
	west := d.Call("getTimezoneOffset").Int() // minutes, positive west of Greenwich
	return time.UnixMilli(int64(d.Call("getTime").Float())).In(time.FixedZone("", -60*west))
}

// Mono is a clock that never goes back, in milliseconds since the page was loaded. It may stand still while the phone sleeps.
func Mono() int64 { return int64(window().Get("performance").Call("now").Float()) }

// Zone is the IANA name of the phone's time zone, "UTC" where the browser does not tell.
func Zone() string {
	intl := window().Get("Intl")
	if intl.Type() != js.TypeObject {
		return "UTC"
	}
	if name := text(intl.Call("DateTimeFormat").Call("resolvedOptions"), "timeZone"); name != "" {
		return name
	}
	return "UTC"
}

// Every calls f about every d until stop is called.
func Every(d time.Duration, f func()) (stop func()) {
	fn := js.FuncOf(func(js.Value, []js.Value) any {
		defer func() { _ = recover() }()
		f()
		return nil
	})
	id := window().Call("setInterval", fn, d.Milliseconds())
	stopped := false
	return func() {
		if stopped {
			return
		}
		stopped = true
		window().Call("clearInterval", id)
		fn.Release()
	}
}

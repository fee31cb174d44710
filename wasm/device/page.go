//go:build js && wasm

package device

import (
	"syscall/js"

	"unsling/wasm/internal/jsrun"
)

// OnVisible calls f when the app leaves the screen (false) and when it returns (true), each change once.
func OnVisible(f func(visible bool)) (cancel func()) {
	now := func() bool { return text(document(), "visibilityState") != "hidden" }
	last := now()
	tell := func(visible bool) {
		if visible != last {
			last = visible
			f(visible)
		}
	}
	stops := []func(){
		jsrun.Listen(document(), "visibilitychange", func(js.Value) { tell(now()) }),
		jsrun.Listen(window(), "pagehide", func(js.Value) { tell(false) }),
		jsrun.Listen(window(), "pageshow", func(js.Value) { tell(now()) }),
	}
	return func() {
		for _, stop := range stops {
			stop()
		}
	}
}

// Visible reports whether the app is on the screen.
func Visible() bool { return text(document(), "visibilityState") != "hidden" }

// Online is the browser's opinion on whether there is a network; true does not mean that the clinic can be reached.
func Online() bool {
	v := navigator().Get("onLine")
	return v.Type() != js.TypeBoolean || v.Bool()
}

// OnOnline calls f when the browser's opinion changes.
func OnOnline(f func(online bool)) (cancel func()) {
	up := jsrun.Listen(window(), "online", func(js.Value) { f(true) })
	down := jsrun.Listen(window(), "offline", func(js.Value) { f(false) })
	return func() { up(); down() }
}

// Reload starts the app again.
func Reload() { _, _ = jsrun.Call(window().Get("location"), "reload") }

// Origin is the scheme, host and port that the app came from, without a slash at the end.
func Origin() string { return text(window().Get("location"), "origin") }

//go:build js && wasm

package device

import (
	"syscall/js"

	"unsling/wasm/internal/jsrun"
)

// Small texts that every start reads at once lie beside the database: of all windows in localStorage, of one tab, for as long as
// it lives, in sessionStorage.
func noted(tab bool) (js.Value, error) {
	if tab {
		return jsrun.Get(window(), "sessionStorage")
	}
	return jsrun.Get(window(), "localStorage")
}

// Noted gives what Note left under a key; "" where there is nothing or the browser refuses.
func Noted(tab bool, key string) string {
	store, err := noted(tab)
	if err != nil {
		return ""
	}
	v, err := jsrun.Call(store, "getItem", key)
	if err != nil || v.Type() != js.TypeString {
		return ""
	}
	return v.String()
}

// Note leaves a text under a key, which begins with "unsling"; "" takes it away.
func Note(tab bool, key, text string) error {
	store, err := noted(tab)
	if err != nil {
		return err
	}
	if text == "" {
		_, err = jsrun.Call(store, "removeItem", key)
	} else {
		_, err = jsrun.Call(store, "setItem", key, text)
	}
	return err
}

// OnNoted calls f when another window has changed what lies under a key for all of them.
func OnNoted(key string, f func()) (cancel func()) {
	return jsrun.Listen(window(), "storage", func(e js.Value) {
		if k := e.Get("key"); k.Type() != js.TypeString || k.String() == key { // null: all was cleared
			f()
		}
	})
}

// OpenAt starts the app again at an address of its own.
func OpenAt(address string) {
	_, _ = jsrun.Call(window().Get("history"), "replaceState", js.Null(), "", address)
	Reload()
}

// RememberedLang is the language that Remember left; "" for none.
func RememberedLang() string { return Noted(false, shellLang) }

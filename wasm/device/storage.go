//go:build js && wasm

package device

import (
	"context"
	"encoding/json"
	"syscall/js"

	"unsling/wasm/internal/jsrun"
)

// Persist asks the browser to keep the data when space gets short, and tells its answer. ErrAbsent: it cannot promise.
func Persist(ctx context.Context) (kept bool, err error) { return storage(ctx, "persist") }

// Persisted tells what the browser has promised, without asking.
func Persisted(ctx context.Context) (kept bool, err error) { return storage(ctx, "persisted") }

func storage(ctx context.Context, method string) (bool, error) {
	s := navigator().Get("storage")
	if !jsrun.Has(s, method) {
		return false, ErrAbsent
	}
	v, err := jsrun.CallAwait(ctx, s, method)
	if err != nil {
		return false, refusal(err)
	}
	return v.Truthy(), nil
}

// Keys of localStorage that the start script reads when the program does not run.
const (
	shellClinic = "unsling.clinic"
	shellLang   = "unsling.lang"
)

// Remember leaves what the start script needs before the program runs, and when it has stopped: the language ("en", "es")
// and the clinic's name and number. Without a number the one from before stays: a program that does not know it yet must not
// take it from the screen that is shown when it has stopped. A browser that refuses does without.
func Remember(lang, clinic, phone string) {
	_ = jsrun.Try(func() error {
		local, err := jsrun.Get(window(), "localStorage")
		if err != nil {
			return err
		}
		local.Call("setItem", shellLang, lang)
		if phone == "" {
			return nil
		}
		about, err := json.Marshal(map[string]string{"name": clinic, "phone": phone})
		if err != nil {
			return err
		}
		local.Call("setItem", shellClinic, string(about))
		return nil
	})
}

// Remembered reports whether Remember has left a clinic on this phone.
func Remembered() bool { return Noted(false, shellClinic) != "" }

// SaveFile hands a file to the person, as a download.
func SaveFile(name, mime string, data []byte) error {
	return jsrun.Try(func() error {
		blob := window().Get("Blob").New([]any{jsrun.ToJS(data)}, map[string]any{"type": mime})
		url := window().Get("URL").Call("createObjectURL", blob)
		a := document().Call("createElement", "a")
		a.Set("href", url)
		a.Set("download", name)
		a.Call("click")
		var free js.Func
		free = js.FuncOf(func(js.Value, []js.Value) any {
			free.Release()
			window().Get("URL").Call("revokeObjectURL", url)
			return nil
		})
		window().Call("setTimeout", free, 60_000) // the download reads the address later
		return nil
	})
}

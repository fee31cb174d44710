//go:build js && wasm

package device

import (
	"fmt"
	"syscall/js"

	"unsling/wasm/internal/jsrun"
)

func window() js.Value    { return js.Global() }
func navigator() js.Value { return js.Global().Get("navigator") }
func document() js.Value  { return js.Global().Get("document") }

// boot is what the start script left for the program; undefined in tests that run without the shell.
func boot() js.Value { return js.Global().Get("unslingBoot") }

// refusal turns an exception into ErrRefused or ErrAbsent where it means that, and keeps its text.
func refusal(err error) error {
	if err == nil {
		return nil
	}
	for _, name := range []string{"NotAllowedError", "SecurityError", "PermissionDeniedError"} {
		if jsrun.Named(err, name) {
			return fmt.Errorf("%w: %w", ErrRefused, err)
		}
	}
	for _, name := range []string{"NotFoundError", "NotSupportedError", "OverconstrainedError", "NotReadableError", "TypeError"} {
		if jsrun.Named(err, name) {
			return fmt.Errorf("%w: %w", ErrAbsent, err)
		}
	}
	return err
}

// text is a property that should be a string; "" if it is not one.
func text(v js.Value, name string) string {
	if v.Type() != js.TypeObject && v.Type() != js.TypeFunction {
		return ""
	}
	if s := v.Get(name); s.Type() == js.TypeString {
		return s.String()
	}
	return ""
}

// number is a property that should be a number; ok is false if it is none.
func number(v js.Value, name string) (x float64, ok bool) {
	if v.Type() != js.TypeObject {
		return 0, false
	}
	n := v.Get(name)
	if n.Type() != js.TypeNumber {
		return 0, false
	}
	return n.Float(), true
}

func truth(v js.Value, name string) bool {
	return (v.Type() == js.TypeObject || v.Type() == js.TypeFunction) && v.Get(name).Truthy()
}

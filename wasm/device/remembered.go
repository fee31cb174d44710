//go:build js && wasm

package device

import (
	"encoding/json"
	"syscall/js"

	"unsling/wasm/internal/jsrun"
)

// RememberedClinic is the name and number that Remember left at an earlier start, empty where there is none. It needs no
// answer of the database: who has to call while that hangs must have the number.
func RememberedClinic() (name, phone string) {
	local, err := jsrun.Get(window(), "localStorage")
	if err != nil {
		return "", ""
	}
	v, err := jsrun.Call(local, "getItem", shellClinic)
	if err != nil || v.Type() != js.TypeString {
		return "", ""
	}
	var about struct{ Name, Phone string }
	if json.Unmarshal([]byte(v.String()), &about) != nil {
		return "", ""
	}
	return about.Name, about.Phone
}

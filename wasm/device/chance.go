//go:build js && wasm

package device

import (
	"encoding/base64"
	"syscall/js"
)

// Random fills b with random bytes of cryptographic quality.
func Random(b []byte) {
	a := window().Get("Uint8Array").New(len(b))
	window().Get("crypto").Call("getRandomValues", a)
	js.CopyBytesToGo(b, a)
}

// NewID is a random id of 128 bits in base64url, 22 characters.
func NewID() string {
	var b [16]byte
	Random(b[:])
	return base64.RawURLEncoding.EncodeToString(b[:])
}

//go:build js && wasm

package device

import (
	"encoding/hex"
	"testing"
)

// TestStretch: PBKDF2 with HMAC-SHA-256, the vectors of RFC 7914 section 11 (their first 32 bytes).
func TestStretch(t *testing.T) {
	for _, c := range []struct {
		pin, salt string
		rounds    int
		want      string
	}{
		{"passwd", "salt", 1, "55ac046e56e3089fec1691c22544b605f94185216dde0465e68b9d57c20dacbc"},
		{"Password", "NaCl", 80000, "4ddcd8f60b98be21830cee5ef22701f9641a4418d04c0414aeff08876b34ab56"},
	} {
		got, err := Stretch(within(t), c.pin, []byte(c.salt), c.rounds)
		if err != nil || hex.EncodeToString(got) != c.want {
			t.Errorf("%s with %d rounds: %x, %v", c.pin, c.rounds, got, err)
		}
	}
	a, err := Stretch(within(t), "2580", []byte("s"), 0)
	b, _ := Stretch(within(t), "2580", []byte("s"), stretchRounds)
	if err != nil || string(a) != string(b) {
		t.Errorf("the usual rounds: %v", err)
	}
}

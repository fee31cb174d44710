//go:build js && wasm

package device

import "testing"

func TestNoted(t *testing.T) {
	const key = "unsling-test.noted"
	for _, tab := range []bool{true, false} {
		if got := Noted(tab, key); got != "" {
			t.Fatalf("before anything was noted: %q", got)
		}
		if err := Note(tab, key, "a"); err != nil {
			t.Fatal(err)
		}
		if got, other := Noted(tab, key), Noted(!tab, key); got != "a" || other != "" {
			t.Errorf("of this tab alone %v: %q, and in the other place %q", tab, got, other)
		}
		if err := Note(tab, key, ""); err != nil || Noted(tab, key) != "" {
			t.Errorf("taken away it is still there: %v", err)
		}
	}
}

package access

import (
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

// ASVS 5.0, 6.3.1 and NIST SP 800-63B 5.2.2: guessing slows down; a stranger
// elsewhere cannot keep the right person out for longer than a minute.
func TestGate(t *testing.T) {
	g := NewGate()
	at, tried := noon, 0
	for at.Before(noon.Add(time.Hour)) { // an attacker who waits exactly as told
		if _, w := g.Try("vega", "203.0.113.9:1000", at); w > 0 {
			at = at.Add(w)
			continue
		}
		tried++
	}
	if tried > 20 {
		t.Errorf("%d tries in an hour from one address", tried)
	}
	if try, w := g.Try("vega", "198.51.100.1:1", at); w > time.Minute {
		t.Errorf("the right person has to wait %v", w)
	} else if try != nil {
		try.Right()
	}
	if _, w := g.Try("other", "198.51.100.1:1", at); w != 0 {
		t.Errorf("somebody else has to wait %v", w)
	}
}

// As many at once as one after the other: what may be looked at is counted
// before it is.
func TestGateAtOnce(t *testing.T) {
	for name, open := range map[string]func() *Gate{"password": NewGate, "code": NewCodeGate} {
		g := open()
		var looked atomic.Int32
		var all sync.WaitGroup
		for i := range 400 {
			all.Go(func() {
				if _, wait := g.Try("vega", fmt.Sprintf("203.0.113.9:%d", i), noon); wait == 0 {
					looked.Add(1)
				}
			})
		}
		all.Wait()
		if looked.Load() != 5 {
			t.Errorf("%s: %d of 400 were looked at, want 5", name, looked.Load())
		}
	}
}

// Thirty wrong tries, or three thousand, from one address or from a few: somebody elsewhere is asked nothing more than before.
func TestGateClosesNobodyElse(t *testing.T) {
	g := NewGate()
	for i := range 3000 {
		g.TryShort(fmt.Sprint("code ", i), fmt.Sprintf("203.0.113.%d:1", i%100), noon)
	}
	try, wait := g.TryShort("the right code", "198.51.100.1:1", noon)
	if wait != 0 {
		t.Fatalf("a stranger elsewhere has to wait %v", wait)
	}
	try.Right()
	// While it lasts an address with a wrong try has no more free ones, of what is short.
	g.TryShort("mistyped", "198.51.100.2:1", noon)
	if _, wait := g.TryShort("mistyped again", "198.51.100.2:1", noon); wait <= 0 || wait > time.Minute {
		t.Errorf("a second guess from one address waits %v", wait)
	}
	if try, wait := g.Try("a QR code", "198.51.100.2:1", noon); wait != 0 {
		t.Errorf("a QR code waits %v", wait)
	} else {
		try.Right()
	}
	if _, wait := g.TryShort("mistyped again", "198.51.100.2:1", noon.Add(10*time.Minute)); wait != 0 {
		t.Errorf("ten minutes later: %v", wait)
	}
}

// A right try counts for nobody, and one that told nothing leaves no trace.
func TestGateGivesBack(t *testing.T) {
	g := NewGate()
	for range 200 {
		try, wait := g.Try("vega", "198.51.100.1:1", noon)
		if wait > 0 {
			t.Fatalf("the right password waits %v", wait)
		}
		try.Right()
	}
	for range 200 {
		try, wait := g.Try("quill", "198.51.100.1:1", noon)
		if wait > 0 {
			t.Fatalf("what was never looked at waits %v", wait)
		}
		try.Undo()
	}
	for range 4 { // wrong ones of before are forgotten by the right one
		g.Try("vega", "198.51.100.1:1", noon)
	}
	try, _ := g.Try("vega", "198.51.100.1:1", noon)
	try.Right()
	if _, wait := g.Try("vega", "198.51.100.1:1", noon); wait > 0 {
		t.Errorf("after the right one: %v", wait)
	}
}

package access

import (
	"fmt"
	"testing"
	"time"
)

func TestLimiterIsBounded(t *testing.T) {
	l := NewLimiter(time.Second, 3, 100)
	known := func(at time.Time) bool { ok, _ := l.Allow("known", at); return ok }
	for range 3 {
		if !known(noon) {
			t.Fatal("burst refused")
		}
	}
	if ok, wait := l.Allow("known", noon); ok || wait <= 0 || wait > time.Second {
		t.Fatalf("fourth: %v after %v", ok, wait)
	}
	passed := 0
	for i := range 10_000 { // strangers cannot push the known bucket out
		if ok, _ := l.Allow(fmt.Sprint("stranger", i), noon); ok {
			passed++
		}
	}
	if len(l.buckets) > 100 || passed > 99+3 {
		t.Errorf("%d buckets, %d strangers passed", len(l.buckets), passed)
	}
	if known(noon.Add(500 * time.Millisecond)) {
		t.Error("the known bucket was forgotten")
	}
	if !known(noon.Add(1100 * time.Millisecond)) {
		t.Error("the known bucket did not refill")
	}
	if ok, _ := l.Allow("late stranger", noon.Add(time.Hour)); !ok || len(l.buckets) > 2 {
		t.Errorf("full buckets were not swept: %d", len(l.buckets))
	}
}

func TestBackoffDoubles(t *testing.T) {
	b := NewBackoff(5, time.Second, 15*time.Minute, 10)
	for i := range 5 {
		if w := b.Wait("k", noon); w != 0 {
			t.Fatalf("try %d waits %v", i+1, w)
		}
		b.Wrong("k", noon)
	}
	for _, want := range []time.Duration{1, 2, 4, 8, 16, 32, 64, 128, 256, 512, 900, 900} {
		if w := b.Wait("k", noon); w != want*time.Second {
			t.Errorf("wait %v, want %vs", w, int(want))
		}
		b.Wrong("k", noon)
	}
	if w := b.Wait("k", noon.Add(16*time.Minute)); w != 0 {
		t.Errorf("after the longest wait: %v", w)
	}
	if b.stands("k", noon.Add(3*time.Hour)) != 17-3 {
		t.Errorf("after three hours %d of 17 tries stand", b.stands("k", noon.Add(3*time.Hour)))
	}
	b.Right("k")
	if b.Wait("k", noon) != 0 {
		t.Error("a right try did not forget the wrong ones")
	}
	for i := range 50 {
		b.Wrong(fmt.Sprint(i), noon.Add(time.Duration(i)*time.Second))
	}
	if b.wrong.Len() > 10 {
		t.Errorf("%d keys remembered", b.wrong.Len())
	}
}

func TestAddressKey(t *testing.T) {
	for in, want := range map[string]string{
		"203.0.113.9:443": "203.0.113.9", "203.0.113.9": "203.0.113.9", "[::ffff:203.0.113.9]:1": "203.0.113.9",
		"[2001:db8:1:2:3:4:5:6]:80": "2001:db8:1:2::/64", "2001:db8:1:2::9": "2001:db8:1:2::/64", "": "?", "nonsense": "?",
		"[fe80::1%eth0]:1": "fe80::/64",
	} {
		if got := AddressKey(in); got != want {
			t.Errorf("%q is %q, want %q", in, got, want)
		}
	}
}

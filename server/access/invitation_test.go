package access

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"unsling/server/ledger"
)

var codesKey = bytes.Repeat([]byte{7}, 32)

// Crockford, "Base 32": the alphabet without I, L, O and U; when decoding, O
// counts as 0 and I and L as 1; hyphens and case do not matter.
func TestReadCodeForgivesWhatCrockfordForgives(t *testing.T) {
	const canon = "01109XYZ"
	for _, text := range []string{"01109XYZ", "0110-9xyz", "oIl0 9xYz", " OiLo-9XYZ ", "O1-L0-9x-yz", "0110\u20119XYZ"} {
		got, err := ReadCode(text)
		if err != nil || got.Secret != canon || got.PIN != "" {
			t.Errorf("%q read as %+v %v, want %s", text, got, err, canon)
		}
	}
	for _, text := range []string{"", "0110-9XY", "0110-9XYZ0", "U110-9XYZ", "0110*9XYZ", "0110é9XYZ", strings.Repeat("A", 1000)} {
		if got, err := ReadCode(text); !errors.Is(err, ErrCode) {
			t.Errorf("%q read as %+v %v, want refused", text, got, err)
		}
	}
}

func TestInvitationKinds(t *testing.T) {
	for kind, life := range map[ledger.InvitationKind]time.Duration{
		ledger.AtDesk: 15 * time.Minute, ledger.TakeHome: 7 * 24 * time.Hour, ledger.InDemo: 24 * time.Hour,
	} {
		s, row, err := NewInvitation(kind, codesKey, noon, seeded(3))
		if err != nil {
			t.Fatal(err)
		}
		if !row.Until.Equal(noon.Add(life)) {
			t.Errorf("%s good until %v", kind, row.Until)
		}
		qr, err := ReadCode(s.QR)
		if err != nil || CodeMAC(codesKey, qr.Secret) != row.Secrets[0] {
			t.Errorf("%s: QR secret does not lead to the row: %v", kind, err)
		}
		if kind == ledger.TakeHome {
			if s.Code != "" || len(row.Secrets) != 1 {
				t.Error("a take-home invitation has a typed code")
			}
			with, err := ReadCode(s.QR + "." + s.PIN[:3] + " " + s.PIN[3:])
			if err != nil || PINMAC(codesKey, with.Secret, with.PIN) != row.PIN {
				t.Errorf("spoken number does not lead to the row: %v", err)
			}
			if _, err := ReadCode(s.QR + ".12345"); !errors.Is(err, ErrCode) {
				t.Errorf("five digits: %v", err)
			}
			continue
		}
		code, err := ReadCode(strings.ToLower(s.Code))
		if err != nil || CodeMAC(codesKey, code.Secret) != row.Secrets[1] {
			t.Errorf("%s: typed code does not lead to the row: %v", kind, err)
		}
		for _, secret := range row.Secrets {
			if strings.Contains(secret, s.QR) || strings.Contains(secret, code.Secret) {
				t.Error("the row holds a secret in clear")
			}
		}
	}
	if _, _, err := NewInvitation("poster", codesKey, noon, seeded(3)); err == nil {
		t.Error("an unknown kind was made")
	}
}

// 128 and 40 bits: every letter of the alphabet occurs, and nothing repeats.
func TestSecretsAreDrawnFromTheWholeAlphabet(t *testing.T) {
	chance, seen, letters := seeded(4), map[string]bool{}, map[rune]bool{}
	for range 400 {
		s, _, err := NewInvitation(ledger.AtDesk, codesKey, noon, chance)
		if err != nil {
			t.Fatal(err)
		}
		if seen[s.Code] || seen[s.QR] || len(s.QR) != 22 || len(s.Code) != 9 {
			t.Fatalf("odd or repeated secrets %q %q", s.QR, s.Code)
		}
		seen[s.Code], seen[s.QR] = true, true
		for _, c := range s.Code {
			letters[c] = true
		}
	}
	if len(letters) != 32+1 { // and the dash
		t.Errorf("%d different letters, want 33", len(letters))
	}
}

func TestReadCodeIsIdempotent(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOfN(rapid.RuneFrom([]rune(crockford+"oilOIL- abcxyz")), 0, 14, -1).Draw(t, "text")
		first, err := ReadCode(text)
		if err != nil {
			return
		}
		if again, err := ReadCode(first.Secret); err != nil || again != first {
			t.Fatalf("%q: %+v then %+v %v", text, first, again, err)
		}
	})
}

func TestCheckNumber(t *testing.T) {
	seen := map[string]bool{}
	for i := range 300 {
		n := CheckNumber(codesKey, "secret", strings.Repeat("k", i))
		if len(n) != 2 || strings.Trim(n, "0123456789") != "" {
			t.Fatalf("check number %q", n)
		}
		seen[n] = true
	}
	if len(seen) < 80 { // 300 draws of 100: expected 95 different
		t.Errorf("only %d different numbers", len(seen))
	}
}

func TestNonces(t *testing.T) {
	chance := seeded(5)
	n, err := NewNonces(chance)
	if err != nil {
		t.Fatal(err)
	}
	other, _ := NewNonces(chance)
	one, _ := n.New(noon, chance)
	two, _ := n.New(noon, chance)
	if one == two {
		t.Error("two nonces of one instant are the same")
	}
	if err := n.Check(one, noon.Add(NonceLife)); err != nil {
		t.Errorf("at five minutes: %v", err)
	}
	bad := map[string]error{
		"too old":         n.Check(one, noon.Add(NonceLife+time.Millisecond)),
		"from the future": n.Check(one, noon.Add(-Leeway-time.Millisecond)),
		"another server":  other.Check(one, noon),
		"empty":           n.Check("", noon),
		"changed time":    n.Check("B"+one[1:], noon),
		"changed mac":     n.Check(one[:50]+flip(one[50])+one[51:], noon),
	}
	for name, err := range bad {
		if !errors.Is(err, ErrNonce) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestOnce(t *testing.T) {
	o := NewOnce(3)
	until := noon.Add(time.Minute)
	for _, step := range []struct {
		id   string
		at   time.Time
		want bool
	}{
		{"a", noon, true}, {"a", noon, false}, {"b", noon, true}, {"c", noon, true},
		{"d", noon, false}, // full: refused rather than forgotten
		{"a", until, false}, {"d", until.Add(time.Second), true}, {"a", until.Add(time.Second), true},
	} {
		if got := o.Use(step.id, step.at, step.at.Add(time.Minute)); got != step.want {
			t.Errorf("use %s at %v: %v", step.id, step.at, got)
		}
	}
}

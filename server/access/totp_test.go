package access

import (
	"crypto/sha1"
	"crypto/sha256"
	"crypto/sha512"
	"fmt"
	"hash"
	"net/url"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// RFC 6238 appendix B: the table of test vectors, eight digits, with the
// secrets of 20, 32 and 64 bytes of the reference implementation there.
func TestTOTPOfRFC6238(t *testing.T) {
	digits := "1234567890"
	secret := func(n int) []byte { return []byte(strings.Repeat(digits, 7)[:n]) }
	for _, row := range []struct {
		at   int64
		mode func() hash.Hash
		size int
		want string
	}{
		{59, sha1.New, 20, "94287082"}, {59, sha256.New, 32, "46119246"}, {59, sha512.New, 64, "90693936"},
		{1111111109, sha1.New, 20, "07081804"}, {1111111109, sha256.New, 32, "68084774"}, {1111111109, sha512.New, 64, "25091201"},
		{1111111111, sha1.New, 20, "14050471"}, {1111111111, sha256.New, 32, "67062674"}, {1111111111, sha512.New, 64, "99943326"},
		{1234567890, sha1.New, 20, "89005924"}, {1234567890, sha256.New, 32, "91819424"}, {1234567890, sha512.New, 64, "93441116"},
		{2000000000, sha1.New, 20, "69279037"}, {2000000000, sha256.New, 32, "90698825"}, {2000000000, sha512.New, 64, "38618901"},
		{20000000000, sha1.New, 20, "65353130"}, {20000000000, sha256.New, 32, "77737706"}, {20000000000, sha512.New, 64, "47863826"},
	} {
		if got := hotp(row.mode, secret(row.size), uint64(totpStepOf(time.Unix(row.at, 0))), 8); got != row.want {
			t.Errorf("at %d: %s, want %s", row.at, got, row.want)
		}
		if row.size == 20 {
			if got := TOTPCode(secret(20), time.Unix(row.at, 0)); got != row.want[2:] {
				t.Errorf("six digits at %d: %s, want %s", row.at, got, row.want[2:])
			}
		}
	}
}

// RFC 4226 appendix D: the first ten values of the counter, six digits.
func TestHOTPOfRFC4226(t *testing.T) {
	for n, want := range strings.Fields("755224 287082 359152 969429 338314 254676 287922 162583 399871 520489") {
		if got := hotp(sha1.New, []byte("12345678901234567890"), uint64(n), 6); got != want {
			t.Errorf("counter %d: %s, want %s", n, got, want)
		}
	}
}

// RFC 6238 section 5.2: one step of drift, and each step once.
func TestTOTPDriftAndReplay(t *testing.T) {
	secret := []byte("12345678901234567890")
	rapid.Check(t, func(t *rapid.T) {
		now := time.Unix(rapid.Int64Range(1_500_000_000, 4_000_000_000).Draw(t, "now"), 0)
		off := rapid.IntRange(-4, 4).Draw(t, "steps")
		code := TOTPCode(secret, now.Add(time.Duration(off)*TOTPStep))
		step, ok := CheckTOTP(secret, code, now, 0)
		if near := off >= -1 && off <= 1; ok != near { // six digits meet by chance once in 10^6/3
			t.Fatalf("%d steps away: %v", off, ok)
		}
		if !ok {
			return
		}
		if _, again := CheckTOTP(secret, code, now, step); again {
			t.Fatal("the same step was good twice")
		}
		if _, older := CheckTOTP(secret, TOTPCode(secret, now.Add(-TOTPStep)), now, step); older && off >= -1 && step >= totpStepOf(now)-1 {
			t.Fatal("a step before the last one was good")
		}
	})
	for _, bad := range []string{"", "12345", "1234567", "abcdef", " "} {
		if _, ok := CheckTOTP(secret, bad, time.Unix(59, 0), 0); ok {
			t.Errorf("%q was taken", bad)
		}
	}
	if _, ok := CheckTOTP(secret, "287 082", time.Unix(59, 0), 0); !ok {
		t.Error("a code in two groups was refused")
	}
}

// The key URI format that authenticator apps read (otpauth, common practice):
// label issuer:account, secret in base 32, parameters named.
func TestTOTPAddress(t *testing.T) {
	text := TOTPAddress([]byte("12345678901234567890"), "Quay: Shoulder Practice", "i.vega")
	u, err := url.Parse(text)
	if err != nil || u.Scheme != "otpauth" || u.Host != "totp" || u.Path != "/Quay  Shoulder Practice:i.vega" {
		t.Fatalf("%s: %+v %v", text, u, err)
	}
	want := map[string]string{"secret": "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ", "issuer": "Quay  Shoulder Practice", "algorithm": "SHA1", "digits": "6", "period": "30"}
	for k, v := range want {
		if u.Query().Get(k) != v {
			t.Errorf("%s is %q, want %q", k, u.Query().Get(k), v)
		}
	}
	if strings.Contains(text, "+") {
		t.Error("a plus sign: apps show it as it is")
	}
	if got := TOTPText([]byte("12345678901234567890")); got != "GEZD GNBV GY3T QOJQ GEZD GNBV GY3T QOJQ" {
		t.Errorf("typed secret: %s", got)
	}
}

func TestRecoveryCodes(t *testing.T) {
	key := []byte("0123456789abcdef0123456789abcdef")
	codes, hashes, err := NewRecoveryCodes(key, "vega", seeded(7))
	if err != nil || len(codes) != RecoveryCodes || len(hashes) != RecoveryCodes {
		t.Fatal(len(codes), len(hashes), err)
	}
	seen := map[string]bool{}
	for i, c := range codes {
		if len(c) != 19 || seen[c] || strings.Contains(hashes[i], c) || !IsRecoveryCode(c) {
			t.Errorf("code %q", c)
		}
		seen[c] = true
	}
	typed := strings.ToLower(strings.ReplaceAll(codes[3], "-", " "))
	left, ok := UseRecoveryCode(key, "vega", typed, hashes)
	if !ok || len(left) != RecoveryCodes-1 {
		t.Fatalf("%q: %v, %d left", typed, ok, len(left))
	}
	if _, again := UseRecoveryCode(key, "vega", codes[3], left); again {
		t.Error("a code was good twice")
	}
	for what, try := range map[string]func() bool{
		"another person": func() bool { _, ok := UseRecoveryCode(key, "orr", codes[0], hashes); return ok },
		"another key":    func() bool { _, ok := UseRecoveryCode([]byte("x"), "vega", codes[0], hashes); return ok },
		"made up":        func() bool { _, ok := UseRecoveryCode(key, "vega", "0000-0000-0000-0000", hashes); return ok },
		"empty":          func() bool { _, ok := UseRecoveryCode(key, "vega", "", hashes); return ok },
	} {
		if try() {
			t.Errorf("%s: taken", what)
		}
	}
	if IsRecoveryCode("123456") || IsRecoveryCode(fmt.Sprint(strings.Repeat("7", 200))) {
		t.Error("taken for a recovery code")
	}
}

// What is sealed opens for the same use and owner only, and not when a bit
// is turned.
func TestBox(t *testing.T) {
	box, err := NewBox([]byte("0123456789abcdef0123456789abcdef"), seeded(1))
	if err != nil {
		t.Fatal(err)
	}
	sealed, err := box.Seal("totp", "vega", []byte("secret"))
	if err != nil {
		t.Fatal(err)
	}
	if got, err := box.Open("totp", "vega", sealed); err != nil || string(got) != "secret" {
		t.Errorf("%q %v", got, err)
	}
	for what, open := range map[string]func() ([]byte, error){
		"another use":         func() ([]byte, error) { return box.Open("form", "vega", sealed) },
		"another owner":       func() ([]byte, error) { return box.Open("totp", "orr", sealed) },
		"use and owner moved": func() ([]byte, error) { return box.Open("totp\x00vega", "", sealed) },
		"empty":               func() ([]byte, error) { return box.Open("totp", "vega", nil) },
	} {
		if got, err := open(); err == nil {
			t.Errorf("%s: %q", what, got)
		}
	}
	for i := range sealed {
		sealed[i] ^= 1
		if _, err := box.Open("totp", "vega", sealed); err == nil {
			t.Errorf("byte %d turned: opened", i)
		}
		sealed[i] ^= 1
	}
	if !box.Marked("once", "a", box.Mark("once", "a")) || box.Marked("once", "b", box.Mark("once", "a")) || box.Marked("who", "a", box.Mark("once", "a")) || box.Marked("once", "a", "") {
		t.Error("marks")
	}
	if _, err := NewBox(nil, seeded(1)); err == nil {
		t.Error("a box without a key")
	}
}

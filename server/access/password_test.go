package access

import (
	"context"
	"encoding/hex"
	"errors"
	"strings"
	"sync"
	"testing"
	"time"

	"golang.org/x/crypto/argon2"
)

// The reference implementation (github.com/P-H-C/phc-winner-argon2, test.c,
// argon2id version 0x13): "password", "somesalt", t=2, m=65536, p=1, 32
// bytes. Our string form is the same bytes in unpadded base 64.
func TestArgon2idOfReferenceImplementation(t *testing.T) {
	const sum = "09316115d5cf24ed5a15a31a3ba326e5cf32edc24702987c02b6566f61913cf7"
	if got := hex.EncodeToString(argon2.IDKey([]byte("password"), []byte("somesalt"), 2, 65536, 1, 32)); got != sum {
		t.Fatalf("argon2id gives %s, the reference %s", got, sum)
	}
	const stored = "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc"
	h, err := parsePHC(stored)
	if err != nil || hex.EncodeToString(h.sum) != sum || string(h.salt) != "somesalt" {
		t.Fatalf("parsed %+v %v", h, err)
	}
	if h.String() != stored {
		t.Errorf("printed %s, want %s", h, stored)
	}
	p := newPasswords(t)
	if ok, again, err := p.Verify(context.Background(), stored, "password"); !ok || again || err != nil {
		t.Errorf("verify: %v %v %v", ok, again, err)
	}
	if ok, _, err := p.Verify(context.Background(), stored, "passwore"); ok || err != nil {
		t.Errorf("verify of another password: %v %v", ok, err)
	}
}

func newPasswords(t *testing.T) *Passwords {
	t.Helper()
	p, err := NewPasswords(seeded(6))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestPasswords(t *testing.T) {
	p, ctx := newPasswords(t), context.Background()
	one, err := p.Hash(ctx, "a short sentence", seeded(7))
	if err != nil {
		t.Fatal(err)
	}
	two, _ := p.Hash(ctx, "a short sentence", seeded(8))
	if one == two || !strings.HasPrefix(one, "$argon2id$v=19$m=19456,t=2,p=1$") {
		t.Errorf("hashes %s and %s", one, two)
	}
	if ok, again, err := p.Verify(ctx, one, "a short sentence"); !ok || again || err != nil {
		t.Errorf("right: %v %v %v", ok, again, err)
	}
	for name, try := range map[string][2]string{
		"wrong": {one, "a short sentences"}, "empty": {one, ""}, "nobody": {"", "a short sentence"},
		"nobody, with the password of the dummy": {"", "nobody has this password"},
		"too long to be real":                    {one, strings.Repeat("x", 5000)},
	} {
		if ok, _, err := p.Verify(ctx, try[0], try[1]); ok || err != nil {
			t.Errorf("%s: %v %v", name, ok, err)
		}
	}
	weak := phc{12288, 1, 1, []byte("somesalt"), argon2.IDKey([]byte("pw"), []byte("somesalt"), 1, 12288, 1, 32)}.String()
	if ok, again, _ := p.Verify(ctx, weak, "pw"); !ok || !again {
		t.Error("a hash of less cost is not asked to be renewed")
	}
}

func TestHashesThatCouldHurtAreRefused(t *testing.T) {
	p := newPasswords(t)
	for _, stored := range []string{
		"x", "$argon2i$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc",
		"$argon2id$v=16$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc",
		"$argon2id$v=19$m=4000000,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc",
		"$argon2id$v=19$m=65536,t=200,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc",
		"$argon2id$v=19$m=65536,t=2,p=0$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc",
		"$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$", "$argon2id$v=19$m=65536,t=2,p=1$$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc",
	} {
		if ok, _, err := p.Verify(context.Background(), stored, "password"); ok || !errors.Is(err, ErrHash) {
			t.Errorf("%s: %v %v", stored, ok, err)
		}
	}
}

// Never more than two hashes at once, and whoever gives up waiting is told.
func TestPasswordsAtOnce(t *testing.T) {
	p := newPasswords(t)
	p.slots <- struct{}{}
	p.slots <- struct{}{}
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Millisecond)
	defer cancel()
	if _, _, err := p.Verify(ctx, "", "x"); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("a third at once: %v", err)
	}
	p.leave()
	p.leave()
	var wg sync.WaitGroup
	for range 6 {
		wg.Go(func() {
			if _, _, err := p.Verify(context.Background(), "", "x"); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
}

// OWASP ASVS 5.0, 6.2.1, 6.2.4, 6.2.5, 6.2.9: lengths, common passwords, no
// rules of composition, at least 64 characters allowed.
func TestCheckPassword(t *testing.T) {
	for _, c := range []struct {
		password string
		second   bool
		want     error
	}{
		{"fourteen chars", false, ErrPasswordShort},
		{"fifteen charact", false, nil},
		{"only lower case words", false, nil},
		{"éééééééééééééé", false, ErrPasswordShort}, // 14 characters in 28 bytes
		{strings.Repeat("long sentence ", 10), false, nil},
		{strings.Repeat("x", 2000), false, ErrPasswordLong},
		{"seven77", true, ErrPasswordShort},
		{"eight88y", true, nil},
		{"password1", true, ErrPasswordCommon},
		{"Pass word1!", true, ErrPasswordCommon},
		{"passwordpassword", false, ErrPasswordCommon},
		{"aaaaaaaaaaaaaaaa", false, ErrPasswordCommon},
		{"1234123412341234", false, ErrPasswordCommon},
		{"correct horse battery staple", false, ErrPasswordCommon},
		{"drvegadrvegadrvega", false, ErrPasswordCommon},
		{"fifteen\x00charact", false, ErrPasswordText},
		{"fifteen\xffcharact", false, ErrPasswordText},
	} {
		if err := CheckPassword(c.password, c.second, "dr.vega", "drvega"); !errors.Is(err, c.want) || (c.want == nil) != (err == nil) {
			t.Errorf("%.20q: %v, want %v", c.password, err, c.want)
		}
	}
	if len(common) < 300 {
		t.Errorf("only %d common passwords", len(common))
	}
}

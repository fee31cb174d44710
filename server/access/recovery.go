package access

import (
	"crypto/hmac"
	"fmt"
	"io"
	"strings"
)

// RecoveryCodes is how many codes a person is given at once. Each has 80
// random bits (OWASP ASVS 5.0, 6.5.2: at least 20; 64 and no rate limit is
// needed, NIST SP 800-63B) and is good once.
const (
	RecoveryCodes   = 10
	recoveryLetters = 16
)

// NewRecoveryCodes draws codes to print and the hashes to store. A keyed hash
// is enough for 80 random bits; the key is not in the store.
func NewRecoveryCodes(key []byte, who string, chance io.Reader) (codes, hashes []string, err error) {
	raw := make([]byte, RecoveryCodes*recoveryLetters)
	if _, err := io.ReadFull(chance, raw); err != nil {
		return nil, nil, fmt.Errorf("draw recovery codes: %w", err)
	}
	for ; len(raw) > 0; raw = raw[recoveryLetters:] {
		code := grouped(raw[:recoveryLetters])
		codes = append(codes, code)
		hashes = append(hashes, recoveryMAC(key, who, squash(code)))
	}
	return codes, hashes, nil
}

// UseRecoveryCode returns the hashes that are left after code was used. Every
// hash is compared, whichever fits.
func UseRecoveryCode(key []byte, who, code string, hashes []string) (left []string, ok bool) {
	sum := recoveryMAC(key, who, squash(code))
	for _, h := range hashes {
		if hmac.Equal([]byte(h), []byte(sum)) {
			ok = true
			continue
		}
		left = append(left, h)
	}
	return left, ok
}

// IsRecoveryCode tells a recovery code from the six digits of an app.
func IsRecoveryCode(text string) bool { return len(squash(text)) == recoveryLetters }

func recoveryMAC(key []byte, who, code string) string { return mac(key, "recovery", who+"\x00"+code) }

// grouped writes five bits of each byte as a letter, four letters a group.
func grouped(raw []byte) string {
	var b strings.Builder
	for i, x := range raw {
		if i > 0 && i%4 == 0 {
			b.WriteByte('-')
		}
		b.WriteByte(crockford[x&31])
	}
	return b.String()
}

// squash reads such a text back, with what people mistake forgiven.
func squash(text string) string {
	if len(text) > 128 {
		return ""
	}
	var b strings.Builder
	for _, c := range strings.ToUpper(text) {
		switch {
		case c == 'O':
			c = '0'
		case c == 'I' || c == 'L':
			c = '1'
		case c > 127 || strings.IndexByte(crockford, byte(c)) < 0:
			continue // dashes, spaces
		}
		b.WriteRune(c)
	}
	return b.String()
}

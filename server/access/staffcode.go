package access

import (
	"crypto/hmac"
	"fmt"
	"io"
	"time"
)

// StaffCodeLife is how long the invitation of a member of staff is good.
const StaffCodeLife = 7 * 24 * time.Hour

const staffCodeLetters = 20 // 100 bits

// NewStaffCode draws the code of an invitation of staff, as it is written,
// and what the store knows it by.
func NewStaffCode(key []byte, chance io.Reader) (code, mac string, err error) {
	raw := make([]byte, staffCodeLetters)
	if _, err := io.ReadFull(chance, raw); err != nil {
		return "", "", fmt.Errorf("draw invitation: %w", err)
	}
	code = grouped(raw)
	return code, StaffCodeMAC(key, code), nil
}

// StaffCodeMAC is what the store knows a code by, however it was typed.
func StaffCodeMAC(key []byte, code string) string { return mac(key, "staff code", squash(code)) }

// SameMAC compares in constant time; the empty one is like nothing.
func SameMAC(a, b string) bool { return a != "" && hmac.Equal([]byte(a), []byte(b)) }

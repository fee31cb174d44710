package access

import (
	"crypto/hmac"
	"crypto/sha1"
	"crypto/subtle"
	"encoding/base32"
	"encoding/binary"
	"fmt"
	"hash"
	"io"
	"net/url"
	"strings"
	"time"
)

// Time-based one-time passwords (RFC 6238) as every authenticator app makes
// them: SHA-1, six digits, a step of 30 seconds.
const (
	TOTPStep   = 30 * time.Second
	totpDigits = 6
	totpSecret = 20 // bytes: as long as the hash (RFC 4226 section 4, R6)
	totpDrift  = 1  // steps before and after (RFC 6238 section 5.2)
)

// NewTOTPSecret draws a secret.
func NewTOTPSecret(chance io.Reader) ([]byte, error) {
	secret := make([]byte, totpSecret)
	if _, err := io.ReadFull(chance, secret); err != nil {
		return nil, fmt.Errorf("draw secret: %w", err)
	}
	return secret, nil
}

// hotp is the value of RFC 4226 section 5.3 for a counter.
func hotp(newHash func() hash.Hash, secret []byte, counter uint64, digits int) string {
	mac := hmac.New(newHash, secret)
	mac.Write(binary.BigEndian.AppendUint64(nil, counter))
	sum := mac.Sum(nil)
	at := sum[len(sum)-1] & 0x0f
	value := uint64(binary.BigEndian.Uint32(sum[at:]) & 0x7fffffff)
	power := uint64(1)
	for range digits {
		power *= 10
	}
	return fmt.Sprintf("%0*d", digits, value%power)
}

func totpStepOf(at time.Time) int64 { return at.Unix() / int64(TOTPStep/time.Second) }

// TOTPCode is the code of a secret at an instant.
func TOTPCode(secret []byte, at time.Time) string {
	return hotp(sha1.New, secret, uint64(totpStepOf(at)), totpDigits)
}

// CheckTOTP returns the step that a code belongs to: the one of now, or one
// before or after it, and later than last, the one that was used last. Store
// the step: each is good once (RFC 6238 section 5.2). Every step is computed
// whatever fits.
func CheckTOTP(secret []byte, code string, now time.Time, last int64) (step int64, ok bool) {
	code = strings.Map(func(r rune) rune {
		if r == ' ' || r == '-' {
			return -1
		}
		return r
	}, code)
	for s := totpStepOf(now) - totpDrift; s <= totpStepOf(now)+totpDrift; s++ {
		same := subtle.ConstantTimeCompare([]byte(hotp(sha1.New, secret, uint64(s), totpDigits)), []byte(code)) == 1
		if same && s > last {
			step, ok = s, true
		}
	}
	return step, ok
}

var base32NoPad = base32.StdEncoding.WithPadding(base32.NoPadding)

// TOTPText is a secret as it is typed into an app, in groups of four.
func TOTPText(secret []byte) string {
	text := base32NoPad.EncodeToString(secret)
	var groups []string
	for ; len(text) > 4; text = text[4:] {
		groups = append(groups, text[:4])
	}
	return strings.Join(append(groups, text), " ")
}

// TOTPAddress is what an app reads out of the QR code: the otpauth key URI
// format that authenticator apps share.
func TOTPAddress(secret []byte, clinic, login string) string {
	clinic = strings.ReplaceAll(clinic, ":", " ")
	q := url.Values{"secret": {base32NoPad.EncodeToString(secret)}, "issuer": {clinic},
		"algorithm": {"SHA1"}, "digits": {"6"}, "period": {"30"}}
	return "otpauth://totp/" + url.PathEscape(clinic) + ":" + url.PathEscape(login) + "?" + strings.ReplaceAll(q.Encode(), "+", "%20")
}

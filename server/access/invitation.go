package access

import (
	"crypto/hmac"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"unsling/server/ledger"
)

// How long each kind of invitation is good.
const (
	DeskLife     = 15 * time.Minute
	TakeHomeLife = 7 * 24 * time.Hour
	DemoLife     = 24 * time.Hour
)

// Life returns how long an invitation of that kind is good, 0 for no kind.
func Life(kind ledger.InvitationKind) time.Duration {
	switch kind {
	case ledger.AtDesk:
		return DeskLife
	case ledger.TakeHome:
		return TakeHomeLife
	case ledger.InDemo:
		return DemoLife
	}
	return 0
}

// crockford is the alphabet of Crockford's base 32: no I, L, O or U.
const crockford = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

const (
	codeLetters = 8  // 40 bits, typed
	qrLetters   = 22 // 128 bits in base64url, scanned
	pinDigits   = 6  // said aloud
)

// ErrCode means that a text cannot be an invitation at all.
var ErrCode = errors.New("not an invitation code: 8 letters and digits, such as 7K2M-9XQ4")

// Secrets are what the patient is given. They are shown once and stored by
// their HMAC only.
type Secrets struct {
	QR   string // 128 bits, base64url, for the fragment of the address
	Code string // XXXX-XXXX, "" for a take-home invitation
	PIN  string // six digits, take-home only
}

// NewInvitation draws secrets and makes the row to store. The row's Patient,
// By and ID are the caller's.
func NewInvitation(kind ledger.InvitationKind, codes []byte, now time.Time, chance io.Reader) (Secrets, ledger.Invitation, error) {
	life := Life(kind)
	if life == 0 {
		return Secrets{}, ledger.Invitation{}, fmt.Errorf("make invitation: no kind %q", kind)
	}
	raw := make([]byte, 16+codeLetters+8)
	if _, err := io.ReadFull(chance, raw); err != nil {
		return Secrets{}, ledger.Invitation{}, fmt.Errorf("make invitation: %w", err)
	}
	s := Secrets{QR: b64.EncodeToString(raw[:16])}
	row := ledger.Invitation{Kind: kind, Made: now, Until: now.Add(life), Secrets: []string{CodeMAC(codes, s.QR)}}
	if kind == ledger.TakeHome {
		var n uint64
		for _, b := range raw[16+codeLetters:] { // 64 bits over a million: the bias is below 2^-44
			n = n<<8 | uint64(b)
		}
		s.PIN = fmt.Sprintf("%06d", n%1_000_000)
		row.PIN = PINMAC(codes, s.QR, s.PIN)
		return s, row, nil
	}
	var code strings.Builder
	for i, b := range raw[16 : 16+codeLetters] {
		if i == codeLetters/2 {
			code.WriteByte('-')
		}
		code.WriteByte(crockford[b&31])
	}
	s.Code = code.String()
	canon, err := ReadCode(s.Code)
	if err != nil {
		return Secrets{}, ledger.Invitation{}, err
	}
	row.Secrets = append(row.Secrets, CodeMAC(codes, canon.Secret))
	return s, row, nil
}

// Typed is an invitation as a phone sends it.
type Typed struct {
	Secret string // canonical: what CodeMAC takes
	PIN    string
}

// Short reports whether the secret was typed and could be guessed; the one
// in a QR code could not.
func (t Typed) Short() bool { return len(t.Secret) == codeLetters }

// ReadCode reads what was scanned or typed: the 22 letters of a QR code,
// those with a dot and the spoken number behind them, or a typed code with
// lower case, dashes, spaces, O for 0 and I or L for 1 forgiven.
func ReadCode(text string) (Typed, error) {
	text = strings.TrimSpace(text)
	if len(text) > 64 {
		return Typed{}, ErrCode
	}
	secret, pin, hasPIN := strings.Cut(text, ".")
	if len(secret) == qrLetters && isBase64url(secret) {
		pin = strings.ReplaceAll(strings.TrimSpace(pin), " ", "")
		if hasPIN && (len(pin) != pinDigits || strings.Trim(pin, "0123456789") != "") {
			return Typed{}, ErrCode
		}
		return Typed{Secret: secret, PIN: pin}, nil
	}
	var canon strings.Builder
	for _, c := range strings.ToUpper(text) {
		switch c {
		case '-', ' ', '\t', '\u2010', '\u2011', '\u2013', '\u00a0':
			continue
		case 'O':
			c = '0'
		case 'I', 'L':
			c = '1'
		}
		if c > 127 || strings.IndexByte(crockford, byte(c)) < 0 {
			return Typed{}, ErrCode
		}
		canon.WriteRune(c)
	}
	if canon.Len() != codeLetters {
		return Typed{}, ErrCode
	}
	return Typed{Secret: canon.String()}, nil
}

// CodeMAC is what the store knows a secret by. An HMAC and not a hash,
// because 40 bits could be searched by whoever has a copy of the store.
func CodeMAC(codes []byte, secret string) string { return mac(codes, "invitation", secret) }

// PINMAC is what the store knows a spoken number by, bound to its QR secret.
func PINMAC(codes []byte, secret, pin string) string { return mac(codes, "pin", secret+"."+pin) }

func mac(key []byte, use, text string) string {
	h := hmac.New(sha256.New, key)
	h.Write([]byte(use + "\x00" + text))
	return b64.EncodeToString(h.Sum(nil))
}

// CheckNumber is the two digits that the phone and the clinic's screen both
// show, so that a photographed code is noticed: made from the invitation
// that was used and the key that used it.
func CheckNumber(codes []byte, secret, thumbprint string) string {
	h := hmac.New(sha256.New, codes)
	h.Write([]byte("check\x00" + secret + "\x00" + thumbprint))
	sum := h.Sum(nil)
	return fmt.Sprintf("%02d", (int(sum[0])<<8|int(sum[1]))%100)
}

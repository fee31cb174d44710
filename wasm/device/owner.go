//go:build js && wasm

package device

import (
	"context"
	"errors"
	"fmt"
	"syscall/js"

	"unsling/wasm/internal/jsrun"
)

// The phone can tell its owner by finger, face or its own code (Web Authentication, user verification by the platform). Here
// it only opens and closes the app on this very phone: nothing is sent, and no server relies on it.

// CanCheckOwner reports whether this phone can tell its owner.
func CanCheckOwner(ctx context.Context) bool {
	kind := window().Get("PublicKeyCredential")
	if !jsrun.Has(kind, "isUserVerifyingPlatformAuthenticatorAvailable") || !jsrun.Has(navigator().Get("credentials"), "create") {
		return false
	}
	v, err := jsrun.CallAwait(ctx, kind, "isUserVerifyingPlatformAuthenticatorAvailable")
	return err == nil && v.Truthy()
}

const ownerLimit = 60_000 // milliseconds to put the finger down

// BindOwner has the phone make a credential for this app and gives its id.
func BindOwner(ctx context.Context) ([]byte, error) {
	v, err := credentials(ctx, "create", map[string]any{
		"challenge": randomJS(32),
		"rp":        map[string]any{"name": "Unsling"},
		"user":      map[string]any{"id": randomJS(16), "name": "this phone", "displayName": "This phone"},
		"pubKeyCredParams": []any{ // ES256 and RS256, the numbers of the IANA COSE registry
			map[string]any{"type": "public-key", "alg": -7}, map[string]any{"type": "public-key", "alg": -257},
		},
		"authenticatorSelection": map[string]any{"authenticatorAttachment": "platform", "userVerification": "required", "residentKey": "discouraged"},
		"timeout":                ownerLimit,
	})
	if err != nil {
		return nil, err
	}
	id, ok := jsrun.ToGo(v.Get("rawId"))
	if !ok || len(id) == 0 {
		return nil, fmt.Errorf("%w: a credential without an id", ErrAbsent)
	}
	return id, nil
}

// CheckOwner has the phone tell whether its owner is there.
func CheckOwner(ctx context.Context, id []byte) error {
	v, err := credentials(ctx, "get", map[string]any{
		"challenge":        randomJS(32),
		"allowCredentials": []any{map[string]any{"type": "public-key", "id": jsrun.ToJS(id), "transports": []any{"internal"}}},
		"userVerification": "required",
		"timeout":          ownerLimit,
	})
	if err != nil {
		return err
	}
	got, _ := jsrun.ToGo(v.Get("rawId"))
	data, _ := jsrun.ToGo(v.Get("response").Get("authenticatorData"))
	// Web Authentication level 3, section 6.1: byte 32 holds the flags, bit 2 that the user was verified.
	if string(got) != string(id) || len(data) < 37 || data[32]&4 == 0 {
		return fmt.Errorf("%w: the phone did not check its owner", ErrRefused)
	}
	return nil
}

func credentials(ctx context.Context, method string, options map[string]any) (v js.Value, err error) {
	c := navigator().Get("credentials")
	if !jsrun.Has(c, method) {
		return v, ErrAbsent
	}
	v, err = jsrun.CallAwait(ctx, c, method, map[string]any{"publicKey": options})
	if err != nil {
		return v, refusal(err)
	}
	if v.Type() != js.TypeObject {
		return v, fmt.Errorf("%w: no credential", ErrRefused)
	}
	return v, nil
}

func randomJS(n int) js.Value {
	b := make([]byte, n)
	Random(b)
	return jsrun.ToJS(b)
}

// stretchRounds is what OWASP's password storage sheet asks of PBKDF2 with HMAC-SHA-256 (memory: 600,000).
const stretchRounds = 600_000

// Stretch makes a slow hash of a PIN: PBKDF2 with HMAC-SHA-256 (RFC 8018), 32 bytes. It takes about half a second on a phone.
func Stretch(ctx context.Context, pin string, salt []byte, rounds int) ([]byte, error) {
	s, err := subtle()
	if err != nil {
		return nil, err
	}
	if rounds <= 0 {
		rounds = stretchRounds
	}
	key, err := jsrun.CallAwait(ctx, s, "importKey", "raw", jsrun.ToJS([]byte(pin)), "PBKDF2", false, []any{"deriveBits"})
	if err != nil {
		return nil, fmt.Errorf("stretch: %w", err)
	}
	v, err := jsrun.CallAwait(ctx, s, "deriveBits",
		map[string]any{"name": "PBKDF2", "hash": "SHA-256", "salt": jsrun.ToJS(salt), "iterations": rounds}, key, 256)
	if err != nil {
		return nil, fmt.Errorf("stretch: %w", err)
	}
	b, ok := jsrun.ToGo(v)
	if !ok || len(b) != 32 {
		return nil, errors.New("stretch: the browser gave no bytes")
	}
	return b, nil
}

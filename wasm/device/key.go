//go:build js && wasm

package device

import (
	"context"
	"errors"
	"fmt"
	"syscall/js"

	"unsling/wasm/idb"
	"unsling/wasm/internal/jsrun"
)

// Key is the installation's signing key, P-256. Its private half cannot be read out, not even by this program.
type Key struct {
	pair js.Value
	// X and Y are the coordinates of the public point in base64url without padding, as in a JWK (RFC 7518 section 6.2.1).
	X, Y string
}

// ErrDamagedKey means that what stands for the key in the database is none.
var ErrDamagedKey = errors.New("the key of this installation is damaged")

var algorithm = map[string]any{"name": "ECDSA", "namedCurve": "P-256"}

// LoadKey gives the key kept under a name, and makes and keeps one if there is none. Of two windows that do so at once both
// get the same key.
func LoadKey(ctx context.Context, db *idb.DB, name string) (*Key, error) {
	pair, err := db.GetValue(ctx, idb.Meta, idb.Name(name))
	if err != nil {
		return nil, err
	}
	if pair.Truthy() {
		return keyOf(ctx, pair)
	}
	if pair, err = generate(ctx); err != nil {
		return nil, err
	}
	err = db.Write(ctx, nil, idb.AddValue(idb.Meta, idb.Name(name), pair))
	if errors.Is(err, idb.ErrExists) {
		pair, err = db.GetValue(ctx, idb.Meta, idb.Name(name))
	}
	if err != nil {
		return nil, fmt.Errorf("keep the key: %w", err)
	}
	return keyOf(ctx, pair)
}

// FindKey gives the key kept under a name, or ErrAbsent.
func FindKey(ctx context.Context, db *idb.DB, name string) (*Key, error) {
	pair, err := db.GetValue(ctx, idb.Meta, idb.Name(name))
	if err != nil {
		return nil, err
	}
	if !pair.Truthy() {
		return nil, fmt.Errorf("the key of this installation: %w", ErrAbsent)
	}
	return keyOf(ctx, pair)
}

func subtle() (js.Value, error) {
	s := window().Get("crypto").Get("subtle")
	if s.Type() != js.TypeObject {
		return s, fmt.Errorf("%w: no Web Cryptography (the page must come over https or from localhost)", ErrAbsent)
	}
	return s, nil
}

func generate(ctx context.Context) (js.Value, error) {
	s, err := subtle()
	if err != nil {
		return js.Undefined(), err
	}
	pair, err := jsrun.CallAwait(ctx, s, "generateKey", algorithm, false, []any{"sign", "verify"})
	if err != nil {
		return js.Undefined(), fmt.Errorf("make a key: %w", err)
	}
	return pair, nil
}

func keyOf(ctx context.Context, pair js.Value) (*Key, error) {
	if pair.Type() != js.TypeObject || !truth(pair, "privateKey") || !truth(pair, "publicKey") {
		return nil, ErrDamagedKey
	}
	s, err := subtle()
	if err != nil {
		return nil, err
	}
	jwk, err := jsrun.CallAwait(ctx, s, "exportKey", "jwk", pair.Get("publicKey"))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrDamagedKey, err)
	}
	return &Key{pair: pair, X: text(jwk, "x"), Y: text(jwk, "y")}, nil
}

// Sign signs message with ECDSA over SHA-256 and gives r and s, 64 bytes, as ES256 wants them (RFC 7518 section 3.4).
func (k *Key) Sign(ctx context.Context, message []byte) ([]byte, error) {
	s, err := subtle()
	if err != nil {
		return nil, err
	}
	how := map[string]any{"name": "ECDSA", "hash": "SHA-256"}
	v, err := jsrun.CallAwait(ctx, s, "sign", how, k.pair.Get("privateKey"), jsrun.ToJS(message))
	if err != nil {
		return nil, fmt.Errorf("sign: %w", err)
	}
	sig, ok := jsrun.ToGo(v)
	if !ok || len(sig) != 64 {
		return nil, fmt.Errorf("sign: %d bytes where 64 are due", len(sig))
	}
	return sig, nil
}

package scenario

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"

	"unsling/engine/rom"
	"unsling/sync/client"
)

// keys holds private keys in memory, in the place of a browser's.
type keys struct {
	chance io.Reader
	have   map[rom.Author]*ecdsa.PrivateKey
}

// New implements client.Keys.
func (k *keys) New(context.Context) (client.Identity, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), k.chance)
	if err != nil {
		return client.Identity{}, fmt.Errorf("make a key: %w", err)
	}
	point, err := key.PublicKey.Bytes()
	if err != nil {
		return client.Identity{}, err
	}
	b64 := base64.RawURLEncoding.EncodeToString
	jwk, err := json.Marshal(map[string]string{"kty": "EC", "crv": "P-256", "x": b64(point[1:33]), "y": b64(point[33:])})
	if err != nil {
		return client.Identity{}, err
	}
	id := make([]byte, 16)
	if _, err := io.ReadFull(k.chance, id); err != nil {
		return client.Identity{}, err
	}
	a := rom.Author("p-" + b64(id))
	k.have[a] = key
	return client.Identity{Author: a, Key: jwk}, nil
}

// Sign implements client.Keys.
func (k *keys) Sign(_ context.Context, a rom.Author, data []byte) ([]byte, error) {
	key, ok := k.have[a]
	if !ok {
		return nil, fmt.Errorf("no key of this installation")
	}
	sum := sha256.Sum256(data)
	r, s, err := ecdsa.Sign(k.chance, key, sum[:])
	if err != nil {
		return nil, err
	}
	out := make([]byte, 64)
	r.FillBytes(out[:32])
	s.FillBytes(out[32:])
	return out, nil
}

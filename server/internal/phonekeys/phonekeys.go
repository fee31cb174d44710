// Package phonekeys holds phones' signing keys in memory, where no browser keeps them: for the demo and for tests.
package phonekeys

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"io"
	"sync"

	"unsling/engine/rom"
	"unsling/sync/client"
)

// Keys are the P-256 keys of any number of installations. The zero value is ready. It is a client.Keys.
type Keys struct {
	Chance io.Reader // of keys, ids and signatures; nil: crypto/rand

	mu   sync.Mutex
	have map[rom.Author]*ecdsa.PrivateKey
}

var _ client.Keys = (*Keys)(nil)

func (k *Keys) chance() io.Reader {
	if k.Chance == nil {
		return rand.Reader
	}
	return k.Chance
}

// New makes a key and the id of its installation.
func (k *Keys) New(context.Context) (client.Identity, error) {
	private, err := ecdsa.GenerateKey(elliptic.P256(), k.chance())
	if err != nil {
		return client.Identity{}, fmt.Errorf("make a key: %w", err)
	}
	point, err := private.PublicKey.Bytes() // 4, x, y
	if err != nil {
		return client.Identity{}, err
	}
	id := make([]byte, 16)
	if _, err := io.ReadFull(k.chance(), id); err != nil {
		return client.Identity{}, err
	}
	b64 := base64.RawURLEncoding.EncodeToString
	author := rom.Author("p-" + b64(id))
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.have == nil {
		k.have = map[rom.Author]*ecdsa.PrivateKey{}
	}
	k.have[author] = private
	return client.Identity{Author: author, Key: fmt.Appendf(nil, `{"kty":"EC","crv":"P-256","x":%q,"y":%q}`, b64(point[1:33]), b64(point[33:]))}, nil
}

// Sign gives r and s of ES256 (RFC 7518, section 3.4).
func (k *Keys) Sign(_ context.Context, a rom.Author, data []byte) ([]byte, error) {
	k.mu.Lock()
	private := k.have[a]
	k.mu.Unlock()
	if private == nil {
		return nil, fmt.Errorf("no key of %s", a)
	}
	sum := sha256.Sum256(data)
	r, s, err := ecdsa.Sign(k.chance(), private, sum[:])
	if err != nil {
		return nil, err
	}
	return append(r.FillBytes(make([]byte, 32)), s.FillBytes(make([]byte, 32))...), nil
}

//go:build js && wasm

package main

import (
	"context"
	"encoding/json"

	"unsling/engine/rom"
	"unsling/sync/client"
	"unsling/wasm/device"
	"unsling/wasm/idb"
)

// keyring keeps the keys of this installation in the browser, one under each id. It is a client.Keys. Without a database
// there are none.
type keyring struct{ db *idb.DB }

func keyName(a rom.Author) string { return "key." + string(a) }

// New makes an id and a key. The id begins in a way that no clinic's does.
func (k *keyring) New(ctx context.Context) (client.Identity, error) {
	if k.db == nil {
		return client.Identity{}, errNoDisk
	}
	author := rom.Author("p-" + device.NewID())
	key, err := device.LoadKey(ctx, k.db, keyName(author))
	if err != nil {
		return client.Identity{}, err
	}
	jwk, err := json.Marshal(struct { // RFC 7517, the members in the order of RFC 7638
		Crv string `json:"crv"`
		Kty string `json:"kty"`
		X   string `json:"x"`
		Y   string `json:"y"`
	}{"P-256", "EC", key.X, key.Y})
	return client.Identity{Author: author, Key: jwk}, err
}

// Sign signs with the key of an id. An id without a key is device.ErrAbsent: a signature by a new key would be worth nothing.
func (k *keyring) Sign(ctx context.Context, a rom.Author, data []byte) ([]byte, error) {
	if k.db == nil {
		return nil, errNoDisk
	}
	key, err := device.FindKey(ctx, k.db, keyName(a))
	if err != nil {
		return nil, err
	}
	return key.Sign(ctx, data)
}

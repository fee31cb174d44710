package client

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"sync"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// ErrNoAnswer means that no readable answer came: no signal, a portal in
// between, a broken connection. The server may or may not have done what was
// asked. Refusals of the server are *wire.Error.
var ErrNoAnswer = errors.New("no answer from the clinic's server")

// Identity is an installation: its random id and its public key.
type Identity struct {
	Author rom.Author      `json:"author"`
	Key    json.RawMessage `json:"key"` // public P-256 JWK (RFC 7517)
}

// Keys keeps the private keys of this installation. They never leave the
// device and cannot be exported.
type Keys interface {
	// New makes a random id and a key pair, and returns when both are on the
	// disk.
	New(context.Context) (Identity, error)
	// Sign returns the ES256 signature of data by the author's key, as r and
	// s of 32 bytes each (RFC 7518 section 3.4).
	Sign(ctx context.Context, a rom.Author, data []byte) ([]byte, error)
}

// Client talks to one server. It may be used by several goroutines.
type Client struct {
	Base   string       // public address of the server, without a slash at its end
	HTTP   *http.Client // with a time limit; nil for http.DefaultClient
	Keys   Keys
	Random func() [16]byte // chance, for the ids of assertions

	lock   sync.Mutex
	tokens map[rom.Author]wire.Token
}

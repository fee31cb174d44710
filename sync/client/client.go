package client

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/url"
	"strings"
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

// Ask is one HTTP request.
type Ask struct {
	Method, URL string
	Header      map[string]string
	Body        []byte // nil for none
}

// Doer makes one HTTP request and returns status and body of the answer,
// unpacked. Over makes one of an *http.Client; a browser's fetch is another.
// The types are not those of net/http, which would bring its own TLS into the
// phone's program, a quarter of it, for nothing.
type Doer interface {
	Do(context.Context, Ask) (status int, body []byte, err error)
}

// Client talks to one server. It may be used by several goroutines.
type Client struct {
	Base   string // public address of the server, without a slash at its end
	HTTP   Doer   // with a time limit; nil for http.DefaultClient, except in a browser
	Keys   Keys
	Random func() [16]byte // chance, for the ids of assertions

	lock   sync.Mutex
	tokens map[rom.Author]string
}

// Hello greets the server and returns what it says of itself.
func (c *Client) Hello(ctx context.Context) (wire.Hello, error) {
	var h wire.Hello
	err := c.call(ctx, "GET", wire.PathHello, "", nil, "", &h)
	if err == nil && (h.Nonce == "" || h.ServerTime.IsZero()) {
		err = ErrNoAnswer
	}
	return h, err
}

// Enrol presents an invitation. The same code, id and key may be sent again
// after no answer came.
func (c *Client) Enrol(ctx context.Context, inv Invitation, id Identity) (wire.Enrolled, error) {
	var out wire.Enrolled
	assertion, err := c.assertion(ctx, id.Author, wire.PathEnrol)
	if err != nil {
		return out, err
	}
	err = c.callJSON(ctx, wire.PathEnrol, "", wire.Enrol{
		Code: inv.Code, PIN: inv.PIN, Author: id.Author, Key: id.Key, Name: inv.Name, Assertion: assertion,
	}, &out)
	return out, err
}

// Register makes a new installation under the name of old (rule 12 of package
// replica) and returns its id.
func (c *Client) Register(ctx context.Context, old rom.Author) (rom.Author, error) {
	id, err := c.Keys.New(ctx)
	if err != nil {
		return "", fmt.Errorf("make a new key: %w", err)
	}
	err = c.withToken(ctx, old, func(token string) error {
		assertion, err := c.assertion(ctx, id.Author, wire.PathDevices)
		if err != nil {
			return err
		}
		var out wire.Enrolled
		return c.callJSON(ctx, wire.PathDevices, token, wire.NewDevice{Author: id.Author, Key: id.Key, Assertion: assertion}, &out)
	})
	if err != nil {
		return "", err
	}
	return id.Author, nil
}

// withToken calls f with a token of the author; if the server does not take
// it any more, once again with a fresh one. Tokens are used until then, so
// that no clock is needed.
func (c *Client) withToken(ctx context.Context, a rom.Author, f func(token string) error) error {
	c.lock.Lock()
	token := c.tokens[a]
	c.lock.Unlock()
	if token != "" {
		err := f(token)
		if !errors.Is(err, wire.Refuse(wire.Unauthorized)) {
			return err
		}
	}
	token, err := c.token(ctx, a)
	if err != nil {
		return err
	}
	return f(token)
}

// token asks for a fresh token.
func (c *Client) token(ctx context.Context, a rom.Author) (string, error) {
	assertion, err := c.assertion(ctx, a, wire.PathToken)
	if err != nil {
		return "", err
	}
	form := url.Values{
		"grant_type":            {"client_credentials"},
		"client_assertion_type": {wire.AssertionType},
		"client_assertion":      {assertion},
	}
	var t wire.Token
	err = c.call(ctx, "POST", wire.PathToken, "", []byte(form.Encode()), "application/x-www-form-urlencoded", &t)
	if err != nil {
		return "", err
	}
	if t.AccessToken == "" || !strings.EqualFold(t.TokenType, "Bearer") {
		return "", ErrNoAnswer
	}
	c.lock.Lock()
	defer c.lock.Unlock()
	if c.tokens == nil {
		c.tokens = map[rom.Author]string{}
	}
	c.tokens[a] = t.AccessToken
	return t.AccessToken, nil
}

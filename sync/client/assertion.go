package client

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"time"

	"unsling/engine/rom"
	"unsling/sync/wire"
)

// assertionLife is how long an assertion is good after the server's own time.
const assertionLife = 60 * time.Second

// assertion returns a JWT by which the author proves itself to the address at
// path (RFC 7523 section 3): signed with ES256, times taken from the server's
// greeting, so that a wrong clock on the phone locks nobody out.
func (c *Client) assertion(ctx context.Context, a rom.Author, path string) (string, error) {
	hello, err := c.Hello(ctx)
	if err != nil {
		return "", err
	}
	jti := c.Random()
	b64 := base64.RawURLEncoding.EncodeToString
	claims, err := json.Marshal(map[string]any{
		"iss": a, "sub": a, "aud": c.Base + path,
		"jti": b64(jti[:]), "nonce": hello.Nonce,
		"iat": hello.ServerTime.Unix(), "exp": hello.ServerTime.Add(assertionLife).Unix(),
	})
	if err != nil {
		return "", fmt.Errorf("write an assertion: %w", err)
	}
	text := b64([]byte(`{"alg":"ES256","typ":"JWT"}`)) + "." + b64(claims)
	sig, err := c.Keys.Sign(ctx, a, []byte(text))
	if err != nil {
		return "", fmt.Errorf("sign for %s: %w", path, err)
	}
	if len(sig) != 64 {
		return "", fmt.Errorf("sign for %s: the signature has %d bytes, want 64 (RFC 7518 section 3.4)", path, len(sig))
	}
	return text + "." + b64(sig), nil
}

// Exchange sends a request and returns the answer.
func (c *Client) Exchange(ctx context.Context, r wire.Request) (reply wire.Reply, lines []wire.LogLine, err error) {
	body, err := pack(r)
	if err != nil {
		return reply, nil, err
	}
	err = c.withToken(ctx, r.Header.Author, func(token string) error {
		reply, lines, err = c.exchange(ctx, token, body)
		return err
	})
	return reply, lines, err
}

package client

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"fmt"

	"unsling/sync/wire"
)

// callJSON posts in as JSON and reads the answer into out.
func (c *Client) callJSON(ctx context.Context, path, token string, in, out any) error {
	body, err := json.Marshal(in)
	if err != nil {
		return fmt.Errorf("write a message to %s: %w", path, err)
	}
	return c.call(ctx, "POST", path, token, body, "application/json", out)
}

// call makes one request whose answer is one JSON object.
func (c *Client) call(ctx context.Context, method, path, token string, body []byte, kind string, out any) error {
	answer, err := c.send(ctx, method, path, token, body, kind, "")
	if err != nil {
		return err
	}
	if wire.ReadMessage(bytes.NewReader(answer), out) != nil {
		return ErrNoAnswer
	}
	return nil
}

// exchange makes one request to the exchange with a packed body.
func (c *Client) exchange(ctx context.Context, token string, body []byte) (wire.Reply, []wire.LogLine, error) {
	answer, err := c.send(ctx, "POST", wire.PathExchange, token, body, wire.ContentType, "gzip")
	if err != nil {
		return wire.Reply{}, nil, err
	}
	reply, lines, err := wire.ReadReply(bytes.NewReader(answer)) // fetch and net/http have unpacked it
	if err != nil {
		return wire.Reply{}, nil, ErrNoAnswer
	}
	return reply, lines, nil
}

// send makes a request and returns the body of the answer if it is a success.
// Otherwise the error is an *wire.Error or ErrNoAnswer. Errors never tell the
// address or the token.
func (c *Client) send(ctx context.Context, method, path, token string, body []byte, kind, encoding string) ([]byte, error) {
	ask := Ask{Method: method, URL: c.Base + path, Header: map[string]string{}, Body: body}
	for name, value := range map[string]string{"Content-Type": kind, "Content-Encoding": encoding} {
		if value != "" {
			ask.Header[name] = value
		}
	}
	if token != "" {
		ask.Header["Authorization"] = "Bearer " + token
	}
	status, answer, err := c.doer().Do(ctx, ask)
	switch {
	case err != nil && ctx.Err() != nil:
		return nil, fmt.Errorf("ask %s: %w", path, ctx.Err())
	case err != nil:
		return nil, ErrNoAnswer
	case status/100 == 2:
		return answer, nil
	}
	return nil, refusal(status, answer)
}

// refusal reads why the server refused. What is not readable comes from
// something in between, such as the sign-in page of a network, and is no
// answer; only "too large" is taken from a proxy as well.
func refusal(status int, answer []byte) error {
	var e wire.Error
	if wire.ReadMessage(bytes.NewReader(answer), &e) != nil || e.Code == "" {
		if wire.CodeOf(status) == wire.TooBig {
			return wire.Refuse(wire.TooBig)
		}
		return ErrNoAnswer
	}
	if !e.Code.Known() { // of a newer server
		e.Code = wire.CodeOf(status)
	}
	return &e
}

// pack writes and compresses a request.
func pack(r wire.Request) ([]byte, error) {
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	if err := wire.WriteRequest(z, r); err != nil {
		return nil, fmt.Errorf("write a request: %w", err)
	}
	if err := z.Close(); err != nil {
		return nil, fmt.Errorf("pack a request: %w", err)
	}
	return b.Bytes(), nil
}

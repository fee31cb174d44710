package client

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"

	"unsling/sync/wire"
)

// callJSON posts in as JSON and reads the answer into out.
func (c *Client) callJSON(ctx context.Context, path, token string, in, out any) error {
	body, err := json.Marshal(in)
	if err != nil {
		return fmt.Errorf("write a message to %s: %w", path, err)
	}
	return c.call(ctx, http.MethodPost, path, token, bytes.NewReader(body), "application/json", out)
}

// call makes one request whose answer is one JSON object.
func (c *Client) call(ctx context.Context, method, path, token string, body io.Reader, kind string, out any) error {
	res, err := c.send(ctx, method, path, token, body, kind, "")
	if err != nil {
		return err
	}
	defer drain(res)
	if wire.ReadMessage(res.Body, out) != nil {
		return ErrNoAnswer
	}
	return nil
}

// exchange makes one request to the exchange with a packed body.
func (c *Client) exchange(ctx context.Context, token string, body []byte) (wire.Reply, []wire.LogLine, error) {
	res, err := c.send(ctx, http.MethodPost, wire.PathExchange, token, bytes.NewReader(body), wire.ContentType, "gzip")
	if err != nil {
		return wire.Reply{}, nil, err
	}
	defer drain(res)
	reply, lines, err := wire.ReadReply(res.Body) // fetch and net/http have unpacked it
	if err != nil {
		return wire.Reply{}, nil, ErrNoAnswer
	}
	return reply, lines, nil
}

// send makes a request and returns the answer if it is a success. Otherwise
// the error is an *wire.Error or ErrNoAnswer. Errors never tell the address
// or the token.
func (c *Client) send(ctx context.Context, method, path, token string, body io.Reader, kind, encoding string) (*http.Response, error) {
	req, err := http.NewRequestWithContext(ctx, method, c.Base+path, body)
	if err != nil {
		return nil, fmt.Errorf("ask %s: the server's address is not valid", path)
	}
	for name, value := range map[string]string{"Content-Type": kind, "Content-Encoding": encoding} {
		if value != "" {
			req.Header.Set(name, value)
		}
	}
	if token != "" {
		req.Header.Set("Authorization", "Bearer "+token)
	}
	res, err := c.doer().Do(req)
	if err != nil {
		if ctx.Err() != nil {
			return nil, fmt.Errorf("ask %s: %w", path, ctx.Err())
		}
		return nil, ErrNoAnswer
	}
	if res.StatusCode/100 == 2 {
		return res, nil
	}
	defer drain(res)
	return nil, refusal(res)
}

// refusal reads why the server refused. What is not readable comes from
// something in between, such as the sign-in page of a network, and is no
// answer; only "too large" is taken from a proxy as well.
func refusal(res *http.Response) error {
	var e wire.Error
	if wire.ReadMessage(res.Body, &e) != nil || e.Code == "" {
		if res.StatusCode == http.StatusRequestEntityTooLarge {
			return wire.Refuse(wire.TooBig)
		}
		return ErrNoAnswer
	}
	if !e.Code.Known() { // of a newer server
		e.Code = wire.CodeOf(res.StatusCode)
	}
	return &e
}

// drain lets the connection be used again.
func drain(res *http.Response) {
	io.Copy(io.Discard, io.LimitReader(res.Body, wire.MaxMessage))
	res.Body.Close()
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

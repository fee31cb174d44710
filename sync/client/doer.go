//go:build !js

package client

import (
	"bytes"
	"context"
	"io"
	"net/http"
)

func (c *Client) doer() Doer {
	if c.HTTP != nil {
		return c.HTTP
	}
	return Over(http.DefaultClient)
}

// Over makes requests with an *http.Client.
func Over(c *http.Client) Doer { return over{c} }

type over struct{ http *http.Client }

// largest is far above any answer of the server.
const largest = 8 << 20

func (o over) Do(ctx context.Context, a Ask) (int, []byte, error) {
	req, err := http.NewRequestWithContext(ctx, a.Method, a.URL, bytes.NewReader(a.Body))
	if err != nil {
		return 0, nil, err
	}
	for name, value := range a.Header {
		req.Header.Set(name, value)
	}
	res, err := o.http.Do(req)
	if err != nil {
		return 0, nil, err
	}
	defer res.Body.Close()
	body, err := io.ReadAll(io.LimitReader(res.Body, largest))
	return res.StatusCode, body, err
}

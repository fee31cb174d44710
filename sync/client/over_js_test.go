package client

import (
	"bytes"
	"context"
	"io"
	"net/http"
)

// overNet reaches the server in memory under Node, where there is no fetch of
// our own; the product never links this.
func overNet() Doer { return nodeNet{} }

type nodeNet struct{}

func (nodeNet) Do(ctx context.Context, a Ask) (int, []byte, error) {
	req, err := http.NewRequestWithContext(ctx, a.Method, a.URL, bytes.NewReader(a.Body))
	if err != nil {
		return 0, nil, err
	}
	for name, value := range a.Header {
		req.Header.Set(name, value)
	}
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		return 0, nil, err
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	return res.StatusCode, body, err
}

//go:build !js

package client

import "net/http"

func (c *Client) doer() Doer {
	if c.HTTP != nil {
		return c.HTTP
	}
	return http.DefaultClient
}

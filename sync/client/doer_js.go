package client

// doer names no default: it would bring net/http's transport into the program.
func (c *Client) doer() Doer { return c.HTTP }

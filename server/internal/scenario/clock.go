package scenario

import (
	"sync"
	"time"
)

// Clock is an invented wall clock. It may be read by the server's handlers
// while the scenario moves it.
type Clock struct {
	mu sync.Mutex
	at time.Time
}

// Now returns the invented instant.
func (c *Clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.at
}

// Set moves the clock; it never goes back.
func (c *Clock) Set(t time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if t.After(c.at) {
		c.at = t
	}
}

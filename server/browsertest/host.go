package browsertest

import (
	"context"
	"fmt"
	"net"
	"net/http"
	"sync/atomic"
	"testing"
	"time"
)

// Host serves a handler on one port of the loopback, and can be stopped, started again at the same address, and given
// another handler: the server dies, comes back, is updated.
type Host struct {
	t       testing.TB
	handler atomic.Pointer[http.Handler]
	addr    string
	server  *http.Server
}

// NewHost starts serving on a free port.
func NewHost(t testing.TB, h http.Handler) *Host {
	t.Helper()
	host := &Host{t: t, addr: "127.0.0.1:0"}
	host.handler.Store(&h)
	host.Start()
	t.Cleanup(host.Stop)
	return host
}

// URL is the base address, on localhost, without a slash at the end.
func (h *Host) URL() string {
	_, port, _ := net.SplitHostPort(h.addr)
	return "http://localhost:" + port
}

// Serve replaces the handler, for requests from now on.
func (h *Host) Serve(handler http.Handler) { h.handler.Store(&handler) }

// Start listens again, at the same address.
func (h *Host) Start() {
	h.t.Helper()
	if h.server != nil {
		return
	}
	var l net.Listener
	var err error
	for range 1000 { // the port may still be closing
		if l, err = net.Listen("tcp", h.addr); err == nil {
			break
		}
		time.Sleep(20 * time.Millisecond)
	}
	if err != nil {
		h.t.Fatalf("listen on %s: %v", h.addr, err)
	}
	h.addr = l.Addr().String()
	h.server = &http.Server{Handler: http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		(*h.handler.Load()).ServeHTTP(w, r)
	})}
	go func(s *http.Server) { _ = s.Serve(l) }(h.server)
}

// Stop refuses new connections and drops the open ones, as a killed server does.
func (h *Host) Stop() {
	if h.server == nil {
		return
	}
	if err := h.server.Close(); err != nil {
		h.t.Logf("stop the server: %v", err)
	}
	h.server = nil
}

// Reachable reports whether something listens at the address.
func (h *Host) Reachable() bool {
	ctx, cancel := context.WithTimeout(context.Background(), patience) // a closed port refuses at once
	defer cancel()
	c, err := (&net.Dialer{}).DialContext(ctx, "tcp", h.addr)
	if err != nil {
		return false
	}
	_ = c.Close()
	return true
}

// String names the host in a message.
func (h *Host) String() string { return fmt.Sprintf("server at %s", h.addr) }

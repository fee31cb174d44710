package main

import (
	"net"
	"path/filepath"
	"testing"
	"time"
)

// The message of sd_notify(3) arrives as one datagram.
func TestNotify(t *testing.T) {
	path := filepath.Join(t.TempDir(), "notify")
	c, err := net.ListenUnixgram("unixgram", &net.UnixAddr{Name: path, Net: "unixgram"})
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	t.Setenv("NOTIFY_SOCKET", path)
	notify("READY=1")
	b := make([]byte, 100)
	if err := c.SetReadDeadline(time.Now().Add(2 * time.Minute)); err != nil {
		t.Fatal(err)
	}
	if n, err := c.Read(b); err != nil || string(b[:n]) != "READY=1" {
		t.Errorf("%q %v", b[:n], err)
	}
	for text, want := range map[string]time.Duration{"": 0, "x": 0, "-5": 0, "60000000": time.Minute} {
		t.Setenv("WATCHDOG_USEC", text)
		if got := watchdog(); got != want {
			t.Errorf("%q: %v, want %v", text, got, want)
		}
	}
	t.Setenv("NOTIFY_SOCKET", "")
	notify("without systemd nothing happens")
}

package main

import (
	"net"
	"os"
	"strconv"
	"time"
)

// notify tells systemd how the program stands (sd_notify(3)); without
// systemd it does nothing.
func notify(state string) {
	to := os.Getenv("NOTIFY_SOCKET")
	if to == "" {
		return
	}
	if to[0] == '@' {
		to = "\x00" + to[1:] // an abstract socket
	}
	c, err := net.Dial("unixgram", to)
	if err != nil {
		return
	}
	defer c.Close()
	_, _ = c.Write([]byte(state))
}

// watchdog is how often systemd wants to hear that the program lives, 0 for
// never (sd_watchdog_enabled(3)).
func watchdog() time.Duration {
	us, err := strconv.ParseInt(os.Getenv("WATCHDOG_USEC"), 10, 64)
	if err != nil || us <= 0 {
		return 0
	}
	return time.Duration(us) * time.Microsecond
}

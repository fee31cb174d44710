package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"time"
)

// vulnerabilities asks the public database about what is in a program. Without a network it says so: a release must be
// possible then, and "not checked" is not "nothing found". A vulnerability that is found is an error.
func vulnerabilities(ctx context.Context, program string) (said string, err error) {
	ctx, cancel := context.WithTimeout(ctx, 5*time.Minute)
	defer cancel()
	cmd := exec.CommandContext(ctx, "go", "run", vulnChecker, "-mode=binary", program)
	cmd.Env = append(os.Environ(), "GOFLAGS=-mod=mod")
	out, err := cmd.CombinedOutput()
	return verdict(string(out), exitCode(err), err)
}

func exitCode(err error) int {
	var exit *exec.ExitError
	if errors.As(err, &exit) {
		return exit.ExitCode()
	}
	return 0
}

// verdict reads what the checker answered. Its exit code is 3 when something was found; go run passes on 1 and prints the
// other.
func verdict(out string, code int, err error) (said string, _ error) {
	const checker = vulnChecker
	switch {
	case err == nil:
		return "vulnerabilities: none known (" + checker + ")", nil
	case strings.Contains(out, "Vulnerability #"):
		return "vulnerabilities: found (" + checker + ")\n" + out, errors.New("known vulnerabilities, see above")
	}
	for _, sign := range []string{"no such host", "dial tcp", "i/o timeout", "connection refused", "TLS handshake", "fetching vulnerabilities",
		"context deadline exceeded", "network is unreachable", "proxyconnect", "unexpected status code", "HTTP GET"} {
		if strings.Contains(out, sign) {
			return "vulnerabilities: not checked: no network (" + checker + ")", nil
		}
	}
	return "vulnerabilities: not checked (" + checker + ")", fmt.Errorf("the vulnerability check failed with code %d: %w\n%s", code, err, strings.TrimSpace(out))
}

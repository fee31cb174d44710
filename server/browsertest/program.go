package browsertest

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"net"
	"net/http"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"
)

// Program is the real server, as a process of its own, that can be killed and started again.
type Program struct {
	t    testing.TB
	bin  string
	args []string
	addr string
	cmd  *exec.Cmd

	mu  sync.Mutex
	out bytes.Buffer
}

var built struct {
	sync.Once
	path string
	err  error
}

// Binary builds the server once and gives the path of the program.
func Binary(t testing.TB) string {
	t.Helper()
	built.Do(func() {
		out, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}").Output()
		if err != nil {
			built.err = err
			return
		}
		top := strings.TrimSpace(string(out))
		built.path = filepath.Join(top, "bin", "unsling-test")
		cmd := exec.Command("go", "build", "-trimpath", "-o", built.path, "./server")
		cmd.Dir = top
		if text, err := cmd.CombinedOutput(); err != nil {
			built.err = fmt.Errorf("build the server: %w\n%s", err, text)
		}
	})
	if built.err != nil {
		t.Fatal(built.err)
	}
	return built.path
}

// FreeAddress is an address of the loopback on which nothing listens now.
func FreeAddress(t testing.TB) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().String()
}

// StartProgram starts the server with these arguments, which must make it listen at addr, and waits until it is ready.
func StartProgram(t testing.TB, addr string, args ...string) *Program {
	t.Helper()
	p := &Program{t: t, bin: Binary(t), args: args, addr: addr}
	t.Cleanup(p.Kill)
	p.Start()
	return p
}

// Start starts it again, after Kill or Stop, with the same arguments.
func (p *Program) Start() {
	p.t.Helper()
	p.cmd = exec.Command(p.bin, p.args...)
	pipe, err := p.cmd.StdoutPipe()
	if err == nil {
		p.cmd.Stderr = p.cmd.Stdout
		err = p.cmd.Start()
	}
	if err != nil {
		p.t.Fatalf("start the server: %v", err)
	}
	go func() {
		for s := bufio.NewScanner(pipe); s.Scan(); {
			p.mu.Lock()
			p.out.WriteString(s.Text() + "\n")
			p.mu.Unlock()
		}
	}()
	for end := time.Now().Add(patience); ; time.Sleep(30 * time.Millisecond) {
		ctx, cancel := context.WithTimeout(context.Background(), patience/6)
		req, _ := http.NewRequestWithContext(ctx, http.MethodGet, p.URL()+"/readyz", nil)
		res, err := http.DefaultClient.Do(req)
		cancel()
		if err == nil {
			_ = res.Body.Close()
			if res.StatusCode == http.StatusOK {
				return
			}
		}
		if time.Now().After(end) {
			p.t.Fatalf("the server is not ready: %v\n%s", err, p.Output())
		}
	}
}

// URL is its base address on localhost, without a slash at the end.
func (p *Program) URL() string {
	_, port, _ := net.SplitHostPort(p.addr)
	return "http://localhost:" + port
}

// Output is what it has printed so far, over all starts.
func (p *Program) Output() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.out.String()
}

// Kill ends it without warning (SIGKILL). Killing a dead one does nothing.
func (p *Program) Kill() { p.signal(syscall.SIGKILL) }

// Stop asks it to end (SIGTERM) and waits.
func (p *Program) Stop() { p.signal(syscall.SIGTERM) }

func (p *Program) signal(s syscall.Signal) {
	if p.cmd == nil || p.cmd.Process == nil {
		return
	}
	_ = p.cmd.Process.Signal(s) // it may have ended already
	_ = p.cmd.Wait()
	p.cmd = nil
}

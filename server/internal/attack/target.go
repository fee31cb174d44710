package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"time"
)

// target is the real server as a process, and its data folder.
type target struct {
	ctx       context.Context
	bin, data string
	addr      string
	base      string // its public address
	cmd       *exec.Cmd
	ended     chan struct{}

	mu  sync.Mutex
	out bytes.Buffer // everything that it has written

	Staff       []person
	Invitations []invitation
}

type person struct{ Login, Password, Role, Name string }

type invitation struct{ Patient, Code, Link string }

// secret is the part of a link that lets a phone in.
func (i invitation) secret() string { _, s, _ := strings.Cut(i.Link, "#"); return s }

func freeAddress() (string, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return "", err
	}
	defer l.Close()
	return l.Addr().String(), nil
}

func goBuild(to string) (said []byte, err error) {
	return exec.Command("go", "build", "-trimpath", "-o", to, "./server").CombinedOutput()
}

// newTarget builds the program, makes the invented clinic, and starts the server as for real use, at its own address or behind
// another.
func newTarget(ctx context.Context, work, bin, public string) (*target, error) {
	t := &target{ctx: ctx, bin: bin, data: filepath.Join(work, "data"), base: public}
	var err error
	if t.bin == "" {
		t.bin = filepath.Join(work, "unsling")
		if text, err := goBuild(t.bin); err != nil {
			return nil, fmt.Errorf("build the server: %w\n%s", err, text)
		}
	}
	if t.addr, err = freeAddress(); err != nil {
		return nil, err
	}
	if t.base == "" {
		_, port, _ := net.SplitHostPort(t.addr)
		t.base = "http://localhost:" + port
	}
	if err := t.startAs("demo", "--data", t.data, "--listen", t.addr, "--public-url", t.base); err != nil {
		return nil, err
	}
	t.stop()
	text, err := os.ReadFile(filepath.Join(t.data, "demo.json"))
	if err == nil {
		err = json.Unmarshal(text, t)
	}
	if err != nil || len(t.Staff) == 0 || len(t.Invitations) < 10 {
		return nil, fmt.Errorf("the invented clinic cannot be read: %w", errors.Join(err, errors.New("no staff or invitations")))
	}
	return t, t.start()
}

// start starts the server as for real use.
func (t *target) start() error {
	return t.startAs("serve", "--data", t.data, "--listen", t.addr, "--public-url", t.base)
}

func (t *target) startAs(args ...string) error {
	cmd := exec.CommandContext(t.ctx, t.bin, args...)
	pipe, err := cmd.StdoutPipe()
	if err != nil {
		return err
	}
	cmd.Stderr = cmd.Stdout
	if err := cmd.Start(); err != nil {
		return err
	}
	ended := make(chan struct{})
	t.cmd, t.ended = cmd, ended
	go func() {
		for s := bufio.NewScanner(pipe); s.Scan(); {
			t.mu.Lock()
			t.out.WriteString(s.Text() + "\n")
			t.mu.Unlock()
		}
		_ = cmd.Wait()
		close(ended)
	}()
	for end := time.Now().Add(3 * time.Minute); time.Now().Before(end); time.Sleep(30 * time.Millisecond) {
		select {
		case <-ended:
			return fmt.Errorf("the server ended: %s", t.said())
		default:
		}
		ctx, cancel := context.WithTimeout(t.ctx, 20*time.Second)
		req, _ := http.NewRequestWithContext(ctx, http.MethodGet, "http://"+t.addr+"/readyz", nil)
		req.Host = strings.TrimPrefix(t.base, "http://")
		res, err := http.DefaultClient.Do(req)
		cancel()
		if err == nil {
			res.Body.Close()
			if res.StatusCode == http.StatusOK {
				return nil
			}
		}
	}
	return fmt.Errorf("the server is not ready: %s", t.said())
}

func (t *target) said() string {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.out.String()
}

func (t *target) kill() { t.end(syscall.SIGKILL) }
func (t *target) stop() { t.end(syscall.SIGTERM) }

func (t *target) end(s syscall.Signal) {
	if t.cmd == nil {
		return
	}
	_ = t.cmd.Process.Signal(s) // it may have ended
	<-t.ended
	t.cmd = nil
}

// command runs a command of the program on the data folder, with the server stopped.
func (t *target) command(args ...string) (string, error) {
	text, err := exec.CommandContext(t.ctx, t.bin, args...).CombinedOutput()
	return string(text), err
}

// memory is what the process holds of its own, in bytes.
func (t *target) memory() (int64, error) {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", t.cmd.Process.Pid))
	if err != nil {
		return 0, err
	}
	for line := range strings.SplitSeq(string(text), "\n") {
		var kb int64
		if n, _ := fmt.Sscanf(line, "RssAnon: %d kB", &kb); n == 1 {
			return kb << 10, nil
		}
	}
	return 0, errors.New("the system does not say how much memory it holds")
}

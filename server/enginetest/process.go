package enginetest

import (
	"bytes"
	"os"
	"os/exec"
	"sync"
	"syscall"
	"testing"
	"time"
)

// process is a program that a test started, with everything that it starts itself.
type process struct {
	cmd  *exec.Cmd
	done chan struct{}

	mu  sync.Mutex
	out bytes.Buffer
}

// Write takes what the program prints.
func (p *process) Write(b []byte) (int, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.out.Write(b)
}

func (p *process) output() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.out.String()
}

// launch starts a program in a process group of its own; the test ends all of the group.
func launch(t testing.TB, env []string, extra []*os.File, path string, args ...string) *process {
	t.Helper()
	p := &process{cmd: exec.Command(path, args...), done: make(chan struct{})}
	p.cmd.Env = append(os.Environ(), env...)
	p.cmd.Stdout, p.cmd.Stderr = p, p
	p.cmd.ExtraFiles = extra
	p.cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	p.cmd.WaitDelay = 5 * time.Second
	if err := p.cmd.Start(); err != nil {
		t.Fatalf("start %s: %v", path, err)
	}
	go func() { _ = p.cmd.Wait(); close(p.done) }()
	t.Cleanup(p.kill)
	return p
}

// kill ends the whole group without warning.
func (p *process) kill() {
	_ = syscall.Kill(-p.cmd.Process.Pid, syscall.SIGKILL) // it may have ended already
	<-p.done
}

// wait waits until it has ended by itself; it reports whether it did.
func (p *process) wait(limit time.Duration) bool {
	select {
	case <-p.done:
		return true
	case <-time.After(limit):
		return false
	}
}

package crashtest

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/sync/journal"
	"unsling/sync/wire"
)

const (
	patience  = 3 * time.Minute  // for what must happen, on a slow machine too
	stopLimit = 90 * time.Second // after which systemd kills (DefaultTimeoutStopSec, systemd-system.conf(5))
)

// The server is asked to stop (SIGTERM) while four phones send and the clinic
// writes: what it has begun it finishes and answers. So afterwards the store
// holds exactly what was acknowledged, no line and no note more, the program
// ends with success and in time, and verifies.
func TestStopUnderLoad(t *testing.T) {
	ctx := context.Background()
	c := newClinic(t)
	s := c.open()
	var phones []*phone
	for i := range 4 {
		p := patients[i%2]
		phones = append(phones, newPhone(c.url(), p, c.invite(s, p), journal.NewDisk(), &keys{}))
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	var notes atomic.Int64
	for round := range 3 {
		if err := c.start(); err != nil {
			t.Fatalf("round %d: %v", round, err)
		}
		run, cancel := context.WithCancel(ctx)
		var all sync.WaitGroup
		for _, p := range phones {
			all.Go(func() {
				for joined := false; run.Err() == nil; {
					if !joined {
						joined = p.join(run) == nil
						continue
					}
					for range 5 {
						if err := p.write(); err != nil {
							t.Errorf("append: %v", err)
							return
						}
					}
					if _, err := p.syncer.Sync(run); err != nil {
						time.Sleep(5 * time.Millisecond)
					}
				}
			})
		}
		all.Go(func() {
			for run.Err() == nil {
				if n := notes.Load(); c.note(patients[n%2], fmt.Sprint("note ", n)) {
					notes.Add(1)
				}
			}
		})
		// Asked in the middle of the load: after every phone was answered again, and two notes.
		was, noted := total(t, phones), notes.Load()
		for end := time.Now().Add(patience); total(t, phones) < was+40 || notes.Load() < noted+2; time.Sleep(time.Millisecond) {
			if time.Now().After(end) {
				t.Fatalf("round %d: too little goes on: %d records, %d notes", round, total(t, phones)-was, notes.Load()-noted)
			}
		}
		begin := time.Now()
		cmd := c.cmd
		if err := cmd.Process.Signal(syscall.SIGTERM); err != nil {
			t.Fatal(err)
		}
		err := cmd.Wait()
		c.cmd = nil
		if took := time.Since(begin); err != nil || took > stopLimit {
			t.Errorf("round %d: ended with %v after %v\n%s", round, err, took, c.said())
		}
		cancel()
		all.Wait()

		s := c.open()
		stored := int64(0)
		for _, p := range patients {
			lines, err := s.Read(p, 1, 0)
			if err != nil {
				t.Fatal(err)
			}
			for _, l := range lines {
				if rec, err := wire.Decode(l.Bytes); err == nil && rec.Kind == wire.KindNote {
					stored++
				}
			}
		}
		if stored != notes.Load() {
			t.Errorf("round %d: the store has %d notes, %d were acknowledged", round, stored, notes.Load())
		}
		for i, p := range phones {
			st := p.state(t)
			row, err := s.Author(rom.Author(st.Author))
			if err != nil || row.Mark.N != st.Acked.N {
				t.Errorf("round %d: phone %d was told %d, the store has %d of it (%v)", round, i, st.Acked.N, row.Mark.N, err)
			}
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		if out, err := c.verify(); err != nil {
			t.Errorf("round %d: unsling verify: %v\n%s", round, err, out)
		}
	}
}

// Who sends a request without end, or a head without measure, is cut off and
// costs nobody else anything (limits of net/http's server as run sets them).
func TestSlowAndLongRequests(t *testing.T) {
	c := newClinic(t)
	if err := c.start(); err != nil {
		t.Fatal(err)
	}
	dial := func() net.Conn {
		conn, err := net.Dial("tcp", c.addr)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { conn.Close() })
		return conn
	}
	const many = 200
	slow := make([]net.Conn, many)
	for i := range slow {
		slow[i] = dial()
		if _, err := slow[i].Write([]byte("GET /healthz HTTP/1.1\r\nHost: localhost\r\nX-Slow: ")); err != nil {
			t.Fatal(err)
		}
	}
	begin := time.Now()
	if !c.note("p1", "a note beside two hundred slow ones") {
		t.Error("the clinic cannot write beside slow requests")
	}
	long := dial()
	_, _ = fmt.Fprintf(long, "GET /healthz HTTP/1.1\r\nHost: localhost\r\nX-Long: %s\r\n\r\n", strings.Repeat("x", 64<<10))
	_ = long.SetReadDeadline(time.Now().Add(patience))
	if answer, err := io.ReadAll(long); !strings.Contains(string(answer), " 431 ") {
		t.Errorf("a head of 64 KiB: %q %v", answer, err)
	}
	for i, conn := range slow {
		_ = conn.SetReadDeadline(begin.Add(patience))
		if _, err := io.ReadAll(conn); errors.Is(err, os.ErrDeadlineExceeded) {
			t.Fatalf("slow request %d still stands after %v", i, time.Since(begin))
		}
	}
}

package crashtest

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/sync/journal"
	"unsling/sync/wire"
)

var (
	loadFor  = flag.Duration("load", 20*time.Second, "how long the phones of the load send")
	restFor  = flag.Duration("rest", 60*time.Second, "how long the server rests after it")
	loadEnds = flag.Int("load-phones", 50, "how many phones send at once")
)

// measured is what a load showed.
type measured struct {
	records     int64
	perSecond   float64
	p50, p99    time.Duration // of one exchange, as the phone sees it
	peak, rests float64       // MB of anonymous memory, under load and after the rest
	start       time.Duration // from the call to the first answer, after a kill
}

// sender is a phone that has written for days and sends as fast as it may. It
// leaves the journal out, which would cost more than the server does.
type sender struct {
	*phone
	mark wire.Mark
	head wire.Cursor
	took []time.Duration
}

func (s *sender) batch(author rom.Author) ([][]byte, wire.Mark, error) {
	mark, now := s.mark, time.Now()
	var lines [][]byte
	for range wire.MaxLines {
		body, v, err := wire.EncodeBody(wire.KindQuestion, rom.Question{Episode: "e1", Text: fmt.Sprint("record ", mark.N)})
		if err != nil {
			return nil, mark, err
		}
		line, err := wire.Encode(wire.Record{Author: author, N: mark.N + 1, Prev: mark.Prev(), Salt: wire.Salt([16]byte{1}), Kind: wire.KindQuestion, V: v,
			Run: "load", At: now, TZ: "UTC", Body: body})
		if err != nil {
			return nil, mark, err
		}
		lines, mark = append(lines, line), wire.Mark{N: mark.N + 1, Hash: wire.HashOf(line)}
	}
	return lines, mark, nil
}

// send sends batch after batch until ctx ends.
func (s *sender) send(ctx context.Context, author rom.Author) error {
	for ctx.Err() == nil {
		lines, after, err := s.batch(author)
		if err != nil {
			return err
		}
		req := wire.Request{Header: wire.Header{Proto: wire.Proto, Author: author, From: s.mark.N + 1, Since: s.head, App: "load"}, Lines: lines}
		if s.mark.N > 0 {
			req.Header.Prev = s.mark.Hash
		}
		from := time.Now()
		reply, _, err := s.client.Exchange(context.WithoutCancel(ctx), req)
		if err != nil {
			return err
		}
		s.took = append(s.took, time.Since(from))
		if reply.Ack != after {
			return fmt.Errorf("acknowledged %d of %d", reply.Ack.N, after.N)
		}
		s.mark, s.head = after, reply.Head
	}
	return nil
}

var loaded struct {
	sync.Once
	measured
}

// load runs once for all who ask: phones that send batches of 200 records as
// fast as they can to the real server, a rest, a kill, and a start. Everything
// acknowledged is there afterwards and verifies.
func load(t testing.TB) measured {
	loaded.Do(func() { loaded.measured = runLoad(t) })
	if loaded.records == 0 {
		t.Fatal("the load did not run")
	}
	return loaded.measured
}

func runLoad(t testing.TB) (m measured) {
	ctx := context.Background()
	c := newClinic(t)
	s := c.open()
	var senders []*sender
	for i := range *loadEnds {
		p, trail := rom.PatientID(fmt.Sprint("load", i)), ledger.Trail{At: time.Now(), Actor: "vega"}
		if err := s.CreatePatient(ledger.Patient{ID: p, Name: "Invented patient"}, []rom.StaffID{"vega"}, nil, trail); err != nil {
			t.Fatal(err)
		}
		senders = append(senders, &sender{phone: newPhone(c.url(), p, c.invite(s, p), journal.NewDisk(), &keys{})})
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if err := c.start(); err != nil {
		t.Fatal(err)
	}
	authors := make([]rom.Author, len(senders))
	for i, s := range senders {
		if err := s.join(ctx); err != nil {
			t.Fatal(err)
		}
		authors[i] = rom.Author(s.state(t).Author)
	}
	until, cancel := context.WithTimeout(ctx, *loadFor)
	defer cancel()
	var all sync.WaitGroup
	begin := time.Now()
	for i, s := range senders {
		all.Go(func() {
			if err := s.send(until, authors[i]); err != nil {
				t.Errorf("phone %d: %v", i, err)
			}
		})
	}
	all.Go(func() {
		for until.Err() == nil {
			m.peak = max(m.peak, c.anonymousMB())
			time.Sleep(50 * time.Millisecond)
		}
	})
	all.Wait()
	seconds := time.Since(begin).Seconds()
	var took []time.Duration
	for _, s := range senders {
		m.records += s.mark.N
		took = append(took, s.took...)
	}
	slices.Sort(took)
	m.perSecond, m.p50, m.p99 = float64(m.records)/seconds, took[len(took)/2], took[len(took)*99/100]
	time.Sleep(*restFor)
	m.rests = c.anonymousMB()
	c.kill()
	begin = time.Now()
	if err := c.start(); err != nil {
		t.Fatal(err)
	}
	m.start = time.Since(begin)
	c.kill()
	out, err := c.verify()
	if err != nil {
		t.Errorf("unsling verify: %v\n%s", err, out)
	}
	s = c.open()
	defer s.Close()
	for i, a := range authors {
		row, err := s.Author(a)
		if err != nil || row.Mark != senders[i].mark {
			t.Errorf("phone %d was told %d, the store has %d (%v)", i, senders[i].mark.N, row.Mark.N, err)
		}
	}
	t.Logf("%d phones: %d records, %.0f a second, p50 %v, p99 %v, at most %.0f MB anonymous, %.0f MB after a rest of %v, start after a kill %v: %s",
		len(senders), m.records, m.perSecond, m.p50.Round(time.Millisecond), m.p99.Round(time.Millisecond), m.peak, m.rests, *restFor,
		m.start.Round(time.Millisecond), bytes.TrimSpace([]byte(out)))
	return m
}

// anonymousMB is RssAnon of the server; 0 where the system does not tell.
func (c *clinic) anonymousMB() float64 {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", c.cmd.Process.Pid))
	if err != nil {
		return 0
	}
	for line := range strings.Lines(string(text)) {
		if rest, ok := strings.CutPrefix(line, "RssAnon:"); ok {
			var kb float64
			_, _ = fmt.Sscan(rest, &kb)
			return kb / 1024
		}
	}
	return 0
}

// BenchmarkBudgetLoadPeak: the server within 256 MB of anonymous memory while
// fifty phones send batches of 200 records as fast as they can.
func BenchmarkBudgetLoadPeak(b *testing.B) {
	m := load(b)
	b.ReportMetric(256, "budget-MB")
	b.ReportMetric(m.peak, "measured-MB")
	b.ReportMetric(m.perSecond, "records/s")
	b.ReportMetric(m.p99.Seconds(), "p99-s")
}

// BenchmarkBudgetLoadRest: the same server within 80 MB a minute later.
func BenchmarkBudgetLoadRest(b *testing.B) {
	m := load(b)
	b.ReportMetric(80, "budget-MB")
	b.ReportMetric(m.rests, "measured-MB")
	b.ReportMetric(m.start.Seconds(), "start-after-kill-s")
}

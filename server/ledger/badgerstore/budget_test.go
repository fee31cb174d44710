package badgerstore

import (
	crand "crypto/rand"
	"fmt"
	"os"
	"runtime/debug"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/dgraph-io/badger/v4"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/server/ledger/ledgertest"
	"unsling/sync/wire"
)

// The budgets of the store. A clock alone says little on a busy machine, so each
// is a ratio of two medians of 9, taken in turns in one run; `make bench` prints
// them beside what they may be.

// ratio runs a and b in turns and reports how many times longer a takes.
func ratio(b *testing.B, budget float64, a, of func(i int)) {
	b.Helper()
	var x, y []time.Duration
	timed := func(f func(int), i int) time.Duration {
		from := time.Now()
		f(i)
		return time.Since(from)
	}
	for i := range 2 {
		a(i)
		of(i)
	}
	b.ResetTimer()
	for i := range 9 {
		x = append(x, timed(a, i+2))
		y = append(y, timed(of, i+2))
	}
	slices.Sort(x)
	slices.Sort(y)
	b.ReportMetric(budget, "budget-times")
	b.ReportMetric(float64(x[4])/float64(y[4]), "measured-times")
	b.ReportMetric(float64(x[4].Microseconds())/1000, "median-ms")
}

// BenchmarkBudgetExchange: an exchange of 200 records at a third of the rate of
// badger alone committing the same bytes in the same batches.
func BenchmarkBudgetExchange(b *testing.B) {
	const rounds = 11
	s := benchStore(b, 1)
	s.benchPhone(b, "p0")
	chain := chainOf(200 * rounds)
	db, err := badger.Open(settings(badger.DefaultOptions(b.TempDir())))
	if err != nil {
		b.Fatal(err)
	}
	defer db.Close()
	var since wire.Cursor
	ratio(b, 3, func(i int) {
		out := s.benchSend(b, int64(i*200)+1, chain[i*200:(i+1)*200], since)
		since = out.Reply.Head
	}, func(i int) {
		if err := db.Update(func(t *badger.Txn) error {
			for k, line := range chain[i*200 : (i+1)*200] {
				if err := t.Set(withN([]byte("lg/p0/"), int64(i*200+k)), line); err != nil {
					return err
				}
			}
			return nil
		}); err != nil {
			b.Fatal(err)
		}
	})
}

// BenchmarkBudgetPull: ten new records of a log of 100,000 within twice the
// same of a log of 100.
func BenchmarkBudgetPull(b *testing.B) {
	pull := func(length int) func(int) {
		s := benchStore(b, 1)
		s.benchPhone(b, "p0")
		chain := chainOf(length)
		for from := 0; from < length; from += 100 {
			s.benchSend(b, int64(from)+1, chain[from:from+100], wire.Cursor{})
		}
		since := wire.Cursor{Seq: int64(length - 10), Hash: wire.HashOf(chain[length-11])}
		return func(int) {
			for range 20 {
				if out := s.benchSend(b, int64(length)+1, nil, since); len(out.Lines) != 10 {
					b.Fatal(len(out.Lines))
				}
			}
		}
	}
	ratio(b, 2, pull(100_000), pull(100))
}

// BenchmarkBudgetPanel: the rows of a watch list of 500 patients in a store of
// 100,000 patients within one and a half times the same in a store of 1,000.
func BenchmarkBudgetPanel(b *testing.B) {
	panel := func(patients int) func(int) {
		s := benchStore(b, patients)
		return func(int) {
			for range 5 {
				if rows, err := s.Panel("vega"); err != nil || len(rows) != 500 {
					b.Fatal(len(rows), err)
				}
			}
		}
	}
	ratio(b, 1.5, panel(100_000), panel(1000))
}

// BenchmarkBudgetMemory: a server at rest with a million records within 80 MB
// of anonymous memory. The store is filled, closed, and opened again in this
// process under the limit that the server sets itself.
func BenchmarkBudgetMemory(b *testing.B) {
	const patients, each = 1000, 1000
	defer debug.SetMemoryLimit(debug.SetMemoryLimit(192 << 20))
	dir := b.TempDir()
	at := func() *Store {
		s, err := Open(dir, Options{Content: ledgertest.TestKeys().Content, ClinicMAC: ledgertest.TestKeys().ClinicMAC, Fold: cheap, Chance: crand.Reader, Started: ledgertest.Noon})
		if err != nil {
			b.Fatal(err)
		}
		return s
	}
	s := at()
	trail := ledger.Trail{At: ledgertest.Noon, Actor: "vega"}
	if err := s.AddStaff(ledger.Staff{ID: "vega", Login: "vega", Role: ledger.Surgeon}, trail); err != nil {
		b.Fatal(err)
	}
	chain := chainOf(each)
	for i := range patients {
		p, author := rom.PatientID(fmt.Sprint("p", i)), rom.Author(fmt.Sprint("a", i))
		if err := s.CreatePatient(ledger.Patient{ID: p}, []rom.StaffID{"vega"}, nil, trail); err != nil {
			b.Fatal(err)
		}
		if err := s.Invite(ledger.Invitation{ID: "i" + string(p), Patient: p, Secrets: []string{"s" + string(p)}, Until: ledgertest.Noon.Add(1 << 40)}, trail); err != nil {
			b.Fatal(err)
		}
		if _, err := s.Enrol(ledger.Enrolment{Secret: "s" + string(p), Author: author, Thumbprint: "k" + string(p), At: ledgertest.Noon}, trail); err != nil {
			b.Fatal(err)
		}
		own := renamed(b, chain, author)
		for from := 0; from < each; from += 200 {
			out, err := s.Exchange(ledger.ExchangeRequest{Author: author, At: ledgertest.Noon, MaxLines: 1, MaxBytes: 1 << 10,
				Request: wire.Request{Header: wire.Header{From: int64(from) + 1}, Lines: own[from : from+200]}})
			if err != nil || out.Code != "" {
				b.Fatal(out.Code, err)
			}
		}
	}
	if err := s.Close(); err != nil {
		b.Fatal(err)
	}
	s = at()
	defer s.Close()
	var rest []float64
	b.ResetTimer()
	for range 9 {
		debug.FreeOSMemory()
		time.Sleep(200 * time.Millisecond)
		rest = append(rest, anonymousMB(b))
	}
	slices.Sort(rest)
	b.ReportMetric(patients*each, "records")
	b.ReportMetric(80, "budget-MB")
	b.ReportMetric(rest[4], "measured-MB")
}

// renamed is a chain written again under another author.
func renamed(b *testing.B, chain [][]byte, a rom.Author) (out [][]byte) {
	prev := wire.NoPrev
	for _, line := range chain {
		r, err := wire.Decode(line)
		if err != nil {
			b.Fatal(err)
		}
		r.Author, r.Prev = a, prev
		next, err := wire.Encode(r)
		if err != nil {
			b.Fatal(err)
		}
		out, prev = append(out, next), wire.HashOf(next)
	}
	return out
}

// anonymousMB is RssAnon of this process; 0 where the system does not tell.
func anonymousMB(b *testing.B) float64 {
	b.Helper()
	text, err := os.ReadFile("/proc/self/status")
	if err != nil {
		b.Skip("this system does not tell")
	}
	for line := range strings.Lines(string(text)) {
		if rest, ok := strings.CutPrefix(line, "RssAnon:"); ok {
			var kb float64
			if _, err := fmt.Sscan(rest, &kb); err != nil {
				b.Fatal(err)
			}
			return kb / 1024
		}
	}
	b.Fatal("no RssAnon")
	return 0
}

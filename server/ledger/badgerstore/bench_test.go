package badgerstore

import (
	crand "crypto/rand"
	"fmt"
	"testing"

	"github.com/dgraph-io/badger/v4"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/server/ledger/ledgertest"
	"unsling/sync/wire"
)

// cheap is a fold that costs nothing, so that the store is measured.
var cheap = ledger.Fold{Version: 1, Add: func(facts []byte, lines []ledger.Line) ([]byte, error) {
	return fmt.Appendf(nil, "%d", lines[len(lines)-1].Seq), nil
}}

func benchStore(b *testing.B, patients int) *Store {
	b.Helper()
	s, err := Open(b.TempDir(), Options{Content: ledgertest.TestKeys().Content, ClinicMAC: ledgertest.TestKeys().ClinicMAC,
		Fold: cheap, Chance: crand.Reader, Started: ledgertest.Noon})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { s.Close() })
	trail := ledger.Trail{At: ledgertest.Noon, Actor: "vega"}
	for _, id := range []rom.StaffID{"vega", "other"} {
		if err := s.AddStaff(ledger.Staff{ID: id, Login: string(id), Role: ledger.Surgeon}, trail); err != nil {
			b.Fatal(err)
		}
	}
	for i := range patients {
		team := []rom.StaffID{"other"}
		if i < 500 {
			team = []rom.StaffID{"vega"}
		}
		if err := s.CreatePatient(ledger.Patient{ID: rom.PatientID(fmt.Sprint("p", i))}, team, nil, trail); err != nil {
			b.Fatal(err)
		}
	}
	return s
}

func (s *Store) benchPhone(b *testing.B, p rom.PatientID) {
	b.Helper()
	trail := ledger.Trail{At: ledgertest.Noon, Actor: "vega"}
	if err := s.Invite(ledger.Invitation{ID: "i" + string(p), Patient: p, Secrets: []string{"s" + string(p)}, Until: ledgertest.Noon.Add(1 << 40)}, trail); err != nil {
		b.Fatal(err)
	}
	if _, err := s.Enrol(ledger.Enrolment{Secret: "s" + string(p), Author: "a1", Thumbprint: "k", At: ledgertest.Noon}, trail); err != nil {
		b.Fatal(err)
	}
}

func (s *Store) benchSend(b *testing.B, from int64, lines [][]byte, since wire.Cursor) ledger.ExchangeReply {
	b.Helper()
	out, err := s.Exchange(ledger.ExchangeRequest{Author: "a1", At: ledgertest.Noon, MaxLines: 200, MaxBytes: 64 << 10,
		Request: wire.Request{Header: wire.Header{From: from, Since: since}, Lines: lines}})
	if err != nil || out.Code != "" {
		b.Fatal(out.Code, err)
	}
	return out
}

// BenchmarkExchange200 and BenchmarkRaw200 belong together: the exchange may
// cost three times what badger alone needs to commit the same bytes.
func BenchmarkExchange200(b *testing.B) {
	s := benchStore(b, 1)
	s.benchPhone(b, "p0")
	chain := chainOf(200 * b.N)
	var since wire.Cursor
	b.ResetTimer()
	for i := range b.N {
		out := s.benchSend(b, int64(i*200)+1, chain[i*200:(i+1)*200], since)
		since = out.Reply.Head
	}
	b.ReportMetric(float64(200*b.N)/b.Elapsed().Seconds(), "records/s")
}

func BenchmarkRaw200(b *testing.B) {
	db, err := badger.Open(settings(badger.DefaultOptions(b.TempDir())))
	if err != nil {
		b.Fatal(err)
	}
	defer db.Close()
	chain := chainOf(200 * b.N)
	b.ResetTimer()
	for i := range b.N {
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
	}
	b.ReportMetric(float64(200*b.N)/b.Elapsed().Seconds(), "records/s")
}

// BenchmarkPull10 of a long log may cost twice that of a short one.
func BenchmarkPull10(b *testing.B) {
	for _, length := range []int{100, 100_000} {
		b.Run(fmt.Sprint(length), func(b *testing.B) {
			s := benchStore(b, 1)
			s.benchPhone(b, "p0")
			chain := chainOf(length)
			for from := 0; from < length; from += 100 {
				s.benchSend(b, int64(from)+1, chain[from:from+100], wire.Cursor{})
			}
			since := wire.Cursor{Seq: int64(length - 10), Hash: wire.HashOf(chain[length-11])}
			b.ResetTimer()
			for range b.N {
				if out := s.benchSend(b, int64(length)+1, nil, since); len(out.Lines) != 10 {
					b.Fatal(len(out.Lines))
				}
			}
		})
	}
}

// BenchmarkPanel500 in a large store may cost half as much again as in a
// small one.
func BenchmarkPanel500(b *testing.B) {
	for _, patients := range []int{1000, 10_000} {
		b.Run(fmt.Sprint(patients), func(b *testing.B) {
			s := benchStore(b, patients)
			b.ResetTimer()
			for range b.N {
				if rows, err := s.Panel("vega"); err != nil || len(rows) != 500 {
					b.Fatal(len(rows), err)
				}
			}
		})
	}
}

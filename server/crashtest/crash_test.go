package crashtest

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"maps"
	mrand "math/rand/v2"
	"sync"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/sync/journal"
	"unsling/sync/wire"
)

var crashes = flag.Int("crashes", 20, "how often the server is killed")

// The real server is killed with SIGKILL at random instants while four phones
// of two patients send and the clinic writes. After each kill the store is
// opened: whatever was acknowledged to a phone or to the clinic is there with
// its bytes, once and in order, and the store verifies. In the end the phones
// heal, and everything that they called kept is there once. At every third kill
// files are left half made, as a kill between two of badger's steps leaves them;
// verify, asked first after every fifth, changes no file.
func TestCrash(t *testing.T) {
	if *crashes < 1 {
		t.Fatal("no crash asked for")
	}
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
	var mu sync.Mutex
	notes := map[string]rom.PatientID{} // acknowledged to the clinic
	written := 0
	begin := time.Now()
	var killed, idle int
	for round := range *crashes {
		if err := c.start(); err != nil {
			t.Fatalf("round %d: %v", round, err)
		}
		run, cancel := context.WithCancel(ctx)
		var all sync.WaitGroup
		for _, p := range phones {
			all.Go(func() {
				for joined := false; run.Err() == nil; {
					if !joined {
						if joined = p.join(run) == nil; !joined {
							time.Sleep(time.Millisecond)
							continue
						}
					}
					for range 1 + mrand.IntN(12) {
						if err := p.write(); err != nil {
							t.Errorf("append: %v", err)
							return
						}
					}
					_, _ = p.syncer.Sync(run)
				}
			})
		}
		all.Go(func() {
			for run.Err() == nil {
				text, p := "note "+id16(), patients[mrand.IntN(2)]
				if c.note(p, text) {
					mu.Lock()
					notes[text] = p
					mu.Unlock()
				}
			}
		})
		before := total(t, phones)
		if round%4 != 1 { // that one is killed while it starts or phones join; the others after so much work, however long it takes
			mu.Lock()
			noted := len(notes)
			mu.Unlock()
			records, told := int64(1+mrand.IntN(150)), 1+mrand.IntN(3)
			went := func() bool {
				mu.Lock()
				defer mu.Unlock()
				return total(t, phones) >= before+records && len(notes) >= noted+told
			}
			for end := time.Now().Add(patience); !went() && time.Now().Before(end); {
				time.Sleep(time.Millisecond)
			}
		}
		time.Sleep(time.Duration(mrand.IntN(30)) * time.Millisecond)
		c.kill()
		cancel()
		all.Wait()
		killed++
		if total(t, phones) == before {
			idle++
		}
		if round%3 == 2 {
			c.halfMade()
		}
		if round%5 == 4 {
			before := c.hashes()
			if out, err := c.verify(); err != nil {
				t.Fatalf("round %d: unsling verify: %v\n%s", round, err, out)
			}
			if !maps.Equal(before, c.hashes()) {
				t.Errorf("round %d: unsling verify changed files", round)
			}
		}
		if round%2 == 0 { // the others are left to the server as they are
			check(t, c, phones, notes, fmt.Sprint("round ", round))
		}
		if t.Failed() {
			return
		}
	}
	if err := c.start(); err != nil {
		t.Fatal(err)
	}
	for _, p := range phones {
		if err := p.join(ctx); err != nil {
			t.Fatal(err)
		}
		if res, err := p.syncer.Sync(ctx); err != nil || !res.Done || res.Unsent != 0 {
			t.Fatalf("heal: %+v %v", res, err)
		}
		written += len(p.own(t))
	}
	c.kill() // once more, right after the last answer
	check(t, c, phones, notes, "healed")
	if out, err := c.verify(); err != nil {
		t.Errorf("unsling verify: %v\n%s", err, out)
	}
	if written < 10**crashes || len(notes) < *crashes/2 || idle > *crashes/2 {
		t.Errorf("too little went on: %d records, %d notes, %d of %d kills with nothing acknowledged since the start", written, len(notes), idle, killed)
	}
	t.Logf("%d kills in %.0f s: %d records of 4 phones and %d notes of the clinic, nothing missing, nothing twice", killed, time.Since(begin).Seconds(), written, len(notes))
}

// total is how many records the phones know to be acknowledged.
func total(t *testing.T, phones []*phone) (n int64) {
	for _, p := range phones {
		n += p.state(t).Acked.N
	}
	return n
}

// check opens the store of a dead server and holds it to what was said.
func check(t *testing.T, c *clinic, phones []*phone, notes map[string]rom.PatientID, when string) {
	t.Helper()
	s := c.open()
	defer func() {
		if err := s.Close(); err != nil {
			t.Errorf("%s: close: %v", when, err)
		}
	}()
	have, said := map[rom.Ref][]byte{}, map[string]int{}
	for _, id := range patients {
		seen := map[rom.Ref]bool{} // the clinic counts for each patient
		lines, err := s.Read(id, 1, 0)
		if err != nil {
			t.Fatalf("%s: read %s: %v", when, id, err)
		}
		for i, l := range lines {
			ref := rom.Ref{Author: l.Author, N: l.N}
			if l.Seq != int64(i+1) || seen[ref] {
				t.Errorf("%s: line %d of %s has number %d, or %v is there twice", when, i+1, id, l.Seq, ref)
			}
			seen[ref], have[ref] = true, l.Bytes
			rec, err := wire.Decode(l.Bytes)
			if err != nil || rec.Ref() != ref {
				t.Errorf("%s: %v is not a record: %v", when, ref, err)
			}
			if rec.Kind == wire.KindNote {
				body, err := wire.DecodeBody(rec.Kind, rec.V, rec.Body)
				if err != nil {
					t.Fatal(err)
				}
				said[string(id)+" "+body.(rom.Note).Text]++
			}
		}
	}
	for _, p := range phones {
		st := p.state(t)
		for i, line := range p.own(t) {
			ref := rom.Ref{Author: st.Author, N: int64(i + 1)}
			if got := have[ref]; got != nil && !bytes.Equal(got, line) {
				t.Errorf("%s: %v is not what the phone wrote", when, ref)
			} else if got == nil && (ref.N <= st.Acked.N || when == "healed") {
				t.Errorf("%s: %v is missing, acknowledged up to %d", when, ref, st.Acked.N)
			}
		}
	}
	for text, p := range notes {
		if n := said[string(p)+" "+text]; n != 1 {
			t.Errorf("%s: a note that the clinic was told is saved is there %d times", when, n)
		}
	}
	if rep, err := s.Verify(context.Background()); err != nil || len(rep.Faults) != 0 {
		t.Errorf("%s: verify: %+v %v", when, rep.Faults, err)
	}
}

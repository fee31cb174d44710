package api

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/anishathalye/porcupine"

	"unsling/engine/rom"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// history collects what clients asked and were answered, and when.
type history struct {
	mu  sync.Mutex
	ops []porcupine.Operation
}

// do runs one operation of a client.
func (h *history) do(client int, in any, f func() any) {
	call := time.Now()
	out := f()
	back := time.Now()
	h.mu.Lock()
	defer h.mu.Unlock()
	h.ops = append(h.ops, porcupine.Operation{ClientId: client, Input: in, Call: call.UnixNano(), Output: out, Return: back.UnixNano()})
}

// holds asks porcupine whether there is an order of the operations, within
// the instants at which they ran, in which one server would have answered so.
func (h *history) holds(t *testing.T, m porcupine.Model) bool {
	t.Helper()
	switch r := porcupine.CheckOperationsTimeout(m, h.ops, time.Minute); r {
	case porcupine.Ok:
		return true
	case porcupine.Illegal:
		return false
	default:
		t.Fatalf("porcupine came to no end with %d operations: %v", len(h.ops), r)
		return false
	}
}

// A page revises from the newest revision that it saw, or is told the newest.
type (
	revise struct{ base int }
	look   struct{} // a phone pulls, over HTTP
	plan   struct { // the answer
		rev   int // made, or seen
		stale bool
	}
)

// planModel is one plan: revisions, each made from the one before.
var planModel = porcupine.Model{
	Init: func() any { return 1 },
	Step: func(state, in, out any) (bool, any) {
		newest, answer := state.(int), out.(plan)
		if r, ok := in.(revise); ok && !answer.stale {
			return r.base == newest && answer.rev == newest+1, answer.rev
		} else if ok {
			return r.base != newest && answer.rev == newest, newest
		}
		return answer.rev == newest, newest
	},
}

func planDraft(t *testing.T, base, rev int) ledger.Draft {
	raw, v, err := wire.EncodeBody(wire.KindPlan, rom.Plan{
		Episode: "e1", Rev: rev, Base: base, State: rom.Running, WakeFrom: 480, WakeTo: 1320, By: "vega", On: 20000,
		Contact: rom.Contact{Phone: "555 0100"}, Reason: "as seen",
		Phases: []rom.Phase{{Key: "protect", Sling: rom.SlingAlways, Limits: []rom.Limit{
			{Motion: rom.ForwardFlexion, Class: rom.Passive, Ceiling: rom.Deg(90), From: rom.Source{Key: "CLINIC", Mark: rom.Clinic}}}}},
	})
	if err != nil {
		t.Fatal(err)
	}
	return ledger.Draft{Kind: wire.KindPlan, V: v, Body: raw, At: noon, Zone: "UTC"}
}

// append is ledger.Store.Append as the plan page uses it.
type appender func(rom.PatientID, []ledger.Draft, *ledger.Base, ledger.Trail) ([]ledger.Line, error)

// planHistory lets pages revise and phones look, all at once.
func planHistory(t *testing.T, r *rig, store appender) *history {
	t.Helper()
	trail := ledger.Trail{At: noon, Actor: "vega"}
	if _, err := r.store.Append("p1", []ledger.Draft{planDraft(t, 0, 1)}, nil, trail); err != nil {
		t.Fatal(err)
	}
	var h history
	var all sync.WaitGroup
	for page := range 4 {
		all.Go(func() {
			base := 1
			for range 12 {
				h.do(page, revise{base}, func() any {
					_, err := store("p1", []ledger.Draft{planDraft(t, base, base+1)}, &ledger.Base{Episode: "e1", Base: base, New: base + 1}, trail)
					var stale *ledger.StaleError
					switch {
					case err == nil:
						base++
						return plan{rev: base}
					case errors.As(err, &stale):
						was := plan{rev: stale.Newest, stale: true}
						base = stale.Newest
						return was
					}
					t.Errorf("revise: %v", err)
					return plan{}
				})
				time.Sleep(time.Duration(rand.IntN(300)) * time.Microsecond)
			}
		})
	}
	for range 2 {
		ph := r.enrolled()
		all.Go(func() {
			for range 12 {
				h.do(4+len(ph.lines), look{}, func() any {
					_, lines := ph.send(ph.request(1))
					rev := 0
					for _, l := range lines {
						rec, err := wire.Decode(l.Bytes)
						if err != nil || rec.Kind != wire.KindPlan {
							continue
						}
						if b, err := wire.DecodeBody(rec.Kind, rec.V, rec.Body); err == nil {
							rev = max(rev, b.(rom.Plan).Rev)
						}
					}
					return plan{rev: rev}
				})
			}
		})
	}
	all.Wait()
	return &h
}

// Revisions from several pages at once, seen by phones over HTTP: there is one
// order in which each was made from the newest or refused with it.
func TestRevisionsAreLinearizable(t *testing.T) {
	r := newRig(t)
	h := planHistory(t, r, r.store.Append)
	made, stale := 0, 0
	for _, op := range h.ops {
		if p := op.Output.(plan); p.stale {
			stale++
		} else if _, ok := op.Input.(revise); ok {
			made++
		}
	}
	if !h.holds(t, planModel) {
		t.Error("no order explains the answers")
	}
	if made < 4 || stale < 4 {
		t.Errorf("%d revisions and %d refusals: the pages did not meet", made, stale)
	}
	t.Logf("%d operations: %d revisions, %d refused as stale", len(h.ops), made, stale)
}

// A store that quietly takes a revision from an old page, by making it again
// from the newest, is found out.
func TestPorcupineFindsALostRevision(t *testing.T) {
	r := newRig(t)
	var mu sync.Mutex
	h := planHistory(t, r, func(p rom.PatientID, d []ledger.Draft, b *ledger.Base, trail ledger.Trail) ([]ledger.Line, error) {
		mu.Lock()
		defer mu.Unlock()
		lines, err := r.store.Append(p, d, b, trail)
		var stale *ledger.StaleError
		if errors.As(err, &stale) {
			return r.store.Append(p, []ledger.Draft{planDraft(t, stale.Newest, stale.Newest+1)}, nil, trail)
		}
		return lines, err
	})
	if h.holds(t, planModel) {
		t.Error("porcupine is content with a store that loses a revision")
	}
}

// Two copies of a phone send their chains, which part after some lines, and a
// reader pulls the log, all over HTTP.
type (
	send struct { // lines from number from on
		from int
		list []link
	}
	link     struct{ prev, hash wire.Hash }
	pull     struct{}
	answered struct {
		code wire.Code
		mark int
		hash wire.Hash
		log  string
	}
)

const hashLen = 43

// ackModel is one author's chain, as the hashes of its lines, each with a mark
// whether it is in the log: an acknowledgement tells how far the chain goes,
// the log has what follows its predecessor, and a number once taken is never
// given to other bytes. A line of another chain than the one before it is
// acknowledged and set aside.
var ackModel = porcupine.Model{
	Init: func() any { return "" },
	Step: func(state, in, out any) (bool, any) {
		const inLog, aside, entry = "+", "-", hashLen + 1
		chain, answer := state.(string), out.(answered)
		at := func(n int) string { return chain[n*entry : n*entry+hashLen] } // counted from 0
		s, ok := in.(send)
		if !ok {
			var log strings.Builder
			for n := range len(chain) / entry {
				if chain[n*entry+hashLen:(n+1)*entry] == inLog {
					log.WriteString(at(n))
				}
			}
			return answer.log == log.String(), chain
		}
		code, n := wire.Code(""), len(chain)/entry
		if s.from > n+1 {
			code = wire.Gap
		} else {
			for i, l := range s.list {
				n := s.from - 1 + i
				if n*entry < len(chain) {
					if at(n) != string(l.hash) {
						code = wire.Fork
						break
					}
					continue
				}
				where := inLog
				if n > 0 && at(n-1) != string(l.prev) {
					where = aside
				}
				chain += string(l.hash) + where
			}
		}
		n = len(chain) / entry
		last := ""
		if n > 0 {
			last = at(n - 1)
		}
		return answer.code == code && answer.mark == n && string(answer.hash) == last, chain
	},
	Equal: func(a, b any) bool { return a == b },
}

// ackHistory lets copies send and others read, all at once.
func ackHistory(t *testing.T, r *rig) *history {
	t.Helper()
	p := r.enrolled()
	reader := r.enrolled()
	for i := range 6 {
		p.write(fmt.Sprint("together ", i))
	}
	var h history
	var all sync.WaitGroup
	for copied := range 3 {
		c := &phone{r: r, keys: p.keys, id: p.id, token: p.token, lines: slices.Clone(p.lines)}
		for i := range 18 {
			c.write(fmt.Sprint("copy ", copied/2, " ", i)) // the first two are one and the same
		}
		all.Go(func() {
			acked := 0
			for range 14 {
				from := 1 + rand.IntN(acked+2)
				to := min(len(c.lines), from+rand.IntN(4))
				var list []link
				for i, l := range c.lines[from-1 : to] {
					x := link{hash: wire.HashOf(l)}
					if n := from - 1 + i; n > 0 {
						x.prev = wire.HashOf(c.lines[n-1])
					}
					list = append(list, x)
				}
				h.do(copied, send{from, list}, func() any {
					status, body := r.post(wire.PathExchange, wire.ContentType, p.text(c.request(int64(from), c.lines[from-1:to]...)), p.bearer())
					if status == 200 {
						reply, _, err := wire.ReadReply(bytes.NewReader(body))
						if err != nil {
							t.Errorf("reply: %v", err)
						}
						if n := int(reply.Ack.N); n <= len(c.lines) && n > 0 && wire.HashOf(c.lines[n-1]) == reply.Ack.Hash {
							acked = max(acked, n)
						}
						return answered{mark: int(reply.Ack.N), hash: reply.Ack.Hash}
					}
					var e wire.Error
					if err := wire.ReadMessage(bytes.NewReader(body), &e); err != nil || e.Ack == nil {
						t.Errorf("answered %d %s", status, body)
						return answered{}
					}
					return answered{code: e.Code, mark: int(e.Ack.N), hash: e.Ack.Hash}
				})
			}
		})
	}
	all.Go(func() {
		for range 14 {
			h.do(9, pull{}, func() any {
				var list strings.Builder
				_, lines := reader.send(reader.request(1))
				for _, l := range lines {
					if ref, ok := wire.Position(l.Bytes); ok && ref.Author == p.id.Author {
						list.WriteString(string(l.Hash))
					}
				}
				return answered{log: list.String()}
			})
			time.Sleep(time.Duration(rand.IntN(500)) * time.Microsecond)
		}
	})
	all.Wait()
	return &h
}

// Acknowledgements of copies of one phone, and what others read meanwhile,
// are those of one chain that only grows.
func TestAcknowledgementIsLinearizable(t *testing.T) {
	for range 20 { // whether the copies meet is chance
		h := ackHistory(t, newRig(t))
		codes := map[wire.Code]int{}
		for _, op := range h.ops {
			codes[op.Output.(answered).code]++
		}
		if !h.holds(t, ackModel) {
			t.Fatal("no order explains the answers")
		}
		if codes[wire.Fork] > 0 && codes[""] >= 20 {
			t.Logf("%d operations: %v", len(h.ops), codes)
			return
		}
	}
	t.Error("the copies never met")
}

// forgetful acknowledges a line now and then that it does not store.
type forgetful struct {
	Store
	mu    sync.Mutex
	calls int
}

func (f *forgetful) Exchange(req ledger.ExchangeRequest) (ledger.ExchangeReply, error) {
	f.mu.Lock()
	f.calls++
	lie := f.calls%4 == 0 && len(req.Request.Lines) > 1
	f.mu.Unlock()
	if !lie {
		return f.Store.Exchange(req)
	}
	lines := req.Request.Lines
	req.Request.Lines = lines[:len(lines)-1]
	out, err := f.Store.Exchange(req)
	if n := req.Request.Header.From + int64(len(lines)) - 1; err == nil && out.Code == "" && n > out.Reply.Ack.N {
		out.Reply.Ack = wire.Mark{N: n, Hash: wire.HashOf(lines[len(lines)-1])}
	}
	return out, err
}

func TestPorcupineFindsALostRecord(t *testing.T) {
	for range 5 { // whether it lies where it shows is chance
		r := newRig(t)
		r.api.Store = &forgetful{Store: r.store}
		if h := ackHistory(t, r); !h.holds(t, ackModel) {
			return
		}
	}
	t.Error("porcupine is content with a server that acknowledges what it does not store")
}

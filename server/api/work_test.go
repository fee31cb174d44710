package api

import (
	"io"
	"net/http"
	"sync"
	"testing"
	"time"

	"unsling/server/ledger"
	"unsling/sync/wire"
)

// slow is a store whose exchanges wait for the gate.
type slow struct {
	Store
	gate chan struct{}

	mu           sync.Mutex
	inside, most int
}

func (s *slow) Exchange(req ledger.ExchangeRequest) (ledger.ExchangeReply, error) {
	s.mu.Lock()
	s.inside++
	s.most = max(s.most, s.inside)
	s.mu.Unlock()
	<-s.gate
	s.mu.Lock()
	s.inside--
	s.mu.Unlock()
	return s.Store.Exchange(req)
}

func (s *slow) count() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.inside
}

// crowd sends count exchanges of one phone at once and returns their statuses
// when they have ended, and how many are under way before.
func crowd(r *rig, p *phone, count int) (ended func() map[int]int, underWay func() int) {
	var all sync.WaitGroup
	var mu sync.Mutex
	statuses, begun := map[int]int{}, 0
	h := r.handler()
	r.handler = func() http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) {
			mu.Lock()
			begun++
			mu.Unlock()
			h.ServeHTTP(w, req)
		})
	}
	text := p.text(p.request(1))
	for range count {
		all.Go(func() {
			status, _ := r.post(wire.PathExchange, wire.ContentType, text, p.bearer())
			mu.Lock()
			statuses[status]++
			mu.Unlock()
		})
	}
	return func() map[int]int { all.Wait(); return statuses }, func() int { mu.Lock(); defer mu.Unlock(); return begun }
}

func until(t *testing.T, what string, holds func() bool) {
	t.Helper()
	for end := time.Now().Add(20 * time.Second); !holds(); time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("not: %s", what)
		}
	}
}

// However many phones send at once, so many exchanges are unpacked and worked
// on; the others wait as they came, and all are answered.
func TestExchangesAtWork(t *testing.T) {
	r := newRig(t)
	p := r.enrolled()
	s := &slow{Store: r.store, gate: make(chan struct{})}
	r.api.Store = s
	ended, underWay := crowd(r, p, exchangesAtWork+10)
	until(t, "all are under way and some at work", func() bool { return underWay() == exchangesAtWork+10 && s.count() >= exchangesAtWork })
	close(s.gate)
	if got := ended(); got[http.StatusOK] != exchangesAtWork+10 {
		t.Errorf("statuses %v", got)
	}
	if s.most != exchangesAtWork {
		t.Errorf("%d at work at once", s.most)
	}
}

// Who waits too long is told to come again, and nothing of it is stored.
func TestExchangeWaitsInVain(t *testing.T) {
	r := newRig(t)
	p := r.enrolled()
	p.write("one")
	s := &slow{Store: r.store, gate: make(chan struct{})}
	r.api.Store, r.api.patience = s, time.Millisecond
	r.api.work = make(chan struct{}, 1)
	ended, _ := crowd(r, p, 1)
	until(t, "one is at work", func() bool { return s.count() == 1 })
	status, body := r.post(wire.PathExchange, wire.ContentType, p.text(p.request(1, p.lines...)), p.bearer())
	r.want("no place", wire.TooMany, status, body)
	close(s.gate)
	if got := ended(); got[http.StatusOK] != 1 {
		t.Errorf("statuses %v", got)
	}
	if lines, err := r.store.Read("p1", 1, 0); err != nil || len(lines) != 0 {
		t.Errorf("%d lines: %v", len(lines), err)
	}
	if reply, _ := p.send(p.request(1, p.lines...)); reply.Ack.N != 1 {
		t.Errorf("afterwards: %+v", reply)
	}
}

// A phone on a bad line takes no place while its records trickle in, and a
// store that fails gives its place back.
func TestSlowBodyTakesNoPlace(t *testing.T) {
	r := newRig(t)
	p := r.enrolled()
	p.write("one")
	r.api.work = make(chan struct{}, 1)
	body, trickle := io.Pipe()
	defer trickle.Close()
	req, err := http.NewRequest(http.MethodPost, r.url+wire.PathExchange, body)
	if err != nil {
		t.Fatal(err)
	}
	req.Header = p.bearer()
	req.Header.Set("Content-Type", wire.ContentType)
	slowOne := make(chan int, 1)
	go func() {
		res, err := http.DefaultClient.Do(req)
		if err != nil {
			slowOne <- 0
			return
		}
		res.Body.Close()
		slowOne <- res.StatusCode
	}()
	text := p.text(p.request(1, p.lines...))
	if _, err := trickle.Write(text[:10]); err != nil {
		t.Fatal(err)
	}
	if reply, _ := p.send(p.request(1, p.lines...)); reply.Ack.N != 1 {
		t.Errorf("beside a slow one: %+v", reply)
	}
	if _, err := trickle.Write(text[10:]); err != nil {
		t.Fatal(err)
	}
	trickle.Close()
	if status := <-slowOne; status != http.StatusOK {
		t.Errorf("the slow one: %d", status)
	}
	whole := r.api.Store
	r.api.Store = broken{r.store, nil} // panics
	status, answer := r.post(wire.PathExchange, wire.ContentType, p.text(p.request(2)), p.bearer())
	r.want("a fault", wire.Internal, status, answer)
	r.api.Store = whole
	if reply, _ := p.send(p.request(2)); reply.Ack.N != 1 {
		t.Errorf("after a fault: %+v", reply)
	}
}

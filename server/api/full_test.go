package api

import (
	"net/http"
	"testing"

	"unsling/server/ledger"
	"unsling/sync/wire"
)

// A disk that is nearly full: the phone is told to wait and keeps its record,
// still hears from the clinic, and delivers when there is room again.
func TestDiskNearlyFull(t *testing.T) {
	r := newRig(t)
	p := r.enrolled()
	p.write("one")
	p.send(p.request(1, p.lines...))
	p.write("two")
	r.api.SetReady(true)
	r.store.SetRoom(ledger.Little)
	r.api.SetFull(true)
	status, body := r.post(wire.PathExchange, wire.ContentType, p.text(p.request(2, p.lines[1])), p.bearer())
	r.want("a record with little room", wire.Unavailable, status, body)
	if reply, _ := p.send(p.request(2)); reply.Ack.N != 1 {
		t.Errorf("nothing to take in: %+v", reply)
	}
	status, body = r.get("/readyz")
	r.want("readiness", wire.Unavailable, status, body)
	if status, _ := r.get("/healthz"); status != http.StatusOK {
		t.Errorf("health: %d", status)
	}
	r.store.SetRoom(ledger.None)
	status, body = r.post(wire.PathExchange, wire.ContentType, p.text(p.request(2)), p.bearer())
	r.want("anything with no room", wire.Unavailable, status, body)
	r.store.SetRoom(ledger.Plenty)
	r.api.SetFull(false)
	if reply, _ := p.send(p.request(2, p.lines[1])); reply.Ack.N != 2 {
		t.Errorf("with room again: %+v", reply)
	}
	if status, body := r.get("/readyz"); status != http.StatusOK {
		t.Errorf("ready again: %d %s", status, body)
	}
}

// What happens is counted by kind, never by who.
func TestCounts(t *testing.T) {
	r := newRig(t)
	got := map[string]int{}
	r.api.Count = func(what, kind string, n int) { got[what+" "+kind] += n }
	p := r.enrolled()
	p.write("one")
	p.write("two")
	p.send(p.request(1, p.lines...))
	p.send(p.request(1, p.lines...))
	p.send(p.request(3, []byte("not a record")))
	r.post(wire.PathExchange, wire.ContentType, p.text(p.request(9)), nil)
	want := map[string]int{"record stored": 2, "record known": 2, "record aside": 1, "record sent": 6, "refusal unauthorized": 1}
	for k, n := range want {
		if got[k] != n {
			t.Errorf("%s: %d, want %d", k, got[k], n)
		}
	}
	if len(got) != len(want) {
		t.Errorf("counted %v", got)
	}
}

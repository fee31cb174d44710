package api

import (
	"net/http"
	"testing"

	"unsling/server/ledger"
	"unsling/sync/wire"
)

// A copy that was revoked may not become a device of its own and sends its
// fork again and again: it is kept apart once, the audit log does not grow by
// it, and what is not a fork is sealed.
func TestRevokedCopyIsKeptApartOnce(t *testing.T) {
	r := newRig(t)
	p := r.enrolled()
	p.write("together")
	p.send(p.request(1, p.lines...))
	copied := &phone{r: r, keys: p.keys, id: p.id, token: p.token, lines: append([][]byte(nil), p.lines...)}
	p.write("of the one")
	p.send(p.request(2, p.lines[1]))
	if err := r.store.RevokeAuthor(p.id.Author, ledger.Trail{At: noon, Actor: "vega"}); err != nil {
		t.Fatal(err)
	}
	copied.signIn()
	copied.write("of the other")
	health, err := r.store.Health()
	if err != nil {
		t.Fatal(err)
	}
	for range 5 {
		status, body := r.post(wire.PathExchange, wire.ContentType, copied.text(copied.request(2, copied.lines[1])), copied.bearer())
		r.want("the fork of a revoked copy", wire.Fork, status, body)
	}
	aside, err := r.store.Quarantine("p1")
	if err != nil || len(aside) != 1 {
		t.Errorf("set aside %d times, %v", len(aside), err)
	}
	if after, err := r.store.Health(); err != nil || after.Audit != health.Audit {
		t.Errorf("the audit log grew from %d to %d, %v", health.Audit, after.Audit, err)
	}
	status, body := r.post(wire.PathDevices, "application/json", []byte(`{}`), http.Header{"Authorization": copied.bearer()["Authorization"]})
	if status == http.StatusCreated {
		t.Errorf("a revoked copy became a device: %s", body)
	}
	// Asked for nothing but how it stands, it hears that it was revoked.
	if reply, lines := copied.send(copied.request(1)); reply.State != wire.Revoked || len(lines) != 0 || reply.Ack.N != 2 {
		t.Errorf("it does not hear of it: %+v", reply)
	}
}

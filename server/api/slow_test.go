package api

import (
	"bytes"
	"io"
	"net/http"
	"testing"
	"time"

	"unsling/sync/wire"
)

// A body that comes drop by drop holds up nobody else, and when it breaks off
// nothing of it was stored.
func TestSlowBodyHoldsUpNobody(t *testing.T) {
	r := newRig(t)
	slow, quick := r.enrolled(), r.enrolled()
	slow.write("slow")
	quick.write("quick")
	text := slow.text(slow.request(1, slow.lines...))
	out, in := io.Pipe()
	req, err := http.NewRequest(http.MethodPost, r.url+wire.PathExchange, out)
	if err != nil {
		t.Fatal(err)
	}
	req.Header = slow.bearer()
	req.Header.Set("Content-Type", wire.ContentType)
	ended := make(chan error, 1)
	go func() {
		res, err := http.DefaultClient.Do(req)
		if err == nil {
			res.Body.Close()
		}
		ended <- err
	}()
	if _, err := in.Write(text[:len(text)/2]); err != nil { // returns when the server has read it
		t.Fatal(err)
	}
	done := make(chan wire.Reply, 1)
	go func() {
		reply, _ := quick.send(quick.request(1, quick.lines...))
		done <- reply
	}()
	select {
	case reply := <-done:
		if reply.Ack.N != 1 {
			t.Errorf("the other phone: %+v", reply)
		}
	case <-time.After(2 * time.Minute):
		t.Fatal("the other phone waits for the slow one")
	}
	in.CloseWithError(io.ErrUnexpectedEOF)
	<-ended
	lines, err := r.store.Read("p1", 1, 0)
	if err != nil || len(lines) != 1 || !bytes.Equal(lines[0].Bytes, quick.lines[0]) {
		t.Errorf("%d lines: %v", len(lines), err)
	}
	if reply, _ := slow.send(slow.request(1, slow.lines...)); reply.Ack.N != 1 {
		t.Errorf("sent again at once: %+v", reply)
	}
}

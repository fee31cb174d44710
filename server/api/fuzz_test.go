package api

import (
	"bytes"
	"compress/gzip"
	"context"
	crand "crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"runtime"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/server/ledger/badgerstore"
	"unsling/sync/wire"
)

// arena is a server as every hostile request finds it: a phone "attacker" and
// a phone "honest" of one patient, a phone "victim" of another, two lines of
// each. Names and lines are always the same, so that an input means the same
// on every machine.
type arena struct {
	t       testing.TB
	store   *badgerstore.Store
	handler http.Handler
	tokens  *access.Tokens
}

const victimWord = "word-of-the-other-patient"

func chainFor(author rom.Author, n int64, prev wire.Mark, text string) []byte {
	line, err := wire.Encode(wire.Record{Author: author, N: n, Prev: prev.Prev(), Salt: wire.Salt([16]byte{byte(n), 7}), Kind: wire.KindQuestion, V: 1,
		Run: "r", Mono: n, At: noon, TZ: "UTC", Body: fmt.Appendf(nil, `{"episode":"e1","text":%q}`, text)})
	if err != nil {
		panic(err)
	}
	return line
}

func markOf(line []byte, n int64) wire.Mark { return wire.Mark{N: n, Hash: wire.HashOf(line)} }

// two are the first two lines of an author.
func two(author rom.Author, text string) [][]byte {
	first := chainFor(author, 1, wire.Mark{}, text)
	return [][]byte{first, chainFor(author, 2, markOf(first, 1), text)}
}

func newArena(t testing.TB, ring access.Keyring) *arena {
	store, err := badgerstore.OpenMemory(badgerstore.Options{Content: ring.Content, ClinicMAC: ring.ClinicMAC, Fold: linesFold, Chance: crand.Reader, Started: noon})
	if err != nil {
		t.Fatal(err)
	}
	trail := ledger.Trail{At: noon, Actor: "vega"}
	err = errors.Join(
		store.SetClinic(ledger.Clinic{Name: "Invented practice", Phone: "555 0100", Zone: "UTC"}, trail),
		store.AddStaff(ledger.Staff{ID: "vega", Login: "vega", Role: ledger.Surgeon}, trail),
		store.CreatePatient(ledger.Patient{ID: "p1"}, []rom.StaffID{"vega"}, nil, trail),
		store.CreatePatient(ledger.Patient{ID: "p2"}, []rom.StaffID{"vega"}, nil, trail))
	for i, row := range []struct {
		author  rom.Author
		patient rom.PatientID
		text    string
	}{{"attacker", "p1", "mine"}, {"honest", "p1", "ours"}, {"victim", "p2", victimWord}} {
		secret := fmt.Sprint("s", i)
		err = errors.Join(err, store.Invite(ledger.Invitation{ID: secret, Patient: row.patient, Secrets: []string{secret}, Until: noon.Add(time.Hour)}, trail))
		_, enrolled := store.Enrol(ledger.Enrolment{Secret: secret, Author: row.author, Thumbprint: string(row.author), At: noon}, trail)
		_, sent := store.Exchange(ledger.ExchangeRequest{Author: row.author, At: noon, MaxLines: wire.MaxLines, MaxBytes: wire.MaxRecords,
			Request: wire.Request{Header: wire.Header{Proto: 1, Author: row.author, From: 1}, Lines: two(row.author, row.text)}})
		err = errors.Join(err, enrolled, sent)
	}
	if err != nil {
		t.Fatal(err)
	}
	a := &API{Store: store, Ring: ring, Public: "http://localhost", Now: func() time.Time { return noon }, Chance: crand.Reader, Log: slog.New(slog.DiscardHandler)}
	a.Tokens = &access.Tokens{Issuer: a.Public, Keys: ring.Signing}
	return &arena{t: t, store: store, handler: a.Handler(), tokens: a.Tokens}
}

// ask sends one request with the author's token.
func (a *arena) ask(author rom.Author, method string, h http.Header, body io.Reader) *httptest.ResponseRecorder {
	token, err := a.tokens.IssuePhone(access.Phone{Author: string(author)}, "jti-0123456789abcdef", noon)
	if err != nil {
		a.t.Fatal(err)
	}
	req := httptest.NewRequest(method, "http://localhost"+wire.PathExchange, body)
	for name, v := range h {
		req.Header[name] = v
	}
	req.Header.Set("Authorization", "Bearer "+token)
	w := httptest.NewRecorder()
	a.handler.ServeHTTP(w, req)
	return w
}

// send is an honest exchange.
func (a *arena) send(req wire.Request) (wire.Reply, []wire.LogLine, error) {
	var b bytes.Buffer
	if err := wire.WriteRequest(&b, req); err != nil {
		return wire.Reply{}, nil, err
	}
	w := a.ask(req.Header.Author, http.MethodPost, http.Header{"Content-Type": {wire.ContentType}}, &b)
	if w.Code != http.StatusOK {
		return wire.Reply{}, nil, fmt.Errorf("answered %d %s", w.Code, w.Body)
	}
	return wire.ReadReply(w.Body)
}

// hostile is one request as the fuzzer makes it: form says how it is packed
// and headed, and its last byte is repeated so often, 256 times each.
func hostile(form uint8, repeat uint16, body []byte) (string, http.Header, []byte) {
	if len(body) > 0 {
		body = append(bytes.Clone(body), bytes.Repeat(body[len(body)-1:], int(repeat)<<8)...)
	}
	h, method := http.Header{}, http.MethodPost
	switch form & 3 {
	case 1:
		body = pack(body)
		h.Set("Content-Encoding", "gzip")
	case 2:
		h.Set("Content-Encoding", "gzip") // a lie
	case 3:
		h.Set("Content-Encoding", "br")
	}
	if form&4 != 0 {
		h.Set("Accept-Encoding", "gzip;q=0.5, *")
	}
	switch form >> 3 & 3 {
	case 0:
		h.Set("Content-Type", wire.ContentType)
	case 1:
		h.Set("Content-Type", wire.ContentType+"; charset=utf-8")
	case 2:
		h.Set("Content-Type", "application/json")
	}
	if form&32 != 0 {
		method = http.MethodPut
	}
	return method, h, body
}

// mostMemory is what one request may allocate in all, whatever it sends. An
// honest one of the largest size takes about a third.
const mostMemory = 6 << 20

// standing is how far the log and the phones of p1 have come.
func (a *arena) standing() string {
	out := ""
	for _, author := range []rom.Author{"attacker", "honest"} {
		row, err := a.store.Author(author)
		if err != nil {
			a.t.Fatal(err)
		}
		out += fmt.Sprint(row.Mark)
	}
	lines, err := a.store.Read("p1", 1, 0)
	aside, err2 := a.store.Quarantine("p1")
	about, err3 := a.store.About()
	if err := errors.Join(err, err2, err3); err != nil {
		a.t.Fatal(err)
	}
	return fmt.Sprint(out, len(lines), len(aside), about.Epoch)
}

// try makes one hostile request, and asserts what must hold after any. It
// reports whether the request changed anything.
func (a *arena) try(form uint8, repeat uint16, body []byte) (changed bool) {
	t := a.t
	stood := a.standing()
	method, h, packed := hostile(form, repeat, body)
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	w := a.ask("attacker", method, h, bytes.NewReader(packed))
	runtime.ReadMemStats(&after)
	if used := after.TotalAlloc - before.TotalAlloc; used > mostMemory {
		t.Errorf("a request of %d bytes made the server allocate %d", len(packed), used)
	}

	answer := w.Body.Bytes()
	if w.Header().Get("Content-Encoding") == "gzip" {
		z, err := gzip.NewReader(bytes.NewReader(answer))
		if err != nil {
			t.Fatalf("answer does not unpack: %v", err)
		}
		if answer, err = io.ReadAll(z); err != nil {
			t.Fatalf("answer does not unpack: %v", err)
		}
	}
	switch {
	case w.Code >= 500 && w.Code != wire.TooNew.Status():
		t.Fatalf("answered %d %s", w.Code, answer)
	case w.Code == http.StatusOK:
		reply, lines, err := wire.ReadReply(bytes.NewReader(answer))
		if err != nil {
			t.Fatalf("answer is none: %v", err)
		}
		for _, l := range lines {
			if rec, err := wire.Decode(l.Bytes); err != nil || rec.Author != "attacker" && rec.Author != "honest" {
				t.Errorf("was given %.200s: %v", l.Bytes, err)
			}
		}
		if reply.Ack.N < 2 {
			t.Errorf("the mark fell: %+v", reply)
		}
	default:
		var e wire.Error
		if err := json.Unmarshal(answer, &e); err != nil || !e.Code.Known() || e.Code.Status() != w.Code || e.Message != e.Code.Sentence() {
			t.Errorf("answered %d %s", w.Code, answer)
		}
	}
	if bytes.Contains(answer, []byte(victimWord)) || bytes.Contains(answer, []byte("victim")) {
		t.Errorf("another patient's data: %.300s", answer)
	}
	a.checkLogs(packed)
	if w.Code != http.StatusOK && a.standing() == stood {
		return false
	}
	a.checkQueues()
	return true
}

// checkLogs: the other patient's log is as it was, and what is new in this
// one are lines of the request, whole.
func (a *arena) checkLogs(body []byte) {
	t := a.t
	if z, err := gzip.NewReader(bytes.NewReader(body)); err == nil {
		text, _ := io.ReadAll(io.LimitReader(z, 1<<20))
		body = append(bytes.Clone(body), text...)
	}
	lines, err := a.store.Read("p2", 1, 0)
	if want := two("victim", victimWord); err != nil || len(lines) != 2 || !bytes.Equal(lines[0].Bytes, want[0]) || !bytes.Equal(lines[1].Bytes, want[1]) {
		t.Fatalf("the other patient's log changed: %d lines, %v", len(lines), err)
	}
	lines, err = a.store.Read("p1", 1, 0)
	if err != nil || len(lines) < 4 {
		t.Fatalf("log: %d lines, %v", len(lines), err)
	}
	n := int64(2)
	for i, l := range lines[4:] {
		if n++; l.Author != "attacker" || l.Seq != int64(5+i) || !bytes.Contains(body, l.Bytes) {
			t.Errorf("line %d, %d of %s, was not sent", l.Seq, l.N, l.Author)
		}
		if rec, err := wire.Decode(l.Bytes); err != nil || rec.Ref() != (rom.Ref{Author: "attacker", N: l.N}) {
			t.Errorf("line %d is no record of its author: %v", l.Seq, err)
		}
	}
}

// checkQueues: the phone that sent it goes on from the mark, and so does the
// other one.
func (a *arena) checkQueues() {
	t := a.t
	for _, author := range []rom.Author{"attacker", "honest"} {
		ask := wire.Header{Proto: wire.Proto, Author: author, From: 1}
		now, _, err := a.send(wire.Request{Header: ask})
		if err != nil {
			t.Fatalf("%s asks how it stands: %v", author, err)
		}
		n := now.Ack.N + 1
		next := chainFor(author, n, now.Ack, "goes on")
		ask.From, ask.Prev = n, now.Ack.Hash
		reply, _, err := a.send(wire.Request{Header: ask, Lines: [][]byte{next}})
		if err != nil || reply.Ack != markOf(next, n) {
			t.Fatalf("%s cannot go on after %+v: %+v %v", author, now.Ack, reply, err)
		}
	}
}

// FuzzExchange sends whatever the fuzzer thinks of to the whole endpoint. It
// never dies, never takes more memory than it may, never shows or changes
// another patient's data, and never blocks a queue.
func FuzzExchange(f *testing.F) {
	ring := testRing()
	for _, c := range attacks() {
		f.Add(c.form, c.repeat, c.body)
	}
	var a *arena // that of the input before, if it changed nothing
	f.Fuzz(func(t *testing.T, form uint8, repeat uint16, body []byte) {
		if a == nil {
			a = newArena(t, ring)
		}
		a.t = t
		if a.try(form, repeat, body) || t.Failed() {
			a.store.Close()
			a = nil
		}
	})
}

// TestAttacks plays the list by name, each to its expected code, and looks
// through the whole store in the end.
func TestAttacks(t *testing.T) {
	ring := testRing()
	for _, c := range attacks() {
		t.Run(c.name, func(t *testing.T) {
			a := newArena(t, ring)
			defer a.store.Close()
			method, h, body := hostile(c.form, c.repeat, c.body)
			w := a.ask("attacker", method, h, bytes.NewReader(body))
			var e wire.Error
			_ = json.Unmarshal(w.Body.Bytes(), &e)
			if e.Code != c.want || c.want == "" && w.Code != http.StatusOK {
				t.Errorf("answered %d %q, want %q", w.Code, e.Code, c.want)
			}
			a.checkLogs(body)
			a.checkQueues()
			if rep, err := a.store.Verify(context.Background()); err != nil || len(rep.Faults) != 0 {
				t.Errorf("verify: %+v %v", rep.Faults, err)
			}
		})
	}
}

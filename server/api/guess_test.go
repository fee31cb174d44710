package api

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// enrolFrom enrols from an address of its own.
func (p *phone) enrolFrom(address, code, pin string) (int, []byte) {
	m := p.enrolBody(code)
	if pin != "" {
		m["pin"] = pin
	}
	body, _ := json.Marshal(m)
	req := httptest.NewRequest(http.MethodPost, wire.PathEnrol, bytes.NewReader(body))
	req.Header.Set("Content-Type", "application/json")
	req.RemoteAddr = address + ":1"
	w := httptest.NewRecorder()
	p.r.handler().ServeHTTP(w, req)
	return w.Code, w.Body.Bytes()
}

// Strangers with keys of their own take no place among the assertions that were used: neither of phones that are in, nor
// of those that come.
func TestStrangersTakeNoPlace(t *testing.T) {
	r := newRig(t)
	known := r.enrolled()
	r.api.once, r.api.joins = access.NewOnce(1), access.NewOnce(1)
	for i := range 30 {
		r.newPhone().enrolFrom(fmt.Sprintf("203.0.113.%d", i), "ZZZZ-ZZZZ", "")
	}
	known.signIn()
	if status, body := r.newPhone().enrolFrom("198.51.100.1", r.invite(ledger.AtDesk, "p2").Code, ""); status != http.StatusCreated {
		t.Errorf("a patient with a good code: %d %s", status, body)
	}
	// When it is crowded all the same, that is said, and no signature is called bad.
	status, body := known.askToken(known.assertion(wire.PathToken, nil))
	r.want("no room to remember another", wire.TooMany, status, body)
}

// One phone that is in cannot take all the places either.
func TestOnePhoneTakesFewPlaces(t *testing.T) {
	r := newRig(t)
	p := r.enrolled()
	taken := 0
	for range proofsAtOnce + 20 {
		if status, _ := p.askToken(p.assertion(wire.PathToken, nil)); status == http.StatusOK {
			taken++
		}
	}
	if taken >= proofsAtOnce+1 {
		t.Errorf("%d tokens at once", taken)
	}
	r.later(time.Minute)
	p.signIn()
}

// As many guesses at once as one after the other, and none of them closes typed codes for somebody elsewhere.
func TestGuessesAtOnce(t *testing.T) {
	r := newRig(t)
	var looked atomic.Int32
	var all sync.WaitGroup
	phones := make([]*phone, 60)
	for i := range phones {
		phones[i] = r.newPhone()
	}
	for i, p := range phones {
		all.Go(func() {
			if status, body := p.enrolFrom("203.0.113.9", fmt.Sprintf("ZZZZ-ZZ%02d", i+10), ""); status != http.StatusTooManyRequests {
				looked.Add(1)
				r.want("a wrong code", wire.CodeUnknown, status, body)
			}
		})
	}
	all.Wait()
	if n := looked.Load(); n > 20 {
		t.Errorf("%d of %d wrong codes from one address were looked at", n, len(phones))
	}
	if status, body := r.newPhone().enrolFrom("198.51.100.1", r.invite(ledger.AtDesk, "p1").Code, ""); status != http.StatusCreated {
		t.Errorf("a typed code elsewhere: %d %s", status, body)
	}
}

// The number that is said aloud dies after five tries, also when they come at once.
func TestNumbersAtOnce(t *testing.T) {
	r := newRig(t)
	s := r.invite(ledger.TakeHome, "p1")
	var wrong atomic.Int32
	var all sync.WaitGroup
	for i := range 40 {
		p := r.newPhone()
		all.Go(func() {
			_, body := p.enrolFrom(fmt.Sprintf("203.0.113.%d", i), s.QR, fmt.Sprintf("%06d", i))
			if bytes.Contains(body, []byte(`"`+string(wire.WrongPIN)+`"`)) {
				wrong.Add(1)
			}
		})
	}
	all.Wait()
	row, err := r.store.Invitations("p1")
	if err != nil || row[0].Tries > ledger.MaxTries {
		t.Errorf("%+v %v", row, err)
	}
	if n := wrong.Load(); n > ledger.MaxTries {
		t.Errorf("%d wrong numbers were judged", n)
	}
}

// A phone that did not hear that it is in hears it again, though its address has guessed wrong meanwhile.
func TestEnrolAgainIsNoGuess(t *testing.T) {
	r := newRig(t)
	s := r.invite(ledger.AtDesk, "p1")
	p := r.newPhone()
	if status, body := p.enrolFrom("203.0.113.9", s.Code, ""); status != http.StatusCreated {
		t.Fatalf("%d %s", status, body)
	}
	for i := range 40 {
		r.newPhone().enrolFrom("203.0.113.9", fmt.Sprintf("ZZZZ-Z%03d", i), "")
	}
	for range 10 {
		if status, body := p.enrolFrom("203.0.113.9", s.Code, ""); status != http.StatusCreated {
			t.Fatalf("again: %d %s", status, body)
		}
	}
	status, body := p.enrolFrom("203.0.113.9", "ZZZZ-Z999", "") // another code is a guess, by whomever
	r.want("another code", wire.TooMany, status, body)
}

package main

import (
	"compress/gzip"
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"net/http/httptest"
	"sync"
	"testing"
	"time"

	"unsling/app/screen"
	"unsling/engine/rom"
	"unsling/sync/client"
	"unsling/sync/journal"
	"unsling/sync/wire"
)

// fakeKeys signs with nothing: the false server does not look.
type fakeKeys struct{}

func (fakeKeys) New(context.Context) (client.Identity, error) {
	return client.Identity{Author: me, Key: json.RawMessage(`{"kty":"EC"}`)}, nil
}
func (fakeKeys) Sign(context.Context, rom.Author, []byte) ([]byte, error) {
	return make([]byte, 64), nil
}

// falseServer takes every line in order and has one log.
type falseServer struct {
	t  *testing.T
	mu sync.Mutex
	// refuse is answered to the exchange, and to enrolling.
	refuse    wire.Code
	state     string // of an enrolment
	log       [][]byte
	mark      wire.Mark // of the phone's lines
	following []int
}

func (s *falseServer) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	s.mu.Lock()
	defer s.mu.Unlock()
	answer := func(status int, v any) {
		w.WriteHeader(status)
		if err := json.NewEncoder(w).Encode(v); err != nil {
			s.t.Error(err)
		}
	}
	now := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	switch r.URL.Path {
	case wire.PathHello:
		answer(http.StatusOK, wire.Hello{Epoch: "e", ProtoMin: 1, ProtoMax: 1, ServerTime: now, Nonce: "n"})
	case wire.PathToken:
		answer(http.StatusOK, wire.Token{AccessToken: "t", TokenType: "Bearer", ExpiresIn: 900, Scope: wire.ScopeExchange})
	case wire.PathEnrol:
		if s.refuse != "" {
			answer(s.refuse.Status(), wire.Refuse(s.refuse))
			return
		}
		answer(http.StatusCreated, wire.Enrolled{Patient: "x", State: s.state, Check: "47", Clinic: wire.Clinic{Name: "Invented Clinic", Zone: "UTC"}, Epoch: "e"})
	case wire.PathExchange:
		if s.refuse != "" {
			answer(s.refuse.Status(), wire.Refuse(s.refuse))
			return
		}
		z, err := gzip.NewReader(r.Body)
		if err != nil {
			s.t.Error(err)
			return
		}
		req, err := wire.ReadRequest(z)
		if err != nil {
			s.t.Error(err)
			return
		}
		s.following = append(s.following, req.Header.Following)
		for i, line := range req.Lines {
			if n := req.Header.From + int64(i); n == s.mark.N+1 {
				s.mark = wire.Mark{N: n, Hash: wire.HashOf(line)}
				s.log = append(s.log, line)
			}
		}
		since := req.Header.Since.Seq
		var lines []wire.LogLine
		for i := since; i < int64(len(s.log)); i++ {
			lines = append(lines, wire.LogLine{Seq: i + 1, Bytes: s.log[i], Hash: wire.HashOf(s.log[i])})
		}
		reply := wire.Reply{Epoch: "e", State: wire.Active, Ack: s.mark, Seq: since + 1, ServerTime: now}
		if n := len(s.log); n > 0 {
			reply.Head = wire.Cursor{Seq: int64(n), Hash: wire.HashOf(s.log[n-1])}
		}
		if err := wire.WriteReply(w, reply, lines); err != nil {
			s.t.Error(err)
		}
	}
}

// clinicWrites puts lines of the clinic into the log.
func (s *falseServer) clinicWrites(kind wire.Kind, body any) {
	s.mu.Lock()
	defer s.mu.Unlock()
	raw, v, err := wire.EncodeBody(kind, body)
	if err != nil {
		s.t.Fatal(err)
	}
	prev, n := wire.NoPrev, int64(1)
	for _, line := range s.log {
		if rec, err := wire.Decode(line); err == nil && rec.Author == "c-1" {
			prev, n = wire.HashOf(line), rec.N+1
		}
	}
	line, err := wire.Encode(wire.Record{Author: "c-1", N: n, Prev: prev, Salt: wire.Salt([16]byte{byte(n)}), Kind: kind, V: v,
		Run: "r", At: time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC), TZ: "UTC", Body: raw})
	if err != nil {
		s.t.Fatal(err)
	}
	s.log = append(s.log, line)
}

func phone(t *testing.T, s *falseServer) (*phoneLog, *exchanger, *httptest.Server) {
	t.Helper()
	server := httptest.NewServer(s)
	t.Cleanup(server.Close)
	l := newLog(journal.NewMem(), testParts())
	x := newExchanger(l, &client.Client{Base: server.URL, Keys: fakeKeys{}, Random: func() [16]byte { return [16]byte{} }},
		&client.Pace{Chance: func() float64 { return 0 }})
	if err := l.read(context.Background()); err != nil {
		t.Fatal(err)
	}
	return l, x, server
}

var episode = rom.Episode{ID: "ep", Version: 1, State: rom.Planned, Side: rom.Left, Procedures: []rom.Procedure{rom.CuffRepair}, By: "s"}

func plan(rev int) rom.Plan {
	return rom.Plan{Episode: "ep", Rev: rev, Base: rev - 1, State: rom.Running, By: "s", On: 1, Reason: "test",
		WakeFrom: 8 * 60, WakeTo: 21 * 60, Contact: rom.Contact{Phone: "+1 555 0100"},
		Phases: []rom.Phase{{Key: "protect", Sling: rom.SlingAlways}}}
}

func TestEnrolThenSendThenFollowThePlan(t *testing.T) {
	s := &falseServer{t: t, state: wire.Waiting}
	l, x, _ := phone(t, s)
	if err := x.Enrol("CODE", "", false); err != nil {
		t.Fatal(err)
	}
	if a := l.Facts().Account; a.State != screen.Active || a.Clinic != "Invented Clinic" {
		t.Errorf("after enrolling and an exchange that came through: %+v", a)
	}
	if _, err := l.Append("pain", pain(2)); err != nil {
		t.Fatal(err)
	}
	if err := x.Exchange(); err != nil {
		t.Fatal(err)
	}
	f := l.Facts().Sending
	if f.Acked != 1 || len(f.Unsent) != 0 || f.Busy || f.Contact.IsZero() {
		t.Errorf("after an exchange: %+v", f)
	}
	if err := x.Enrol("OTHER", "", false); err != nil { // a second tap
		t.Errorf("enrolling twice: %v", err)
	}
}

func TestRefusedCodeKeepsItsName(t *testing.T) {
	s := &falseServer{t: t, refuse: wire.CodeExpired}
	l, x, server := phone(t, s)
	var refusal *screen.Refusal
	if err := x.Enrol("CODE", "", false); !errors.As(err, &refusal) || refusal.Code != string(wire.CodeExpired) {
		t.Errorf("refused: %v", err)
	}
	server.Close()
	if err := x.Enrol("CODE", "", false); !errors.As(err, &refusal) || refusal.Code != string(wire.Unavailable) {
		t.Errorf("no answer: %v", err)
	}
	x.online = func() bool { return false }
	if err := x.Enrol("CODE", "", false); !errors.As(err, &refusal) || refusal.Code != "offline" {
		t.Errorf("no connection: %v", err)
	}
	if l.Facts().Account.State != screen.Unknown {
		t.Error("enrolled without an answer")
	}
}

func TestFailuresInWords(t *testing.T) {
	s := &falseServer{t: t, state: wire.Active}
	l, x, server := phone(t, s)
	if err := x.Enrol("CODE", "", false); err != nil {
		t.Fatal(err)
	}
	for code, want := range map[wire.Code]screen.Failure{
		wire.Unavailable: screen.FailedServer, wire.TooMany: screen.FailedServer,
		wire.UnknownDevice: screen.FailedRefused, wire.Erased: screen.FailedRefused, wire.Pending: screen.FailedNot,
	} {
		s.mu.Lock()
		s.refuse = code
		s.mu.Unlock()
		_ = x.Exchange()
		if got := l.Facts().Sending.Failed; got != want {
			t.Errorf("%s: %q, want %q", code, got, want)
		}
	}
	server.Close()
	for online, want := range map[bool]screen.Failure{true: screen.FailedServer, false: screen.FailedOffline} {
		x.online = func() bool { return online }
		if err := x.Exchange(); err == nil || l.Facts().Sending.Failed != want {
			t.Errorf("online %v, no answer: %v, %q, want %q", online, err, l.Facts().Sending.Failed, want)
		}
	}
	if l.Facts().Sending.Busy {
		t.Error("still called busy")
	}
}

func TestRunSendsSoonAfterEachRecord(t *testing.T) {
	s := &falseServer{t: t, state: wire.Active}
	l, x, _ := phone(t, s)
	if err := x.Enrol("CODE", "", false); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() { x.Run(ctx); close(done) }()
	for i := range 3 {
		if _, err := l.Append("pain", pain(i)); err != nil {
			t.Fatal(err)
		}
	}
	arrived := make(chan struct{})
	cancelSub := l.Subscribe(func() {
		if l.Facts().Sending.Acked == 3 {
			select {
			case arrived <- struct{}{}:
			default:
			}
		}
	})
	defer cancelSub()
	x.Wake()
	select {
	case <-arrived:
	case <-time.After(2 * time.Minute):
		t.Errorf("not sent: %+v", l.Facts().Sending)
	}
	cancel()
	<-done
}

func TestNewRevisionIsFollowedAndTold(t *testing.T) {
	s := &falseServer{t: t, state: wire.Active}
	l, x, _ := phone(t, s)
	s.clinicWrites(wire.KindEpisode, episode)
	s.clinicWrites(wire.KindPlan, plan(1))
	if err := x.Enrol("CODE", "", false); err != nil {
		t.Fatal(err)
	}
	f := l.Facts()
	if f.Following != 1 || len(f.History.Adoptions) != 1 {
		t.Fatalf("following %d with %d adoptions, want revision 1 adopted; unknown %v damaged %v", f.Following, len(f.History.Adoptions), f.History.Unknown, f.History.Damaged)
	}
	s.mu.Lock()
	told := s.following[len(s.following)-1]
	s.mu.Unlock()
	if told != 1 {
		t.Errorf("the clinic was told %d, want 1 at once", told)
	}
	if err := x.Exchange(); err != nil {
		t.Fatal(err)
	}
	if n := len(l.Facts().History.Adoptions); n != 1 {
		t.Errorf("%d adoptions after another exchange, want still 1", n)
	}
}

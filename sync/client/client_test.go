package client

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"unsling/engine/rom"
	"unsling/sync/journal"
	"unsling/sync/journal/journaltest"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

var ctx = context.Background()

// device is a phone with everything but a screen.
type device struct {
	*Client
	keys    *ring
	store   *journal.Mem
	writer  *journal.Writer
	syncer  *Syncer
	folder  replica.Folder
	notices []replica.Notable
}

func newDevice(c *clinic, disk *journal.Disk, name string) *device {
	d := &device{keys: &ring{}, store: disk.Open()}
	var count byte
	d.Client = &Client{Base: c.URL, HTTP: overNet(), Keys: d.keys, Random: func() [16]byte { count++; return [16]byte{count} }}
	d.writer = journaltest.NewWriter(d.store, name)
	d.syncer = &Syncer{
		Store: d.store, Server: d.Client, App: "test", Following: func() int { return 0 }, Now: d.writer.Now,
		Learned: func(lines [][]byte) {
			for _, l := range lines {
				d.folder.Add(l)
			}
		},
		Notice: func(n replica.Notable) { d.notices = append(d.notices, n) },
	}
	return d
}

func (d *device) join(t *testing.T, code string) {
	t.Helper()
	if _, err := d.Join(ctx, d.store, Invitation{Code: code, Name: "phone"}); err != nil {
		t.Fatal(err)
	}
}

func (d *device) ask(t *testing.T, text string) {
	t.Helper()
	if _, err := d.writer.Append(ctx, wire.KindQuestion, rom.Question{Episode: "e", Text: text}); err != nil {
		t.Fatal(err)
	}
}

func (d *device) sync(t *testing.T) Result {
	t.Helper()
	r, err := d.syncer.Sync(ctx)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestJoinAndSync(t *testing.T) {
	c := newClinic(t)
	d := newDevice(c, journal.NewDisk(), "run")
	if _, err := d.syncer.Sync(ctx); !errors.Is(err, journal.ErrNobody) {
		t.Errorf("before enrolment: %v", err)
	}
	if _, err := d.Join(ctx, d.store, Invitation{Code: "WRONG"}); !errors.Is(err, wire.Refuse(wire.CodeUnknown)) {
		t.Fatalf("a wrong code: %v", err)
	}
	out, err := d.Join(ctx, d.store, Invitation{Code: " ABCD2345 "})
	if err != nil || out.Check != "47" || d.keys.made != 1 {
		t.Fatalf("%+v, %v, %d keys", out, err, d.keys.made)
	}
	if _, err := d.Join(ctx, d.store, Invitation{Code: "ABCD2345"}); !errors.Is(err, ErrEnrolled) {
		t.Errorf("a second time: %v", err)
	}
	for range 3 {
		d.ask(t, "why?")
	}
	r := d.sync(t)
	if !r.Done || r.Unsent != 0 || r.State.Acked.N != 3 || r.State.Since.Seq != 3 || len(c.log) != 3 || !r.State.Contact.Equal(serverTime) {
		t.Errorf("%+v, %d lines at the clinic", r, len(c.log))
	}
	if in, err := Load(ctx, d.store); err != nil || in.Base != c.URL || in.Enrolled.Patient != "pat" {
		t.Errorf("%+v, %v", in, err)
	}
	if c.tokens != 1 {
		t.Errorf("%d tokens for one run", c.tokens)
	}
}

// The same code, id and key again after the answer was lost: one device.
func TestJoinAgainAfterNoAnswer(t *testing.T) {
	c := newClinic(t)
	d := newDevice(c, journal.NewDisk(), "run")
	c.before = func(w http.ResponseWriter, r *http.Request) bool {
		if r.URL.Path != wire.PathEnrol {
			return false
		}
		c.before = nil
		c.enrol(nowhere{http.Header{}}, r) // done, and nobody hears of it
		w.WriteHeader(http.StatusBadGateway)
		return true
	}
	if _, err := d.Join(ctx, d.store, Invitation{Code: c.code}); !errors.Is(err, ErrNoAnswer) {
		t.Fatalf("%v, want ErrNoAnswer", err)
	}
	d.join(t, c.code)
	if len(c.keys) != 1 || d.keys.made != 1 {
		t.Errorf("%d devices, %d keys", len(c.keys), d.keys.made)
	}
}

type nowhere struct{ h http.Header }

func (n nowhere) Header() http.Header         { return n.h }
func (n nowhere) Write(b []byte) (int, error) { return len(b), nil }
func (n nowhere) WriteHeader(int)             {}

// An expired token is replaced once and nothing else happens.
func TestFreshToken(t *testing.T) {
	c := newClinic(t)
	d := newDevice(c, journal.NewDisk(), "run")
	d.join(t, c.code)
	d.sync(t)
	c.token = "expired"
	d.ask(t, "still there?")
	if r := d.sync(t); !r.Done || c.tokens != 2 {
		t.Errorf("%+v after %d tokens", r, c.tokens)
	}
}

// What is no answer of the server is no answer: a portal's page, a broken
// body, an unknown address; an unknown code goes by its status.
func TestNoAnswers(t *testing.T) {
	c := newClinic(t)
	d := newDevice(c, journal.NewDisk(), "run")
	d.join(t, c.code)
	d.ask(t, "hello?")
	for name, f := range map[string]func(http.ResponseWriter){
		"portal":     func(w http.ResponseWriter) { w.Write([]byte("<html>sign in to this network</html>")) },
		"portal 403": func(w http.ResponseWriter) { w.WriteHeader(403); w.Write([]byte("<html>")) },
		"gateway":    func(w http.ResponseWriter) { w.WriteHeader(502) },
		"empty":      func(w http.ResponseWriter) { w.WriteHeader(200) },
	} {
		c.before = func(w http.ResponseWriter, r *http.Request) bool { f(w); return true }
		r, err := d.syncer.Sync(ctx)
		if !errors.Is(err, ErrNoAnswer) || r.Unsent != 1 || r.Done {
			t.Errorf("%s: %+v, %v", name, r, err)
		}
		if strings.Contains(err.Error(), c.URL) {
			t.Errorf("%s: the error tells the address", name)
		}
	}
	for status, want := range map[int]wire.Code{429: wire.TooMany, 503: wire.Unavailable, 403: wire.Forbidden} {
		c.before = func(w http.ResponseWriter, r *http.Request) bool {
			answer(w, status, wire.Error{Code: "of_a_newer_server"})
			return true
		}
		if r, err := d.syncer.Sync(ctx); err != nil || r.Code != want {
			t.Errorf("status %d: %q, %v; want %q", status, r.Code, err, want)
		}
	}
	c.before = nil
	if r := d.sync(t); !r.Done || r.Unsent != 0 {
		t.Errorf("when the server is back: %+v", r)
	}
}

// The answer lost after the server stored: the record is there once.
func TestAnswerLost(t *testing.T) {
	c := newClinic(t)
	d := newDevice(c, journal.NewDisk(), "run")
	d.join(t, c.code)
	d.ask(t, "once")
	c.before = func(w http.ResponseWriter, r *http.Request) bool {
		if r.URL.Path != wire.PathExchange {
			return false
		}
		c.before = nil
		c.exchange(nowhere{http.Header{}}, r)
		w.WriteHeader(504)
		return true
	}
	if _, err := d.syncer.Sync(ctx); !errors.Is(err, ErrNoAnswer) {
		t.Fatal(err)
	}
	if r := d.sync(t); !r.Done || len(c.log) != 1 {
		t.Errorf("%+v, %d lines at the clinic", r, len(c.log))
	}
}

// Something in between lets only small requests pass: the phone halves.
func TestTooBig(t *testing.T) {
	c := newClinic(t)
	d := newDevice(c, journal.NewDisk(), "run")
	d.join(t, c.code)
	for range 40 {
		d.ask(t, strings.Repeat("long ", 100))
	}
	refused := 0
	c.before = func(w http.ResponseWriter, r *http.Request) bool {
		if r.URL.Path == wire.PathExchange && r.ContentLength > 1200 {
			refused++
			w.WriteHeader(http.StatusRequestEntityTooLarge)
			return true
		}
		return false
	}
	if r := d.sync(t); !r.Done || len(c.log) != 40 || refused == 0 {
		t.Errorf("%+v, %d lines, %d refusals", r, len(c.log), refused)
	}
}

// Rule 12 end to end: of two copies the second becomes a device of its own,
// and nothing is lost or counted twice.
func TestCopyBecomesADevice(t *testing.T) {
	c := newClinic(t)
	disk := journal.NewDisk()
	one := newDevice(c, disk, "one")
	one.join(t, c.code)
	one.ask(t, "before")
	one.sync(t)
	two := newDevice(c, disk.Copy(), "two")
	two.keys.keys, two.keys.made = one.keys.keys, 10
	one.ask(t, "of the first")
	two.ask(t, "of the second")
	one.sync(t)
	if r := two.sync(t); !r.Done || r.State.Author != "p-11" || !slices.Contains(two.notices, replica.NowOther) {
		t.Fatalf("%+v, %v", r, two.notices)
	}
	two.ask(t, "afterwards")
	two.sync(t)
	one.sync(t)
	if n := len(replica.Fold(c.log...).Questions); n != 4 {
		t.Errorf("%d questions at the clinic, want 4", n)
	}
	for _, d := range []*device{one, two} {
		f, err := journal.Fold(ctx, d.store)
		if err != nil || len(f.History().Questions) != 4 {
			t.Errorf("%d questions on a phone (%v)", len(f.History().Questions), err)
		}
	}
}

// Rule 8: a revoked phone sends, is acknowledged, learns it, and gets nothing.
func TestRevoked(t *testing.T) {
	c := newClinic(t)
	d := newDevice(c, journal.NewDisk(), "run")
	d.join(t, c.code)
	d.sync(t)
	c.states["p-1"] = wire.Revoked
	d.ask(t, "am I still in?")
	r := d.sync(t)
	if !r.Done || !r.State.Revoked || r.Unsent != 0 || !slices.Contains(d.notices, replica.NowRevoked) {
		t.Errorf("%+v, %v", r, d.notices)
	}
}

func TestCancelled(t *testing.T) {
	c := newClinic(t)
	d := newDevice(c, journal.NewDisk(), "run")
	d.join(t, c.code)
	gone, cancel := context.WithCancel(ctx)
	cancel()
	if _, err := d.syncer.Sync(gone); !errors.Is(err, context.Canceled) {
		t.Errorf("%v, want context.Canceled", err)
	}
}

func TestPace(t *testing.T) {
	p := &Pace{Chance: func() float64 { return 0 }}
	done := Result{Done: true}
	for _, c := range []struct {
		r    Result
		err  error
		want time.Duration
	}{
		{done, nil, Idle},
		{Result{}, ErrNoAnswer, Soonest},
		{Result{}, ErrNoAnswer, 2 * Soonest},
		{Result{Code: wire.Unavailable}, nil, 4 * Soonest},
		{Result{Code: wire.Pending}, nil, 15 * time.Second},
		{Result{Code: wire.UnknownDevice}, nil, Patient},
		{done, nil, Idle},
		{Result{}, ErrNoAnswer, Soonest},
		{Result{}, nil, Soonest},
	} {
		if got := p.Next(c.r, c.err); got != c.want {
			t.Errorf("after %+v, %v: %v, want %v", c.r, c.err, got, c.want)
		}
	}
	for range 30 {
		if d := p.Next(Result{}, ErrNoAnswer); d > Longest {
			t.Fatalf("waits %v", d)
		}
	}
	p.Chance = func() float64 { return 0.999 }
	if d := p.Next(Result{}, ErrNoAnswer); d < Longest/2 || d > Longest*51/100 {
		t.Errorf("with chance at its highest: %v", d)
	}
}

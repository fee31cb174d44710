package api

import (
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"mime"
	"net/http"
	"sync"
	"sync/atomic"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// Store is the part of the ledger that phones need.
type Store interface {
	Clinic() (ledger.Clinic, error)
	About() (ledger.About, error)
	Health() (ledger.Health, error)
	Author(rom.Author) (ledger.Author, error)
	Invitations(rom.PatientID) ([]ledger.Invitation, error)
	Enrol(ledger.Enrolment, ledger.Trail) (ledger.Author, error)
	Register(old rom.Author, e ledger.Enrolment, trail ledger.Trail) (ledger.Author, error)
	RevokeAuthor(rom.Author, ledger.Trail) error
	Exchange(ledger.ExchangeRequest) (ledger.ExchangeReply, error)
}

// API answers the phones. All fields are needed; it must not be copied after
// Handler was called.
type API struct {
	Store  Store
	Tokens *access.Tokens
	Ring   access.Keyring
	Public string // address at which phones reach this server, without a slash at the end
	Now    func() time.Time
	Chance io.Reader
	Log    *slog.Logger
	// Count is told what happened, for the operator's numbers: "record" with
	// stored, known, aside, returned, sealed or sent, and "refusal" with a
	// code. May be nil.
	Count func(what, kind string, n int)

	ready  atomic.Bool
	full   atomic.Bool
	health health

	nonces  *access.Nonces
	once    *access.Once    // used assertions of phones that are in
	joins   *access.Once    // and of those that were just let in
	codes   *access.Gate    // guesses at invitations
	proofs  *access.Backoff // wrong signatures of one phone; nobody can guess one
	proving *access.Limiter // assertions of one phone that is in
	pace    *access.Limiter // exchanges of one phone
	chance  sync.Mutex      // guards Chance

	work     chan struct{} // one in it for each exchange at work
	patience time.Duration
}

// Bounds of memory and pace. A phone needs one exchange in minutes; after
// months without signal it may need hundreds at once.
const (
	assertionsKept  = 100_000
	joinsKept       = 10_000
	proofsAtOnce    = 60 // a phone needs one token in a quarter of an hour
	proofEvery      = 5 * time.Second
	exchangesAtOnce = 2000
	exchangeEvery   = 100 * time.Millisecond
	phonesPaced     = 50_000
)

// SetReady says whether the server takes part; /readyz tells a balancer.
func (a *API) SetReady(ready bool) { a.ready.Store(ready) }

// SetFull says that the disk is nearly full: /readyz says no.
func (a *API) SetFull(full bool) { a.full.Store(full) }

func (a *API) count(what, kind string, n int) {
	if a.Count != nil && n > 0 {
		a.Count(what, kind, n)
	}
}

// Handler returns the door for phones. It panics if there is no chance to
// draw from.
func (a *API) Handler() http.Handler {
	var err error
	if a.nonces, err = access.NewNonces(a.Chance); err != nil {
		panic(err)
	}
	a.once, a.joins = access.NewOnce(assertionsKept), access.NewOnce(joinsKept)
	a.proving = access.NewLimiter(proofEvery, proofsAtOnce, phonesPaced)
	a.codes = access.NewGate()
	a.proofs = access.NewBackoff(20, time.Second, time.Minute, phonesPaced)
	a.pace = access.NewLimiter(exchangeEvery, exchangesAtOnce, phonesPaced)
	a.work, a.patience = make(chan struct{}, exchangesAtWork), patience

	mux := http.NewServeMux()
	for _, r := range []struct {
		method, path, body string
		serve              func(*call) error
	}{
		{http.MethodGet, wire.PathHello, "", a.hello},
		{http.MethodPost, wire.PathEnrol, "application/json", a.enrol},
		{http.MethodPost, wire.PathDevices, "application/json", a.devices},
		{http.MethodPost, wire.PathLeave, "application/json", a.leave},
		{http.MethodPost, wire.PathToken, "application/x-www-form-urlencoded", a.token},
		{http.MethodPost, wire.PathExchange, wire.ContentType, a.exchange},
		{http.MethodGet, "/healthz", "", a.healthz},
		{http.MethodGet, "/readyz", "", a.readyz},
		{http.MethodGet, "/.well-known/jwks.json", "", a.jwks},
	} {
		mux.Handle(r.path, a.route(r.method, r.path, r.body, r.serve))
	}
	mux.Handle("/", a.route("", "unknown", "", func(*call) error { return wire.Refuse(wire.NotFound) }))
	guard := http.NewCrossOriginProtection()
	guard.SetDenyHandler(a.route("", "cross-origin", "", func(*call) error { return wire.Refuse(wire.Forbidden) }))
	return guard.Handler(mux)
}

// call is one request under way.
type call struct {
	w      http.ResponseWriter
	r      *http.Request
	now    time.Time // the one instant of this request
	id     string
	author rom.Author // for the log, once it is known
	status int
	note   string // code or what happened, for the log
}

// route wraps a handler with what holds for all of them.
func (a *API) route(method, name, body string, serve func(*call) error) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		c := &call{w: w, r: r, now: a.Now(), status: http.StatusOK}
		defer a.finish(c, name)
		h := w.Header()
		h.Set("Cache-Control", "no-store")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'")
		h.Set("Referrer-Policy", "no-referrer")
		var err error
		if c.id, err = a.random(9); err == nil {
			err = c.checkForm(method, body)
		}
		if err == nil {
			err = serve(c)
		}
		if err != nil {
			a.refuse(c, err)
		}
	})
}

func (c *call) checkForm(method, body string) error {
	if method != "" && c.r.Method != method && (method != http.MethodGet || c.r.Method != http.MethodHead) {
		c.w.Header().Set("Allow", method)
		return wire.Refuse(wire.BadMethod)
	}
	if body == "" {
		return nil
	}
	kind, _, err := mime.ParseMediaType(c.r.Header.Get("Content-Type"))
	if err != nil || kind != body {
		return wire.Refuse(wire.BadType)
	}
	return nil
}

// finish survives a fault of a handler and writes the log.
func (a *API) finish(c *call, name string) {
	if fault := recover(); fault != nil {
		if fault == http.ErrAbortHandler {
			panic(fault)
		}
		a.Log.Error("fault while answering", "route", name, "request", c.id, "fault", fmt.Sprint(fault))
		a.refuse(c, wire.Refuse(wire.Internal))
	}
	level := slog.LevelInfo
	if c.status >= 500 {
		level = slog.LevelWarn
	}
	a.Log.Log(c.r.Context(), level, "answered", "route", name, "status", c.status, "note", c.note,
		"request", c.id, "author", string(c.author), "ms", a.Now().Sub(c.now).Milliseconds())
}

// random returns bytes of chance as text.
func (a *API) random(n int) (string, error) {
	raw := make([]byte, n)
	if err := a.draw(raw); err != nil {
		return "", err
	}
	return base64.RawURLEncoding.EncodeToString(raw), nil
}

func (a *API) draw(into []byte) error {
	a.chance.Lock()
	defer a.chance.Unlock()
	if _, err := io.ReadFull(a.Chance, into); err != nil {
		return fmt.Errorf("draw from chance: %w", err)
	}
	return nil
}

// drawn makes a function of an io.Reader out of draw.
type drawn struct{ a *API }

func (d drawn) Read(b []byte) (int, error) { return len(b), d.a.draw(b) }

func (c *call) trail(actor rom.Author) ledger.Trail {
	return ledger.Trail{At: c.now, Actor: string(actor), Request: c.id}
}

// answer writes one JSON object.
func (c *call) answer(status int, m any) error {
	text, err := json.Marshal(m)
	if err != nil {
		return fmt.Errorf("write answer: %w", err)
	}
	c.w.Header().Set("Content-Type", "application/json")
	c.status = status
	c.w.WriteHeader(status)
	_, _ = c.w.Write(append(text, '\n')) // the phone asks again if it does not arrive
	return nil
}

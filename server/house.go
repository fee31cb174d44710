package main

import (
	"bytes"
	"crypto/rand"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/url"
	"path/filepath"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/api"
	"unsling/server/clinic"
	"unsling/server/fhirapi"
	"unsling/server/ledger"
	"unsling/server/ledger/badgerstore"
	"unsling/server/web"
	"unsling/sync/replica"
)

// house is everything that runs behind one data folder.
type house struct {
	store   *badgerstore.Store
	ring    access.Keyring
	tokens  *access.Tokens
	words   *access.Passwords
	desk    *clinic.Desk
	site    *web.Site
	log     *slog.Logger
	public  string
	now     func() time.Time
	chance  io.Reader
	handler http.Handler
	api     *api.API
}

// settings are what a house needs to stand.
type settings struct {
	data   string // folder; its subfolders are store and keys
	public string // address at which phones and browsers reach it
	log    *slog.Logger
	now    func() time.Time
	chance io.Reader
}

// open builds a house. The caller closes it.
func open(s settings) (*house, error) {
	if s.now == nil {
		s.now = time.Now
	}
	if s.chance == nil {
		s.chance = rand.Reader
	}
	h := &house{log: s.log, public: s.public, now: s.now, chance: s.chance}
	var err error
	if err := tighten(s.data); err != nil {
		return nil, fmt.Errorf("make the data folder private: %w", err)
	}
	if h.ring, err = access.OpenKeyring(filepath.Join(s.data, "keys"), s.chance, s.now()); err != nil {
		return nil, err
	}
	if h.store, err = openStore(badgerstore.Open, s.data, h.ring, s.now(), s.chance); err != nil {
		return nil, err
	}
	if h.words, err = access.NewPasswords(s.chance); err != nil {
		return nil, err
	}
	if h.site, err = web.Load(); err != nil {
		return nil, err
	}
	h.tokens = &access.Tokens{Issuer: s.public, Keys: h.ring.Signing}
	gate := access.NewGate()
	h.desk = &clinic.Desk{
		Store: h.store, Tokens: h.tokens, Passwords: h.words, Gate: gate, Cookies: access.Cookies{Plain: plainLoopback(s.public)},
		Codes: h.ring.Codes, Secrets: h.ring.StaffKey(), AuditKey: h.ring.AuditKey().Public(), PublicURL: s.public, History: history, Now: s.now, Chance: s.chance, Log: s.log,
		MoreTime: func(w http.ResponseWriter) {
			_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(writeLimit)) // a writer without one has no limit
		},
	}
	h.api = &api.API{
		Store: h.store, Tokens: h.tokens, Ring: h.ring, Now: s.now, Chance: s.chance, Log: s.log, Public: s.public,
	}
	mux := http.NewServeMux()
	mux.Handle("/clinic/", h.desk.Handler())
	mux.Handle("/clinic", http.RedirectHandler("/clinic/", http.StatusMovedPermanently))
	interfaces := h.api.Handler()
	for _, at := range []string{"/v1/", "/healthz", "/readyz", "/.well-known/"} {
		mux.Handle(at, interfaces)
	}
	door := &fhirapi.Door{Store: h.store, Tokens: h.tokens, Public: s.public, History: history, Now: s.now, Log: s.log}
	mux.Handle("/fhir/", door.Handler())
	mux.Handle("/", h.site)
	h.handler = guarded(s.public, onlyHost(s.public, mux))
	return h, nil
}

// opener is a way to open a store: badgerstore.Open or badgerstore.Inspect.
type opener func(dir string, opt badgerstore.Options) (*badgerstore.Store, error)

func openStore(open opener, data string, ring access.Keyring, now time.Time, chance io.Reader) (*badgerstore.Store, error) {
	store, err := open(filepath.Join(data, "store"), storeOptions(ring, now, chance))
	if errors.Is(err, ledger.ErrOlder) {
		return nil, fmt.Errorf("%w; stop here and run unsling migrate --data %s, first with --dry-run", err, data)
	}
	return store, err
}

func storeOptions(ring access.Keyring, now time.Time, chance io.Reader) badgerstore.Options {
	return badgerstore.Options{
		Content: ring.Content, ClinicMAC: ring.ClinicMAC, Fold: fold, Chance: chance,
		Run: fmt.Sprint("s", now.Unix()), Started: now,
	}
}

// fold keeps as facts the lines themselves, in the order of the log and
// without those that were erased: what they say together is resolved when it
// is read, because an amendment can reach back to any line.
var fold = ledger.Fold{
	Version: replica.FoldVersion,
	Add: func(facts []byte, lines []ledger.Line) ([]byte, error) {
		for _, l := range lines {
			if !l.Erased {
				facts = append(append(facts, l.Bytes...), '\n')
			}
		}
		return facts, nil
	},
}

// history reads the facts that fold made.
func history(facts []byte) (rom.History, error) {
	var f replica.Folder
	for line := range bytes.SplitSeq(facts, []byte("\n")) {
		if len(line) > 0 {
			f.Add(line)
		}
	}
	return f.History(), nil
}

// plainLoopback reports whether browsers reach the server on this machine
// without TLS, where they refuse cookies with the __Host- prefix.
func plainLoopback(public string) bool {
	u, err := url.Parse(public)
	return err == nil && u.Scheme == "http"
}

// onlyHost sends requests for another host to the public address: passkeys,
// cookies and tokens belong to one name.
func onlyHost(public string, next http.Handler) http.Handler {
	u, err := url.Parse(public)
	if err != nil {
		return next
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Host == u.Host || r.URL.Path == "/healthz" || r.URL.Path == "/readyz" {
			next.ServeHTTP(w, r)
			return
		}
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			http.Error(w, "This server is reached at "+public+".", http.StatusMisdirectedRequest)
			return
		}
		http.Redirect(w, r, public+r.URL.RequestURI(), http.StatusTemporaryRedirect)
	})
}

// id returns 128 random bits as text.
func (h *house) id() string { return randomID(h.chance) }

func randomID(chance io.Reader) string {
	b := make([]byte, 16)
	if _, err := io.ReadFull(chance, b); err != nil {
		panic(err)
	}
	return base64.RawURLEncoding.EncodeToString(b)
}

func (h *house) close() error { return h.store.Close() }

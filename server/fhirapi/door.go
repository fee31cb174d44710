// Package fhirapi is the FHIR R4 door of the server at /fhir: read-only, for
// programs to which a member of staff gave a token. What is there stands in
// the table of resources (table.go); the routes, the CapabilityStatement and
// the crossing of the tests are made from it.
//
// Every request names its bearer (RFC 6750), never a cookie. The token's
// session and the person's row are looked up each time; the scopes (SMART App
// Launch 2.2, v2 syntax) are those of the token that the person's role still
// has; whether the person may is decided by access.Decide, on every patient,
// and every read of a patient is in the audit log before it is answered.
// Somebody outside the care team is answered as if there were no such patient.
//
// Searches are pages of one moment: a record that arrives between two pages
// can move what follows by one.
//
// # Decisions
//
//   - Programs get no token by themselves: a person makes one on a page after a fresh proof, good at /fhir only,
//     for reading, 15 minutes. The SMART configuration offers no grant, since there is none. A patient whose
//     processing is restricted is not read by programs at all.
package fhirapi

import (
	"encoding/json"
	"errors"
	"log/slog"
	"net/http"
	"strconv"
	"strings"
	"time"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/formats/fhir"
	"unsling/server/ledger"
)

// Store is the part of the ledger that the door reads.
type Store interface {
	Clinic() (ledger.Clinic, error)
	Session(string) (ledger.Session, ledger.Staff, error)
	Staff(rom.StaffID) (ledger.Staff, error)
	AllStaff() ([]ledger.Staff, error)
	Patient(rom.PatientID) (ledger.Patient, error)
	Team(rom.PatientID) ([]ledger.Member, error)
	Heads(rom.StaffID) ([]ledger.PanelRow, error)
	Facts(rom.PatientID) (ledger.Facts, error)
	Authors(rom.PatientID) ([]ledger.Author, error)
	Note(ledger.Entry) error
}

// Door answers below /fhir. All fields are needed.
type Door struct {
	Store  Store
	Tokens *access.Tokens
	Public string // address of the server, without a slash at the end
	// History reads the facts that the ledger's fold made.
	History func([]byte) (rom.History, error)
	Now     func() time.Time
	Log     *slog.Logger

	pace *access.Limiter
}

// Pace of one person's programs.
const (
	requestsAtOnce = 300
	requestEvery   = 100 * time.Millisecond
	peoplePaced    = 10_000
)

func (d *Door) base() string { return d.Public + "/fhir" }

// call is one request under way.
type call struct {
	w     http.ResponseWriter
	r     *http.Request
	door  *Door
	at    time.Time
	zone  *time.Location
	token access.StaffToken
	staff ledger.Staff
	actor access.Actor
	row   ledger.Clinic
}

// refusal is an answer other than the resource.
type refusal struct {
	status     int
	code, text string // code of the value set issue-type
}

func (r *refusal) Error() string { return r.text }

var (
	errNone   = &refusal{http.StatusNotFound, "not-found", "There is no such resource in your care."}
	errUnknow = &refusal{http.StatusNotFound, "not-found", "There is nothing at this address. What there is stands at /fhir/metadata."}
	errRead   = &refusal{http.StatusMethodNotAllowed, "not-supported", "This address only reads."}
	errToken  = &refusal{http.StatusUnauthorized, "login", "The token is missing, has run out, or is not good here."}
)

func invalid(text string) error { return &refusal{http.StatusBadRequest, "invalid", text} }

// Handler returns the door.
func (d *Door) Handler() http.Handler {
	d.pace = access.NewLimiter(requestEvery, requestsAtOnce, peoplePaced)
	mux := http.NewServeMux()
	for pattern, serve := range d.routes() {
		mux.Handle(pattern, serve)
	}
	mux.Handle("/fhir/", d.open(func(c *call) error {
		if c.r.Method != http.MethodGet && c.r.Method != http.MethodHead {
			return errRead
		}
		return errUnknow
	}))
	return mux
}

// routes are made from the table.
func (d *Door) routes() map[string]http.Handler {
	out := map[string]http.Handler{
		"GET /fhir/metadata":                        d.open(d.metadata),
		"GET /fhir/.well-known/smart-configuration": d.open(d.smart),
	}
	for _, t := range table {
		if t.read != nil {
			out["GET /fhir/"+t.kind+"/{id}"] = d.known(t.kind, 'r', t.read)
		}
		if t.search != nil {
			out["GET /fhir/"+t.kind] = d.known(t.kind, 's', func(c *call) error { return c.find(t) })
		}
	}
	return out
}

// open answers anybody.
func (d *Door) open(serve func(*call) error) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Cache-Control", "no-store")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'")
		h.Set("Referrer-Policy", "no-referrer")
		c := &call{w: w, r: r, door: d, at: d.Now(), zone: time.UTC}
		err := c.format()
		if err == nil {
			err = serve(c)
		}
		if err != nil {
			c.refuse(err)
		}
	})
}

// known asks for a token whose scopes allow act on the kind.
func (d *Door) known(kind string, act byte, serve func(*call) error) http.Handler {
	return d.open(func(c *call) error {
		if err := c.who(); err != nil {
			return err
		}
		if ok, wait := d.pace.Allow(string(c.staff.ID), c.at); !ok {
			c.w.Header().Set("Retry-After", strconv.Itoa(1+int(wait.Seconds())))
			return &refusal{http.StatusTooManyRequests, "throttled", "Too many requests. Please wait a little."}
		}
		if !c.token.Scopes.Allows("user", kind, act) || !access.ScopesFor(c.staff.Role).Allows("user", kind, act) {
			return &refusal{http.StatusForbidden, "forbidden", "The token's scopes do not allow this on " + kind + "."}
		}
		return serve(c)
	})
}

// format refuses what we do not write.
func (c *call) format() error {
	want := c.r.URL.Query().Get("_format")
	if want == "" {
		want = c.r.Header.Get("Accept")
	}
	if want == "" || strings.Contains(want, "json") || strings.Contains(want, "*/*") || strings.Contains(want, "application/*") {
		return nil
	}
	return &refusal{http.StatusNotAcceptable, "not-supported", "This address writes application/fhir+json only."}
}

// who finds out who asks; every row is read again on every request.
func (c *call) who() error {
	kind, token, _ := strings.Cut(c.r.Header.Get("Authorization"), " ")
	if !strings.EqualFold(kind, "Bearer") || len(c.r.Header.Values("Authorization")) != 1 {
		return errToken
	}
	var err error
	if c.token, err = c.door.Tokens.ParseFHIR(strings.TrimSpace(token), c.at); err != nil {
		return errToken
	}
	session, staff, err := c.door.Store.Session(c.token.Session)
	switch {
	case errors.Is(err, ledger.ErrUnknown):
		return errToken
	case err != nil:
		return err
	case !session.Live(c.at) || session.Bare || staff.Disabled || string(staff.ID) != c.token.Staff:
		return errToken
	}
	c.staff = staff
	// No emergency access here: it is given to a person, not to a program.
	c.actor = access.Actor{Staff: staff.ID, Role: staff.Role, At: c.at, Checked: session.LastChecked()}
	if c.row, err = c.door.Store.Clinic(); err != nil && !errors.Is(err, ledger.ErrUnknown) {
		return err
	}
	if zone, err := time.LoadLocation(c.row.Zone); err == nil {
		c.zone = zone
	}
	return nil
}

// patient decides whether the person's program may read the patient, and
// writes that it does into the audit log.
func (c *call) patient(id rom.PatientID) (ledger.Patient, error) {
	p, err := c.door.Store.Patient(id)
	if errors.Is(err, ledger.ErrUnknown) || errors.Is(err, ledger.ErrErased) {
		return p, errNone
	} else if err != nil {
		return p, err
	}
	if err := c.may(p); err != nil {
		return p, err
	}
	return p, c.door.Store.Note(ledger.Entry{At: c.at.UTC(), Actor: string(c.staff.ID), Session: c.token.Session, Act: string(access.ReadByProgram), Patient: string(id), Resource: c.r.Pattern})
}

func (c *call) may(p ledger.Patient) error {
	team, err := c.door.Store.Team(p.ID)
	if err != nil {
		return err
	}
	dec := access.Decide(c.actor, access.ReadByProgram, access.Resource{Patient: p.ID, Team: team, RestrictedBy: p.RestrictedBy()})
	switch {
	case dec.Allowed:
		return nil
	case dec.Hide:
		return errNone
	}
	return &refusal{http.StatusForbidden, "forbidden", "Not possible: " + string(dec.Refusal) + "."}
}

// resources are everything of a patient, with the name.
func (c *call) resources(p ledger.Patient, whole bool) ([]fhir.Resource, error) {
	in := fhir.Input{Base: c.door.base(), Clinic: c.row.Name, Phone: c.row.Phone, Patient: p.ID, Created: p.Created.In(c.zone),
		Person: &fhir.Person{Name: p.Name, Number: p.Number, Phone: p.Phone, Born: p.Born, Lang: p.Lang}}
	if !whole {
		return fhir.Write(in), nil
	}
	facts, err := c.door.Store.Facts(p.ID)
	if err != nil {
		return nil, err
	}
	if in.History, err = c.door.History(facts.Data); err != nil {
		return nil, err
	}
	phones, err := c.door.Store.Authors(p.ID)
	if err != nil {
		return nil, err
	}
	for _, a := range phones {
		in.Phones = append(in.Phones, fhir.Phone{Author: a.ID, App: a.App, Active: a.State == ledger.Active, Since: a.Enrolled.In(c.zone)})
	}
	return fhir.Write(in), nil
}

func (c *call) send(status int, x any) error {
	raw, err := json.Marshal(x)
	if err != nil {
		return err
	}
	c.w.Header().Set("Content-Type", "application/fhir+json; charset=utf-8")
	c.w.WriteHeader(status)
	_, _ = c.w.Write(raw)
	return nil
}

func (c *call) refuse(err error) {
	r := &refusal{http.StatusInternalServerError, "exception", "Something went wrong on the server. Please try again."}
	if errors.Is(err, ledger.ErrFull) {
		r = &refusal{http.StatusServiceUnavailable, "no-store", "The server's disk is nearly full, and reading cannot be written into the audit log."}
	} else if !errors.As(err, &r) {
		c.door.Log.Error("fhir request failed", "route", c.r.Pattern, "error", err.Error())
	}
	if r.status == http.StatusUnauthorized {
		c.w.Header().Set("WWW-Authenticate", `Bearer realm="fhir"`)
	}
	if r.status == http.StatusMethodNotAllowed {
		c.w.Header().Set("Allow", "GET, HEAD")
	}
	_ = c.send(r.status, fhir.Outcome(r.code, r.text))
}

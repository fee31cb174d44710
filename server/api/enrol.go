package api

import (
	"errors"
	"math"
	"net/http"
	"strings"
	"time"
	"unicode"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// enrol uses an invitation up and lets the phone in.
func (a *API) enrol(c *call) error {
	var m wire.Enrol
	if err := wire.ReadMessage(http.MaxBytesReader(c.w, c.r.Body, wire.MaxMessage+1), &m); err != nil {
		return bodyError(err)
	}
	key, err := a.newDevice(c, m.Author, m.Key, m.Assertion, wire.PathEnrol)
	if err != nil {
		return err
	}
	typed, err := access.ReadCode(m.Code)
	if err != nil {
		a.codes.Wrong("", c.r.RemoteAddr, c.now)
		return err
	}
	if m.PIN != "" {
		typed.PIN = strings.ReplaceAll(strings.TrimSpace(m.PIN), " ", "")
	}
	secret := access.CodeMAC(a.Ring.Codes, typed.Secret)
	wait := a.codes.Wait(secret, c.r.RemoteAddr, c.now)
	if typed.Short() {
		wait = max(wait, a.codes.Flooded(c.now))
	}
	if wait > 0 {
		return tooMany(wait)
	}
	clinic, err := a.Store.Clinic()
	if err != nil {
		return err
	}
	e := ledger.Enrolment{
		Secret: secret, Author: m.Author, Key: m.Key, Thumbprint: key.Thumbprint, Name: deviceName(m.Name),
		Check: access.CheckNumber(a.Ring.Codes, typed.Secret, key.Thumbprint), Confirm: clinic.Confirm, At: c.now,
	}
	if typed.PIN != "" {
		e.PIN = access.PINMAC(a.Ring.Codes, typed.Secret, typed.PIN)
	}
	row, err := a.Store.Enrol(e, c.trail(m.Author))
	switch {
	case errors.Is(err, ledger.ErrUnknown):
		a.codes.Wrong(secret, c.r.RemoteAddr, c.now)
		return wire.Refuse(wire.CodeUnknown)
	case errors.Is(err, ledger.ErrWrongPIN), errors.Is(err, ledger.ErrUsed), errors.Is(err, ledger.ErrExpired):
		a.codes.Wrong(secret, c.r.RemoteAddr, c.now)
		return err
	case err != nil:
		return err
	}
	a.codes.Right(secret, c.r.RemoteAddr)
	return a.enrolled(c, row, clinic)
}

// devices makes a copied phone a device of its own, under the token of the
// one it was copied from.
func (a *API) devices(c *call) error {
	phone, err := a.phone(c)
	if err != nil {
		return err
	}
	if phone.Sealed {
		return wire.Refuse(wire.Forbidden)
	}
	var m wire.NewDevice
	if err := wire.ReadMessage(http.MaxBytesReader(c.w, c.r.Body, wire.MaxMessage+1), &m); err != nil {
		return bodyError(err)
	}
	key, err := a.newDevice(c, m.Author, m.Key, m.Assertion, wire.PathDevices)
	if err != nil {
		return err
	}
	clinic, err := a.Store.Clinic()
	if err != nil {
		return err
	}
	row, err := a.Store.Register(rom.Author(phone.Author), ledger.Enrolment{
		Author: m.Author, Key: m.Key, Thumbprint: key.Thumbprint, At: c.now,
		Check: access.CheckNumber(a.Ring.Codes, phone.Author, key.Thumbprint),
	}, c.trail(rom.Author(phone.Author)))
	switch {
	case errors.Is(err, ledger.ErrUnknown):
		return wire.Refuse(wire.UnknownDevice)
	case errors.Is(err, ledger.ErrTooMany):
		return wire.Refuse(wire.Forbidden)
	case err != nil:
		return err
	}
	return a.enrolled(c, row, clinic)
}

// newDevice checks the id, the key, and that the sender has its private half.
func (a *API) newDevice(c *call, author rom.Author, jwk []byte, assertion, path string) (access.PhoneKey, error) {
	if !wire.ValidAuthor(author) || author.FromClinic() || len(author) < 16 {
		return access.PhoneKey{}, wire.Refuse(wire.Malformed)
	}
	key, err := access.ParsePhoneKey(jwk)
	if err != nil {
		return key, err
	}
	c.author = author
	return key, a.prove(c, assertion, key, author, path)
}

// prove verifies an assertion made for path, its nonce, and that it was not
// used before.
func (a *API) prove(c *call, assertion string, key access.PhoneKey, author rom.Author, path string) error {
	who := string(author) + " " + access.AddressKey(c.r.RemoteAddr)
	if wait := a.proofs.Wait(who, c.now); wait > 0 {
		return tooMany(wait)
	}
	said, err := access.VerifyAssertion(assertion, key, string(author), a.Public+path, c.now)
	if err == nil {
		err = a.nonces.Check(said.Nonce, c.now)
	}
	if err != nil {
		a.proofs.Wrong(who, c.now)
		return wire.Refuse(wire.BadAssertion)
	}
	if !a.once.Use(said.Author+" "+said.ID, c.now, c.now.Add(access.NonceLife+access.Leeway)) {
		return wire.Refuse(wire.BadAssertion)
	}
	a.proofs.Right(who)
	return nil
}

func (a *API) enrolled(c *call, row ledger.Author, clinic ledger.Clinic) error {
	about, err := a.Store.About()
	if err != nil {
		return err
	}
	state := wire.Active
	if row.State == ledger.Pending {
		state = wire.Waiting
	}
	return c.answer(http.StatusCreated, wire.Enrolled{
		Patient: row.Patient, State: state, Check: row.Check, Epoch: about.Epoch,
		Clinic: wire.Clinic{Name: clinic.Name, Phone: clinic.Phone, Zone: clinic.Zone},
	})
}

func tooMany(wait time.Duration) *wire.Error {
	e := wire.Refuse(wire.TooMany)
	e.Wait = int(math.Ceil(wait.Seconds()))
	return e
}

// deviceName keeps what staff can read on their list: one short line.
func deviceName(name string) string {
	name = strings.Map(func(c rune) rune {
		if !unicode.IsPrint(c) {
			return ' '
		}
		return c
	}, strings.ToValidUTF8(name, ""))
	name = strings.Join(strings.Fields(name), " ")
	if r := []rune(name); len(r) > 60 {
		name = string(r[:60])
	}
	if name == "" {
		return "phone"
	}
	return name
}

package api

import (
	"errors"
	"math"
	"net/http"
	"slices"
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
	key, said, err := a.newDevice(c, m.Author, m.Key, m.Assertion, wire.PathEnrol)
	if err != nil {
		return err
	}
	typed, err := access.ReadCode(m.Code)
	if err != nil {
		if _, wait := a.codes.Try("", c.r.RemoteAddr, c.now); wait > 0 {
			return tooMany(wait)
		}
		return err
	}
	if m.PIN != "" {
		typed.PIN = strings.ReplaceAll(strings.TrimSpace(m.PIN), " ", "")
	}
	secret := access.CodeMAC(a.Ring.Codes, typed.Secret)
	clinic, err := a.Store.Clinic()
	if err != nil {
		return err
	}
	// A phone that did not hear that it is in asks again: that is no guess.
	again, err := a.isIn(m.Author, key, secret)
	if err != nil {
		return err
	}
	ask := a.codes.Try
	if typed.Short() {
		ask = a.codes.TryShort
	}
	try, wait := ask(secret, c.r.RemoteAddr, c.now)
	if wait > 0 && !again {
		return tooMany(wait)
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
		return wire.Refuse(wire.CodeUnknown)
	case errors.Is(err, ledger.ErrWrongPIN), errors.Is(err, ledger.ErrUsed), errors.Is(err, ledger.ErrExpired):
		return err
	case err != nil:
		if try != nil {
			try.Undo()
		}
		return err
	}
	if try != nil {
		try.Right()
	}
	// Only now: whoever has no good code takes no place among the used ones.
	if err := spend(a.joins, said, c.now); err != nil {
		return err
	}
	return a.enrolled(c, row, clinic)
}

// isIn reports whether this phone was let in by this very code.
func (a *API) isIn(author rom.Author, key access.PhoneKey, secret string) (bool, error) {
	row, err := a.Store.Author(author)
	if errors.Is(err, ledger.ErrUnknown) {
		return false, nil
	} else if err != nil {
		return false, err
	}
	if row.Thumbprint != key.Thumbprint || row.Invitation == "" {
		return false, nil
	}
	all, err := a.Store.Invitations(row.Patient)
	if err != nil {
		return false, err
	}
	return slices.ContainsFunc(all, func(i ledger.Invitation) bool {
		return i.ID == row.Invitation && slices.ContainsFunc(i.Secrets, func(s string) bool { return access.SameMAC(s, secret) })
	}), nil
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
	key, said, err := a.newDevice(c, m.Author, m.Key, m.Assertion, wire.PathDevices)
	if err != nil {
		return err
	}
	if err := a.mayProve(rom.Author(phone.Author), c.now); err != nil {
		return err
	}
	if err := spend(a.once, said, c.now); err != nil {
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
func (a *API) newDevice(c *call, author rom.Author, jwk []byte, assertion, path string) (access.PhoneKey, access.Assertion, error) {
	if !wire.ValidAuthor(author) || author.FromClinic() || len(author) < 16 {
		return access.PhoneKey{}, access.Assertion{}, wire.Refuse(wire.Malformed)
	}
	key, err := access.ParsePhoneKey(jwk)
	if err != nil {
		return key, access.Assertion{}, err
	}
	c.author = author
	said, err := a.verify(c, assertion, key, author, path)
	return key, said, err
}

// verify looks at an assertion made for path and its nonce. Whether it was used
// before is asked by spend, once it is known that the sender may take a place.
func (a *API) verify(c *call, assertion string, key access.PhoneKey, author rom.Author, path string) (access.Assertion, error) {
	said, err := access.VerifyAssertion(assertion, key, string(author), a.Public+path, c.now)
	if err == nil {
		err = a.nonces.Check(said.Nonce, c.now)
	}
	if err != nil {
		return said, wire.Refuse(wire.BadAssertion)
	}
	return said, nil
}

// spend takes an assertion once. The tables are apart: what strangers do with
// codes never stands where phones that are in show theirs.
func spend(once *access.Once, said access.Assertion, now time.Time) error {
	switch err := once.Spend(said.Author+" "+said.ID, now, now.Add(access.NonceLife+access.Leeway)); {
	case errors.Is(err, access.ErrCrowded):
		return tooMany(time.Minute)
	case err != nil:
		return wire.Refuse(wire.BadAssertion)
	}
	return nil
}

// mayProve bounds how many assertions one phone that is in can use up.
func (a *API) mayProve(author rom.Author, now time.Time) error {
	if ok, wait := a.proving.Allow(string(author), now); !ok {
		return tooMany(wait)
	}
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

package api

import (
	"encoding/json"
	"errors"
	"strconv"

	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// refuse answers with a code of the closed list. Whatever is not meant for
// the phone becomes "unavailable" and is logged.
func (a *API) refuse(c *call, err error) {
	e, ok := wire.AsError(err)
	if !ok {
		if e = codeOf(err); e.Code == wire.Unavailable || e.Code == wire.Internal {
			a.Log.Error("cannot answer", "request", c.id, "error", err.Error())
		}
	}
	text, err := json.Marshal(e)
	if err != nil {
		panic(err) // strings and numbers only
	}
	h := c.w.Header()
	h.Set("Content-Type", "application/json")
	h.Del("Content-Encoding")
	if e.Wait > 0 {
		h.Set("Retry-After", strconv.Itoa(e.Wait))
	}
	if e.Code == wire.Unauthorized {
		h.Set("WWW-Authenticate", "Bearer") // RFC 6750 section 3
	}
	a.count("refusal", string(e.Code), 1)
	c.status, c.note = e.Code.Status(), string(e.Code)
	c.w.WriteHeader(c.status)
	_, _ = c.w.Write(append(text, '\n'))
}

// errorCodes is the one table from what goes wrong inside to what a phone is
// told.
var errorCodes = []struct {
	err  error
	code wire.Code
}{
	{access.ErrCode, wire.CodeUnknown},
	{access.ErrKey, wire.Malformed},
	{access.ErrNonce, wire.BadAssertion},
	{access.ErrToken, wire.Unauthorized},
	{ledger.ErrExpired, wire.CodeExpired},
	{ledger.ErrUsed, wire.CodeUsed},
	{ledger.ErrWrongPIN, wire.WrongPIN},
	{ledger.ErrTooMany, wire.TooManyTries},
	{ledger.ErrDeviceTaken, wire.DeviceTaken},
	{ledger.ErrStale, wire.Stale},
	{ledger.ErrErased, wire.Erased},
	{ledger.ErrState, wire.Forbidden},
	{ledger.ErrFull, wire.Unavailable},
}

// waitStore is what a phone is told to wait when the store fails, in seconds.
const waitStore = 30

func codeOf(err error) *wire.Error {
	if errors.Is(err, ledger.ErrDamaged) { // before what it may wrap
		return unavailable()
	}
	for _, row := range errorCodes {
		if errors.Is(err, row.err) {
			if row.code == wire.Unavailable {
				return unavailable()
			}
			return wire.Refuse(row.code)
		}
	}
	return unavailable()
}

func unavailable() *wire.Error {
	e := wire.Refuse(wire.Unavailable)
	e.Wait = waitStore
	return e
}

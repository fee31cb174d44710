package api

import (
	"errors"
	"io"
	"net/http"
	"net/url"
	"strings"

	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// token gives an access token for a signature (RFC 6749 section 4.4 with RFC
// 7523). A revoked phone gets one too: it may send, and learns that it is
// revoked.
func (a *API) token(c *call) error {
	body, err := io.ReadAll(http.MaxBytesReader(c.w, c.r.Body, wire.MaxMessage))
	if err != nil {
		return bodyError(err)
	}
	form, err := url.ParseQuery(string(body))
	if err != nil || len(form["client_assertion"]) != 1 || form.Get("grant_type") != "client_credentials" ||
		form.Get("client_assertion_type") != wire.AssertionType {
		return wire.Refuse(wire.Malformed)
	}
	assertion := form.Get("client_assertion")
	claimed, err := access.AssertionAuthor(assertion)
	if err != nil {
		return wire.Refuse(wire.BadAssertion)
	}
	row, err := a.Store.Author(rom.Author(claimed))
	if errors.Is(err, ledger.ErrUnknown) {
		return wire.Refuse(wire.UnknownDevice)
	}
	if err != nil {
		return err
	}
	key, err := access.ParsePhoneKey(row.Key)
	if err != nil {
		return err
	}
	c.author = row.ID
	// A wrong signature is nobody's guess, but looking at one takes time.
	who := string(row.ID) + " " + access.AddressKey(c.r.RemoteAddr)
	if wait := a.proofs.Wait(who, c.now); wait > 0 {
		return tooMany(wait)
	}
	said, err := a.verify(c, assertion, key, row.ID, wire.PathToken)
	if err != nil {
		a.proofs.Wrong(who, c.now)
		return err
	}
	a.proofs.Right(who)
	if err := a.mayProve(row.ID, c.now); err != nil {
		return err
	}
	if err := spend(a.once, said, c.now); err != nil {
		return err
	}
	phone := access.Phone{Author: string(row.ID)}
	switch row.State {
	case ledger.Pending:
		return wire.Refuse(wire.Pending)
	case ledger.Revoked:
		phone.Sealed = true
	}
	jti, err := a.random(16)
	if err != nil {
		return err
	}
	text, err := a.Tokens.IssuePhone(phone, jti, c.now)
	if err != nil {
		return err
	}
	scope := wire.ScopeExchange
	if phone.Sealed {
		scope = wire.ScopeSealed
	}
	return c.answer(http.StatusOK, wire.Token{
		AccessToken: text, TokenType: "Bearer", ExpiresIn: int(access.PhoneTokenLife.Seconds()), Scope: scope,
	})
}

// phone reads the bearer token (RFC 6750 section 2.1; no other place).
func (a *API) phone(c *call) (access.Phone, error) {
	kind, text, ok := strings.Cut(c.r.Header.Get("Authorization"), " ")
	if !ok || !strings.EqualFold(kind, "Bearer") {
		return access.Phone{}, wire.Refuse(wire.Unauthorized)
	}
	phone, err := a.Tokens.ParsePhone(text, c.now)
	if err != nil {
		c.note = err.Error()
		return phone, err
	}
	c.author = rom.Author(phone.Author)
	return phone, nil
}

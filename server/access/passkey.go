package access

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/url"
	"strings"
	"time"

	"github.com/go-webauthn/webauthn/protocol"
	"github.com/go-webauthn/webauthn/webauthn"

	"unsling/server/ledger"
)

// Passkeys registers and verifies the WebAuthn credentials of staff at one
// origin. Credentials are discoverable and the person is verified by the
// device (fingerprint, face or PIN), so that a passkey alone is two factors.
type Passkeys struct {
	web  *webauthn.WebAuthn
	box  *Box
	once *Once
}

// CeremonyLife is how long a challenge is good.
const CeremonyLife = 5 * time.Minute

// ErrPasskey means that what a passkey signed is not acceptable. The text
// after it is for the log.
var ErrPasskey = errors.New("passkey refused")

// challengesKept bounds how many used challenges are remembered.
const challengesKept = 20_000

// NewPasskeys serves the origin of the public address; the relying party is
// its host.
func NewPasskeys(public, clinic string, box *Box) (*Passkeys, error) {
	u, err := url.Parse(public)
	if err != nil || u.Hostname() == "" {
		return nil, fmt.Errorf("passkeys: %q is no origin", public)
	}
	web, err := webauthn.New(&webauthn.Config{
		RPID: u.Hostname(), RPDisplayName: clinic, RPOrigins: []string{u.Scheme + "://" + u.Host},
		AttestationPreference: protocol.PreferNoAttestation,
	})
	if err != nil {
		return nil, fmt.Errorf("passkeys: %w", err)
	}
	return &Passkeys{web: web, box: box, once: NewOnce(challengesKept)}, nil
}

// ceremony is what the browser carries between the two halves, sealed.
type ceremony struct {
	Data webauthn.SessionData `json:"data"`
	Made time.Time            `json:"made"`
}

// Challenge is the first half of a ceremony: what the page hands to the
// browser's navigator.credentials, and what it has to bring back.
type Challenge struct {
	Options json.RawMessage `json:"options"`
	State   string          `json:"state"`
}

// The uses of a challenge; one made for one is of no use for another.
const (
	passkeyNew  = "passkey new"
	passkeySign = "passkey sign-in"
)

func (p *Passkeys) challenge(use, bound string, options any, data *webauthn.SessionData, now time.Time) (Challenge, error) {
	text, err := json.Marshal(options)
	if err != nil {
		return Challenge{}, fmt.Errorf("passkeys: %w", err)
	}
	state, err := p.box.Pack(use, bound, ceremony{*data, now})
	return Challenge{Options: text, State: state}, err
}

// open opens a state.
func (p *Passkeys) open(use, bound, state string, now time.Time) (ceremony, error) {
	var c ceremony
	if err := p.box.Unpack(use, bound, state, &c); err != nil {
		return c, fmt.Errorf("%w: not a challenge of this browser", ErrPasskey)
	}
	if age := now.Sub(c.Made); age < 0 || age > CeremonyLife {
		return c, fmt.Errorf("%w: the challenge is too old", ErrPasskey)
	}
	return c, nil
}

// use takes a challenge once. It comes after the signature was verified, so
// that nobody without a passkey can fill the memory of used ones.
func (p *Passkeys) use(c ceremony, now time.Time) error {
	if !p.once.Use(c.Data.Challenge, now, c.Made.Add(CeremonyLife+time.Second)) {
		return fmt.Errorf("%w: the challenge was used", ErrPasskey)
	}
	return nil
}

// person is a member of staff as the library wants it. The user handle is the
// staff id: random, and not the login.
type person struct {
	row  ledger.Staff
	keys []webauthn.Credential
}

func (p person) WebAuthnID() []byte                         { return []byte(p.row.ID) }
func (p person) WebAuthnName() string                       { return p.row.Login }
func (p person) WebAuthnDisplayName() string                { return p.row.Name }
func (p person) WebAuthnCredentials() []webauthn.Credential { return p.keys }

func personOf(row ledger.Staff) (person, error) {
	p := person{row: row}
	for _, k := range row.Factors.Passkeys {
		var c webauthn.Credential
		if err := json.Unmarshal(k.Record, &c); err != nil {
			return p, fmt.Errorf("passkeys: stored credential: %w", err)
		}
		p.keys = append(p.keys, c)
	}
	return p, nil
}

// BeginNew asks the browser to make a passkey for the person; bound is the
// session or invitation in which it is asked.
func (p *Passkeys) BeginNew(row ledger.Staff, bound string, now time.Time) (Challenge, error) {
	who, err := personOf(row)
	if err != nil {
		return Challenge{}, err
	}
	yes := true
	options, data, err := p.web.BeginRegistration(who,
		webauthn.WithExclusions(webauthn.Credentials(who.keys).CredentialDescriptors()),
		webauthn.WithAuthenticatorSelection(protocol.AuthenticatorSelection{
			ResidentKey: protocol.ResidentKeyRequirementRequired, RequireResidentKey: &yes, UserVerification: protocol.VerificationRequired,
		}))
	if err != nil {
		return Challenge{}, fmt.Errorf("passkeys: %w", err)
	}
	return p.challenge(passkeyNew, bound, options.Response, data, now)
}

// FinishNew verifies what the browser made and returns the row to keep.
func (p *Passkeys) FinishNew(row ledger.Staff, bound, state, answer, name string, now time.Time) (ledger.Passkey, error) {
	asked, err := p.open(passkeyNew, bound, state, now)
	if err != nil {
		return ledger.Passkey{}, err
	}
	who, err := personOf(row)
	if err != nil {
		return ledger.Passkey{}, err
	}
	parsed, err := protocol.ParseCredentialCreationResponseBody(strings.NewReader(answer))
	if err != nil {
		return ledger.Passkey{}, fmt.Errorf("%w: unreadable", ErrPasskey)
	}
	key, err := p.web.CreateCredential(who, asked.Data, parsed)
	if err != nil {
		return ledger.Passkey{}, fmt.Errorf("%w: not verified", ErrPasskey)
	}
	if err := p.use(asked, now); err != nil {
		return ledger.Passkey{}, err
	}
	record, err := json.Marshal(key)
	if err != nil {
		return ledger.Passkey{}, fmt.Errorf("passkeys: %w", err)
	}
	return ledger.Passkey{ID: b64.EncodeToString(key.ID), Name: name, Record: record, Added: now.UTC()}, nil
}

// BeginSignIn asks for whatever passkey the browser has for this origin;
// bound is what ties the challenge to this browser.
func (p *Passkeys) BeginSignIn(bound string, now time.Time) (Challenge, error) {
	options, data, err := p.web.BeginDiscoverableLogin(webauthn.WithUserVerification(protocol.VerificationRequired))
	if err != nil {
		return Challenge{}, fmt.Errorf("passkeys: %w", err)
	}
	return p.challenge(passkeySign, bound, options.Response, data, now)
}

// FinishSignIn verifies what the passkey signed. find returns the row of a
// staff id. The passkey that comes back carries the new counter and when it
// was used. A counter that does not rise is only a sign (Clones), because
// passkeys that are synced between devices do not count.
func (p *Passkeys) FinishSignIn(bound, state, answer string, now time.Time, find func(id string) (ledger.Staff, error)) (row ledger.Staff, used ledger.Passkey, clone bool, err error) {
	asked, err := p.open(passkeySign, bound, state, now)
	if err != nil {
		return row, used, false, err
	}
	parsed, err := protocol.ParseCredentialRequestResponseBody(io.LimitReader(strings.NewReader(answer), 64<<10))
	if err != nil {
		return row, used, false, fmt.Errorf("%w: unreadable", ErrPasskey)
	}
	_, key, err := p.web.ValidatePasskeyLogin(func(_, handle []byte) (webauthn.User, error) {
		if row, err = find(string(handle)); err != nil {
			return nil, err
		}
		return personOf(row)
	}, asked.Data, parsed)
	if err != nil {
		return ledger.Staff{}, used, false, fmt.Errorf("%w: not verified", ErrPasskey)
	}
	if err := p.use(asked, now); err != nil {
		return ledger.Staff{}, used, false, err
	}
	for _, k := range row.Factors.Passkeys {
		var have webauthn.Credential
		if json.Unmarshal(k.Record, &have) != nil || !bytes.Equal(have.ID, key.ID) {
			continue
		}
		if k.Record, err = json.Marshal(key); err != nil {
			return ledger.Staff{}, used, false, fmt.Errorf("passkeys: %w", err)
		}
		k.Used = now.UTC()
		return row, k, key.Authenticator.CloneWarning, nil
	}
	return ledger.Staff{}, used, false, fmt.Errorf("%w: not a key of this person", ErrPasskey)
}

package wire

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"time"

	"unsling/engine/rom"
)

// Hello is the answer to GET /v1/hello.
type Hello struct {
	Epoch      string    `json:"epoch"`
	ProtoMin   int       `json:"proto_min"`
	ProtoMax   int       `json:"proto_max"`
	ServerTime time.Time `json:"server_time"`
	Nonce      string    `json:"nonce"` // good for five minutes
}

// Enrol is the body of POST /v1/enrol. Assertion is signed with the private
// part of Key for the address of this message.
type Enrol struct {
	Code      string          `json:"code"`          // of the QR code or typed
	PIN       string          `json:"pin,omitempty"` // of a take-home invitation
	Author    rom.Author      `json:"author"`
	Key       json.RawMessage `json:"key"` // public P-256 JWK (RFC 7517)
	Name      string          `json:"name"`
	Assertion string          `json:"assertion"`
}

// Phone states.
const (
	Active  = "active"
	Waiting = "pending" // until staff confirm that both screens show the same number
	Revoked = "revoked"
)

// Enrolled is the answer to Enrol and NewDevice, with status 201.
type Enrolled struct {
	Patient rom.PatientID `json:"patient"`
	State   string        `json:"state"`
	Check   string        `json:"check"` // two digits that both screens show
	Clinic  Clinic        `json:"clinic"`
	Epoch   string        `json:"epoch"`
}

// Clinic is who stands behind the server.
type Clinic struct {
	Name  string `json:"name"`
	Phone string `json:"phone"`
	Zone  string `json:"zone"` // IANA
}

// NewDevice is the body of POST /v1/devices: whoever was answered Fork
// registers a new id and key under the token of the old one. Assertion is
// signed with the new key for the address of this message.
type NewDevice struct {
	Author    rom.Author      `json:"author"`
	Key       json.RawMessage `json:"key"`
	Assertion string          `json:"assertion"`
}

// Token is the answer to POST /v1/token.
type Token struct {
	AccessToken string `json:"access_token"`
	TokenType   string `json:"token_type"`
	ExpiresIn   int    `json:"expires_in"` // seconds
	Scope       string `json:"scope"`
}

// Scopes of a phone's token.
const (
	ScopeExchange = "__exchange"
	ScopeSealed   = "__sealed" // of a revoked phone: may send, gets nothing
)

// AssertionType is the client_assertion_type of RFC 7523.
const AssertionType = "urn:ietf:params:oauth:client-assertion-type:jwt-bearer"

// ReadMessage reads one JSON object of at most MaxMessage bytes into m.
// Fields that m does not have are skipped. The error is an *Error with
// TooBig or Malformed, or that of r.
func ReadMessage(r io.Reader, m any) error {
	b, err := io.ReadAll(io.LimitReader(r, MaxMessage+1))
	if err != nil {
		return fmt.Errorf("read message: %w", err)
	}
	if len(b) > MaxMessage {
		return Refuse(TooBig)
	}
	if err := json.Unmarshal(bytes.TrimSpace(b), m); err != nil {
		return Refuse(Malformed)
	}
	return nil
}

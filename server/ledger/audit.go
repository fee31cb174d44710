package ledger

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"time"
)

// Entry is one act in the audit log. It holds ids only: no names, no
// angles, no text that a patient or a member of staff wrote, except Reason.
//
// The chain is H(n) = SHA-256(H(n-1) + canonical JSON of the entry), as in
// every tamper-evident log of this kind; whoever keeps one H(n) elsewhere can
// tell whether anything up to n was changed, removed or put in between.
type Entry struct {
	Seq      int64     `json:"seq"` // given by the store
	At       time.Time `json:"at"`  // UTC
	Actor    string    `json:"actor"`
	Session  string    `json:"session,omitempty"`
	Act      string    `json:"act"`
	Patient  string    `json:"patient,omitempty"`
	Resource string    `json:"resource,omitempty"`
	Outcome  string    `json:"outcome,omitempty"` // "" is done
	Reason   string    `json:"reason,omitempty"`
	Request  string    `json:"request,omitempty"` // id of the HTTP request
	Hash     string    `json:"hash,omitempty"`    // given by the store, base64url
}

// Trail is the part of an Entry that the caller of a method knows; the
// method fills in the act and what it was done to.
type Trail struct {
	At      time.Time
	Actor   string // staff id, author id, or "server"
	Session string
	Reason  string
	Request string
}

// ChainEntry returns the entry's text and the hash of the chain after it. The
// text is what encoding/json writes for the struct without Hash: fixed order
// of members, no white space, so that it is the same whoever computes it.
func ChainEntry(before string, e Entry) (text []byte, hash string, err error) {
	e.Hash = ""
	if text, err = json.Marshal(e); err != nil {
		return nil, "", fmt.Errorf("audit: %w", err)
	}
	h := sha256.New()
	h.Write([]byte(before))
	h.Write(text)
	return text, base64.RawURLEncoding.EncodeToString(h.Sum(nil)), nil
}

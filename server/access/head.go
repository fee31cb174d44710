package access

import (
	"crypto/ed25519"
	"crypto/hmac"
	"crypto/sha256"
	"fmt"
	"time"

	"github.com/golang-jwt/jwt/v5"
)

// headType is the header type of a signed head of the audit log.
const headType = "audit-head+jwt"

// AuditHead says that at an instant the chain of the audit log stood at an
// entry. Kept elsewhere, it shows whether anything up to there was changed,
// removed or put in between, and whether the log has lost its end.
type AuditHead struct {
	Clinic string    // public address of the server
	Seq    int64     // the entry
	Hash   string    // of the chain at the entry
	Prev   int64     // entry that holds the signed head before, 0 for none
	At     time.Time // server clock
}

type headClaims struct {
	jwt.RegisteredClaims
	Seq  int64  `json:"seq"`
	Hash string `json:"hash"`
	Prev int64  `json:"prev,omitempty"`
}

// AuditKey signs heads. It follows from a key that never changes, so that a
// head on paper can be checked after years.
func (k Keyring) AuditKey() SigningKey {
	h := hmac.New(sha256.New, k.ClinicMAC)
	h.Write([]byte("unsling audit heads 1"))
	return keyFromSeed(h.Sum(nil), time.Time{})
}

// SignHead signs a head as a compact JWS (RFC 7515, RFC 8037).
func SignHead(key SigningKey, h AuditHead) (string, error) {
	t := jwt.NewWithClaims(jwt.SigningMethodEdDSA, &headClaims{
		RegisteredClaims: jwt.RegisteredClaims{Issuer: h.Clinic, IssuedAt: jwt.NewNumericDate(h.At)}, Seq: h.Seq, Hash: h.Hash, Prev: h.Prev,
	})
	t.Header["typ"], t.Header["kid"] = headType, key.ID
	return t.SignedString(key.Private)
}

// VerifyHead reads a signed head. It never runs out. Errors are ErrToken.
func VerifyHead(key ed25519.PublicKey, text string) (AuditHead, error) {
	if len(text) > maxToken {
		return AuditHead{}, refused("too long")
	}
	kind := tokenKind{typ: headType, alg: Alg}
	var c headClaims
	_, err := jwt.NewParser(jwt.WithValidMethods([]string{Alg}), jwt.WithStrictDecoding(), jwt.WithoutClaimsValidation()).
		ParseWithClaims(text, &c, func(t *jwt.Token) (any, error) {
			_, err := kind.checkHeader(t.Header)
			return key, err
		})
	switch {
	case err != nil:
		return AuditHead{}, refused(reason(err))
	case c.Seq < 1 || len(c.Hash) != 43 || c.IssuedAt == nil || c.Prev < 0 || c.Prev > c.Seq:
		return AuditHead{}, refused("not a head")
	}
	return AuditHead{Clinic: c.Issuer, Seq: c.Seq, Hash: c.Hash, Prev: c.Prev, At: c.IssuedAt.Time}, nil
}

// HeadAct is the act of the audit entry that holds a signed head as its
// resource.
const HeadAct = "audit.head"

func (h AuditHead) String() string {
	return fmt.Sprintf("%d:%s", h.Seq, h.Hash)
}

// KeyText is a public key as it is printed.
func KeyText(key ed25519.PublicKey) string { return b64.EncodeToString(key) }
